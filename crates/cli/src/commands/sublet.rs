//! `sublet`: sends an open task out.

use super::print_job;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::SubletTaskRequest;
use baywright_api::v1::task_service_client::TaskServiceClient;
use clap::Args;

/// Send an open task out: somebody else does it by a stated time.
///
/// What comes after it is planned from that time on. Once it has passed unconfirmed, whoever has the
/// task is to be chased. How it ended is noted with sublet-end.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo sublet J-1001 glass --to 'glass shop' --back '2026-05-05 14:00'"
)]
pub(crate) struct Sublet {
    /// The job.
    job: String,
    /// The open task.
    task: String,
    /// To whom.
    #[arg(long, value_name = "TEXT")]
    to: String,
    /// When it is expected back: "2026-05-05 16:30" in the shop's time, or after RFC 3339.
    #[arg(long, value_name = "TIME")]
    back: String,
    /// What was agreed.
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,
}

impl Sublet {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let expected_time = session.clock().await?.read("--back", &self.back)?;
        let request = SubletTaskRequest {
            shop_id: session.shop()?,
            job_id: self.job,
            task_id: self.task,
            party: self.to,
            expected_time: Some(expected_time),
            note: self.note.unwrap_or_default(),
            request_id: session.request_id(),
            actor: session.actor.clone(),
            etag: String::new(),
        };
        let reply = session
            .call(request, async |channel, request| {
                TaskServiceClient::new(channel).sublet_task(request).await
            })
            .await?;
        print_job(session, "SubletTaskResponse", &reply, reply.job.as_ref()).await
    }
}
