//! `pause`: interrupts a running task.

use super::held_task::HeldTask;
use super::print_holding;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::PauseTaskRequest;
use baywright_api::v1::work_service_client::WorkServiceClient;
use clap::Args;

/// Interrupt a running task; everything stays held.
///
/// The place, the vehicle, the people and the equipment stay taken until the task ends or is put
/// back. The time of the pause stands in the conditions record.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo pause J-1001 front-camera --technician ines --note 'sun on the target'"
)]
pub(crate) struct Pause {
    #[command(flatten)]
    held: HeldTask,
    /// Why.
    #[arg(long, value_name = "TEXT")]
    note: String,
}

impl Pause {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = PauseTaskRequest {
            shop_id: session.shop()?,
            holding: Some(self.held.key(session).await?),
            note: self.note,
            request_id: session.request_id(),
        };
        let reply = session
            .call(request, async |channel, request| {
                WorkServiceClient::new(channel).pause_task(request).await
            })
            .await?;
        print_holding(session, "PauseTaskResponse", &reply, reply.holding.as_ref()).await
    }
}
