//! `cancel-task`: gives up a task.

use super::print_job;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::CancelTaskRequest;
use baywright_api::v1::task_service_client::TaskServiceClient;
use clap::Args;

/// Give up a task that is proposed, open, failed or sublet.
///
/// Nothing brings a cancelled task back. A called calibration that is cancelled bars the hand-back
/// until a named manager records why the vehicle may leave without it.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo cancel-task J-1001 road-drive --reason 'no longer on the estimate'"
)]
pub(crate) struct CancelTask {
    /// The job.
    job: String,
    /// The task.
    task: String,
    /// Why it is not to be done.
    #[arg(long, value_name = "TEXT")]
    reason: String,
}

impl CancelTask {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = CancelTaskRequest {
            shop_id: session.shop()?,
            job_id: self.job,
            task_id: self.task,
            reason: self.reason,
            request_id: session.request_id(),
            actor: session.actor.clone(),
            etag: String::new(),
        };
        let reply = session
            .call(request, async |channel, request| {
                TaskServiceClient::new(channel).cancel_task(request).await
            })
            .await?;
        print_job(session, "CancelTaskResponse", &reply, reply.job.as_ref()).await
    }
}
