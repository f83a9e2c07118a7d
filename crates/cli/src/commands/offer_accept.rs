//! `offer-accept`: accepts an offer that is held.

use super::print_accepted;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::AcceptOfferRequest;
use baywright_api::v1::offer_service_client::OfferServiceClient;
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
        let request = AcceptOfferRequest {
            shop_id: session.shop()?,
            offer_id: self.offer,
            request_id: session.request_id(),
            actor: session.actor.clone(),
        };
        let reply = session
            .call(request, async |channel, request| {
                OfferServiceClient::new(channel).accept_offer(request).await
            })
            .await?;
        print_accepted(session, &reply).await
    }
}
