//! `cancel`: cancels a job whose vehicle will not come.

use super::print_job;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::CancelJobRequest;
use baywright_api::v1::job_service_client::JobServiceClient;
use clap::Args;

/// Cancel a job whose vehicle will not come.
///
/// Only a job that is still expected can be cancelled; a vehicle that is here is handed back.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo cancel J-1004 --reason 'customer goes elsewhere'"
)]
pub(crate) struct Cancel {
    /// The job.
    job: String,
    /// Why the vehicle will not come.
    #[arg(long, value_name = "TEXT")]
    reason: String,
}

impl Cancel {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = CancelJobRequest {
            shop_id: session.shop()?,
            job_id: self.job,
            reason: self.reason,
            request_id: session.request_id(),
            actor: session.actor.clone(),
            etag: String::new(),
        };
        let reply = session
            .call(request, async |channel, request| {
                JobServiceClient::new(channel).cancel_job(request).await
            })
            .await?;
        print_job(session, "CancelJobResponse", &reply, reply.job.as_ref()).await
    }
}
