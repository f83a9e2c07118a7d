//! `outside`: notes that an operation was done outside.

use super::glass::Glass;
use super::print_job;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::RecordOutsideWorkRequest;
use baywright_api::v1::job_service_client::JobServiceClient;
use clap::Args;

/// Note that an operation was done outside, which undoes what its rules say.
///
/// For glass set outside, state what was recorded when it was set. The minutes are those that the
/// adhesive's maker states for that temperature and humidity; they are never assumed.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo outside J-1005 2 --evidence 'invoice of the body shop, page 2'"
)]
pub(crate) struct Outside {
    /// The job.
    job: String,
    /// The operation, by the sender's name of the line.
    operation: String,
    /// On what evidence.
    #[arg(long, value_name = "TEXT")]
    evidence: String,
    #[command(flatten)]
    glass: Glass,
}

impl Outside {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let adhesive = self.glass.adhesive(session).await?;
        let request = RecordOutsideWorkRequest {
            shop_id: session.shop()?,
            job_id: self.job,
            operation_id: self.operation,
            adhesive,
            evidence: self.evidence,
            request_id: session.request_id(),
            actor: session.actor.clone(),
            etag: String::new(),
        };
        let reply = session
            .call(request, async |channel, request| {
                JobServiceClient::new(channel).record_outside_work(request).await
            })
            .await?;
        print_job(session, "RecordOutsideWorkResponse", &reply, reply.job.as_ref()).await
    }
}
