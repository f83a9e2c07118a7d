//! `chases`: list whom to chase: everything that keeps tasks waiting, by the party to ask.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::ListChasesRequest;
use baywright_api::v1::day_service_client::DayServiceClient;
use clap::Args;

/// List whom to chase: everything that keeps tasks waiting, by the party to ask.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo chases")]
pub(crate) struct Chases {
    /// Only what keeps this job waiting.
    job: Option<String>,
}

impl Chases {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request =
            ListChasesRequest { shop_id: session.shop()?, job_id: self.job.unwrap_or_default() };
        let reply = session
            .call(request, async |channel, request| {
                DayServiceClient::new(channel).list_chases(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("ListChasesResponse", &reply)?);
        }
        answer::write(&views::day::chases(&reply, session.clock().await?))
    }
}
