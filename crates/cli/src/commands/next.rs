//! `next`: gives a technician the next task that really is ready.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::PullTaskRequest;
use baywright_api::v1::work_service_client::WorkServiceClient;
use clap::Args;

/// Pull the next task that really is ready, and hold everything it needs.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo next ines")]
pub(crate) struct Next {
    /// The technician.
    technician: String,
}

impl Next {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = PullTaskRequest {
            shop_id: session.shop()?,
            technician_id: self.technician,
            request_id: session.request_id(),
        };
        let reply = session
            .call(request, async |channel, request| {
                WorkServiceClient::new(channel).pull_task(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("PullTaskResponse", &reply)?);
        }
        let clock = session.clock().await?;
        answer::write(&views::holding::text(&reply.holding.unwrap_or_default(), clock))
    }
}
