//! `accept`: accepts or declines proposed tasks.

use super::print_job;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::DecideTasksRequest;
use baywright_api::v1::job_service_client::JobServiceClient;
use clap::Args;

/// Accept or decline proposed tasks.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo accept J-1001 --decline road-drive --reason 'customer drives it himself'"
)]
pub(crate) struct Accept {
    /// The job.
    job: String,
    /// Tasks to accept; none means every task that is proposed and not declined here.
    tasks: Vec<String>,
    /// A task to decline; may be repeated.
    #[arg(long, value_name = "TASK", requires = "reason")]
    decline: Vec<String>,
    /// Why; required to decline.
    #[arg(long, value_name = "TEXT")]
    reason: Option<String>,
}

impl Accept {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = DecideTasksRequest {
            shop_id: session.shop()?,
            job_id: self.job,
            accept_all: self.tasks.is_empty(),
            accept_task_ids: self.tasks,
            decline_task_ids: self.decline,
            reason: self.reason.unwrap_or_default(),
            request_id: session.request_id(),
            actor: session.actor.clone(),
            etag: String::new(),
        };
        let reply = session
            .call(request, async |channel, request| {
                JobServiceClient::new(channel).decide_tasks(request).await
            })
            .await?;
        print_job(session, "DecideTasksResponse", &reply, reply.job.as_ref()).await
    }
}
