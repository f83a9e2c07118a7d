//! `finish`: finishes a running task as passed.

use super::codes::Codes;
use super::glass::Glass;
use super::held_task::HeldTask;
use super::print_record;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::FinishTaskRequest;
use baywright_api::v1::work_service_client::WorkServiceClient;
use clap::Args;

/// Finish a running task as passed, and keep its conditions record.
///
/// After a scan, state every code found. After glass, state what was recorded when it was set; the
/// minutes are those that the adhesive's maker states for the day's temperature and humidity, and are
/// never assumed.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo finish J-1001 pre-scan --technician ines --code C1A67='camera not aimed'"
)]
pub(crate) struct Finish {
    #[command(flatten)]
    held: HeldTask,
    /// What the technician notes.
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,
    #[command(flatten)]
    codes: Codes,
    #[command(flatten)]
    glass: Glass,
}

impl Finish {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let adhesive = self.glass.adhesive(session).await?;
        let request = FinishTaskRequest {
            shop_id: session.shop()?,
            holding: Some(self.held.key(session).await?),
            note: self.note.unwrap_or_default(),
            codes: self.codes.found(),
            adhesive,
            request_id: session.request_id(),
        };
        let reply = session
            .call(request, async |channel, request| {
                WorkServiceClient::new(channel).finish_task(request).await
            })
            .await?;
        print_record(session, "FinishTaskResponse", &reply, reply.record.as_ref()).await
    }
}
