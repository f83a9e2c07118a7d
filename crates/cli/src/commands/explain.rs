//! `explain`: why jobs of the plan are late or left out, and what would bring them in time.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::ExplainPlanRequest;
use baywright_api::v1::plan_service_client::PlanServiceClient;
use clap::Args;

/// Say why jobs of the plan are late or left out, and what would bring them in time.
///
/// Each change was found by planning again with it, so that no other job becomes later than promised;
/// with one minute less no plan was found. What has changed since the plan was made does not count.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo explain --job J-1001")]
pub(crate) struct Explain {
    /// Only this job.
    #[arg(long, value_name = "ID", default_value = "", hide_default_value = true)]
    job: String,
    /// Of this revision of the plan instead of the newest.
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true)]
    revision: u32,
}

impl Explain {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = ExplainPlanRequest {
            shop_id: session.shop()?,
            revision: self.revision,
            job_id: self.job,
        };
        let reply = session
            .call(request, async |channel, request| {
                PlanServiceClient::new(channel).explain_plan(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("ExplainPlanResponse", &reply)?);
        }
        answer::write(&views::explained::text(&reply, session.clock().await?))
    }
}
