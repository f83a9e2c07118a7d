//! `put-back`: puts a held, running or paused task back without a result.

use super::held_task::HeldTask;
use super::print_record;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::PutBackTaskRequest;
use baywright_api::v1::work_service_client::WorkServiceClient;
use clap::Args;

/// Put a held, running or paused task back without a result.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo put-back J-1001 front-camera --technician ines --note 'called to another bay'"
)]
pub(crate) struct PutBack {
    #[command(flatten)]
    held: HeldTask,
    /// Why.
    #[arg(long, value_name = "TEXT")]
    note: String,
}

impl PutBack {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = PutBackTaskRequest {
            shop_id: session.shop()?,
            holding: Some(self.held.key(session).await?),
            note: self.note,
            request_id: session.request_id(),
        };
        let reply = session
            .call(request, async |channel, request| {
                WorkServiceClient::new(channel).put_back_task(request).await
            })
            .await?;
        print_record(session, "PutBackTaskResponse", &reply, reply.record.as_ref()).await
    }
}
