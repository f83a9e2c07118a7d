//! `road-withdraw`: withdraws an entry about the roads.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::WithdrawRoadEntryRequest;
use baywright_api::v1::road_service_client::RoadServiceClient;
use clap::Args;

/// Withdraw an entry about the roads: it no longer holds.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo road-withdraw 3")]
pub(crate) struct RoadWithdraw {
    /// Number of the entry.
    number: u32,
}

impl RoadWithdraw {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = WithdrawRoadEntryRequest {
            shop_id: session.shop()?,
            number: self.number,
            request_id: session.request_id(),
            actor: session.actor.clone(),
        };
        let reply = session
            .call(request, async |channel, request| {
                RoadServiceClient::new(channel).withdraw_road_entry(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("WithdrawRoadEntryResponse", &reply)?);
        }
        let clock = session.clock().await?;
        answer::write(&views::road::entry(&reply.entry.unwrap_or_default(), clock))
    }
}
