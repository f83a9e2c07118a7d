//! `finishes`: list the planned finish of each job beside its promise.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::ListFinishesRequest;
use baywright_api::v1::day_service_client::DayServiceClient;
use clap::Args;

/// List the planned finish of each job beside its promise.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo finishes")]
pub(crate) struct Finishes {}

impl Finishes {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = ListFinishesRequest { shop_id: session.shop()? };
        let reply = session
            .call(request, async |channel, request| {
                DayServiceClient::new(channel).list_finishes(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("ListFinishesResponse", &reply)?);
        }
        answer::write(&views::day::finishes(&reply, session.clock().await?))
    }
}
