//! `redo`: opens a failed task for a new attempt.

use super::print_job;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::RedoTaskRequest;
use baywright_api::v1::work_service_client::WorkServiceClient;
use clap::Args;

/// Open a failed task for a new attempt.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo redo J-1001 front-camera --reason 'door is shut and taped' \\\n    \
    --clear-doubt"
)]
pub(crate) struct Redo {
    /// The job.
    job: String,
    /// The failed task.
    task: String,
    /// Why a new attempt is right.
    #[arg(long, value_name = "TEXT")]
    reason: String,
    /// Clear the doubt about bay and method that the failure left.
    #[arg(long)]
    clear_doubt: bool,
}

impl Redo {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = RedoTaskRequest {
            shop_id: session.shop()?,
            job_id: self.job,
            task_id: self.task,
            reason: self.reason,
            clear_doubt: self.clear_doubt,
            request_id: session.request_id(),
            actor: session.actor.clone(),
            etag: String::new(),
        };
        let reply = session
            .call(request, async |channel, request| {
                WorkServiceClient::new(channel).redo_task(request).await
            })
            .await?;
        print_job(session, "RedoTaskResponse", &reply, reply.job.as_ref()).await
    }
}
