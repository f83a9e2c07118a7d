//! `job`: shows a job with the readiness of its tasks.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::GetJobRequest;
use baywright_api::v1::job_service_client::JobServiceClient;
use clap::Args;

/// Show a job: its tasks with readiness and reasons, operations and prerequisites.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo job J-1001")]
pub(crate) struct Job {
    /// The job.
    job: String,
}

impl Job {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = GetJobRequest { shop_id: session.shop()?, job_id: self.job };
        let reply = session
            .call(request, async |channel, request| {
                JobServiceClient::new(channel).get_job(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("GetJobResponse", &reply)?);
        }
        let clock = session.clock().await?;
        answer::write(&views::job::text(&reply.job.unwrap_or_default(), &reply.readiness, clock))
    }
}
