//! `offer-accept`: accepts an offer that is held.

use super::{accept_offer, print_accepted};
use crate::failure::Failure;
use crate::session::Session;
use clap::Args;

/// Accept an offer: its estimate is taken with the promise offered.
///
/// The shop is planned with it once more; where the promise can no longer be kept, it is refused with
/// the reasons. The tasks are proposed as with every estimate; accept them with accept.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo offer-accept O-1")]
pub(crate) struct OfferAccept {
    /// The offer.
    offer: String,
}

impl OfferAccept {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let reply = accept_offer(session, session.shop()?, self.offer).await?;
        print_accepted(session, &reply).await
    }
}
