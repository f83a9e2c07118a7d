//! `resume`: goes on with a paused task.

use super::held_task::HeldTask;
use super::print_holding;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::ResumeTaskRequest;
use baywright_api::v1::work_service_client::WorkServiceClient;
use clap::Args;

/// Go on with a paused task.
///
/// Look again at what may have changed meanwhile: light, sun, floor, vehicle. Where the conditions no
/// longer hold, fail the task or put it back.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo resume J-1001 front-camera --technician ines"
)]
pub(crate) struct Resume {
    #[command(flatten)]
    held: HeldTask,
}

impl Resume {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = ResumeTaskRequest {
            shop_id: session.shop()?,
            holding: Some(self.held.key(session).await?),
            request_id: session.request_id(),
        };
        let reply = session
            .call(request, async |channel, request| {
                WorkServiceClient::new(channel).resume_task(request).await
            })
            .await?;
        print_holding(session, "ResumeTaskResponse", &reply, reply.holding.as_ref()).await
    }
}
