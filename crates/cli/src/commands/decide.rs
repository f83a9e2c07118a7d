//! `decide`: says what an operation calls for that no rule knows.

use super::print_job;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::DecideOperationRequest;
use baywright_api::v1::job_service_client::JobServiceClient;
use clap::Args;

/// Say what an operation calls for that no rule knows.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo decide J-1003 2 --nothing --reason 'no sensor near the headlamp'"
)]
pub(crate) struct Decide {
    /// The job.
    job: String,
    /// The operation, by the sender's name of the line.
    operation: String,
    /// A procedure that it calls for; may be repeated.
    #[arg(
        long,
        value_name = "ID",
        required_unless_present = "nothing",
        conflicts_with = "nothing"
    )]
    procedure: Vec<String>,
    /// It calls for nothing.
    #[arg(long)]
    nothing: bool,
    /// Why.
    #[arg(long, value_name = "TEXT")]
    reason: String,
}

impl Decide {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = DecideOperationRequest {
            shop_id: session.shop()?,
            job_id: self.job,
            operation_id: self.operation,
            procedure_ids: self.procedure,
            reason: self.reason,
            request_id: session.request_id(),
            actor: session.actor.clone(),
            etag: String::new(),
        };
        let reply = session
            .call(request, async |channel, request| {
                JobServiceClient::new(channel).decide_operation(request).await
            })
            .await?;
        print_job(session, "DecideOperationResponse", &reply, reply.job.as_ref()).await
    }
}
