//! `fail`: ends a running task as failed.

use super::codes::Codes;
use super::held_task::HeldTask;
use super::print_record;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::FailTaskRequest;
use baywright_api::v1::FailureCause;
use baywright_api::v1::work_service_client::WorkServiceClient;
use baywright_files::words::Word as _;
use clap::Args;

/// End a running task as failed with its cause, and keep its conditions record.
///
/// The cause environment puts that bay and method in doubt until somebody clears it; the cause
/// preparation opens the named prerequisite again, with every task that passed behind it.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo fail J-1001 front-camera --technician ines --cause environment --note 'sun came over the door'"
)]
pub(crate) struct Fail {
    #[command(flatten)]
    held: HeldTask,
    /// Why it failed.
    #[arg(long, value_parser = ["environment", "preparation", "vehicle", "equipment", "procedure"])]
    cause: String,
    /// What was seen.
    #[arg(long, value_name = "TEXT")]
    note: String,
    /// The prerequisite that was not met; required for the cause preparation.
    #[arg(long, value_name = "ID", required_if_eq("cause", "preparation"))]
    prerequisite: Option<String>,
    #[command(flatten)]
    codes: Codes,
}

impl Fail {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let cause = FailureCause::from_word(&self.cause).map_or(0, Into::into);
        let request = FailTaskRequest {
            shop_id: session.shop()?,
            holding: Some(self.held.key(session).await?),
            cause,
            note: self.note,
            prerequisite_id: self.prerequisite.unwrap_or_default(),
            codes: self.codes.found(),
            request_id: session.request_id(),
        };
        let reply = session
            .call(request, async |channel, request| {
                WorkServiceClient::new(channel).fail_task(request).await
            })
            .await?;
        print_record(session, "FailTaskResponse", &reply, reply.record.as_ref()).await
    }
}
