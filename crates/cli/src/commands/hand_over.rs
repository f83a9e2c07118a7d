//! `hand-over`: hands what is held over to another technician.

use super::held_task::HeldTask;
use super::print_holding;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::HandOverTaskRequest;
use baywright_api::v1::work_service_client::WorkServiceClient;
use clap::Args;

/// Hand what is held over to another technician, within the same attempt.
///
/// The next technician fills the same role, is on shift and holds nothing. The fencing number rises:
/// the former holder can change nothing any more.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo hand-over J-1001 front-camera --technician ines --to ruth --note 'target stands, distances measured'"
)]
pub(crate) struct HandOver {
    #[command(flatten)]
    held: HeldTask,
    /// The technician who takes over.
    #[arg(long, value_name = "ID")]
    to: String,
    /// What the next one must know.
    #[arg(long, value_name = "TEXT")]
    note: String,
}

impl HandOver {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = HandOverTaskRequest {
            shop_id: session.shop()?,
            holding: Some(self.held.key(session).await?),
            to_technician_id: self.to,
            note: self.note,
            request_id: session.request_id(),
        };
        let reply = session
            .call(request, async |channel, request| {
                WorkServiceClient::new(channel).hand_over_task(request).await
            })
            .await?;
        print_holding(session, "HandOverTaskResponse", &reply, reply.holding.as_ref()).await
    }
}
