//! `offer`: asks for the earliest promise for an estimate that is not taken.

use super::{accept_offer, print_accepted};
use crate::answer;
use crate::failure::Failure;
use crate::input;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::offer_service_client::OfferServiceClient;
use baywright_api::v1::{MakeOfferRequest, OfferState};
use baywright_files::estimate_file;
use clap::Args;
use std::path::PathBuf;

/// Offer the earliest promise for an estimate that is not taken.
///
/// The shop is planned with it and without it; no promise that could be kept may become late. Where
/// there is no such promise, the reasons are shown and kept in the turned-away log. Earlier promises are told
/// with their price: what the other jobs cost more, and whom they make late. The promise in the
/// file is what the sender wishes; it does not decide. With --accept the offer is accepted at once;
/// with --json too, two replies follow each other then.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo offer estimate-1001-windshield.json --hold 60"
)]
pub(crate) struct Offer {
    /// Estimate file (JSON).
    file: PathBuf,
    /// Minutes for which it is held.
    #[arg(long, value_name = "MINUTES", default_value_t = 30, value_parser = clap::value_parser!(u32).range(1..=10_080))]
    hold: u32,
    /// Days ahead in which to look.
    #[arg(long, value_name = "DAYS", default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=14))]
    days: u32,
    /// Accept the offer at once.
    #[arg(long)]
    accept: bool,
}

impl Offer {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let shop_id = session.shop()?;
        let bytes_max = estimate_file::ESTIMATE_FILE_BYTES_MAX;
        let mut estimates = input::all_parsed(&[self.file], bytes_max, estimate_file::parse)?;
        let request = MakeOfferRequest {
            shop_id: shop_id.clone(),
            estimate: estimates.pop(),
            hold_minutes: self.hold,
            days: self.days,
            request_id: session.request_id(),
            actor: session.actor.clone(),
        };
        let reply = session
            .call(request, async |channel, request| {
                OfferServiceClient::new(channel).make_offer(request).await
            })
            .await?;
        if session.json {
            answer::write(&json::text("MakeOfferResponse", &reply)?)?;
        } else {
            let clock = session.clock().await?;
            answer::write(&views::offer::text(reply.offer.as_ref(), clock))?;
        }
        let offer = reply.offer.unwrap_or_default();
        if !self.accept || offer.state() != OfferState::Held {
            return Ok(());
        }
        // Request ids count within a method, so that both calls can be repeated with the one given.
        let reply = accept_offer(session, shop_id, offer.offer_id).await?;
        if !session.json {
            answer::write("")?;
        }
        print_accepted(session, &reply).await
    }
}
