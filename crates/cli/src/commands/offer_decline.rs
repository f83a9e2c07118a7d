//! `offer-decline`: declines an offer that is held.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::DeclineOfferRequest;
use baywright_api::v1::offer_service_client::OfferServiceClient;
use clap::Args;

/// Decline an offer; the turned-away log keeps what was asked and why.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo offer-decline O-1 --reason 'too late for the customer'"
)]
pub(crate) struct OfferDecline {
    /// The offer.
    offer: String,
    /// Why.
    #[arg(long, value_name = "TEXT")]
    reason: String,
}

impl OfferDecline {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = DeclineOfferRequest {
            shop_id: session.shop()?,
            offer_id: self.offer,
            reason: self.reason,
            request_id: session.request_id(),
            actor: session.actor.clone(),
        };
        let reply = session
            .call(request, async |channel, request| {
                OfferServiceClient::new(channel).decline_offer(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("DeclineOfferResponse", &reply)?);
        }
        answer::write(&views::offer::text(reply.offer.as_ref(), session.clock().await?))
    }
}
