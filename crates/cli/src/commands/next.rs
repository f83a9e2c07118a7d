//! `next`: gives a technician the next task that really is ready.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::refusal;
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
        let pulled = session
            .call(request, async |channel, request| {
                WorkServiceClient::new(channel).pull_task(request).await
            })
            .await;
        let reply = match pulled {
            Err(failure) => return Err(with_local_time(failure, session).await),
            Ok(reply) => reply,
        };
        if session.json {
            return answer::write(&json::text("PullTaskResponse", &reply)?);
        }
        let clock = session.clock().await?;
        answer::write(&views::holding::text(&reply.holding.unwrap_or_default(), clock))
    }
}

/// Says in the shop's time when something becomes ready, where the refusal says so.
async fn with_local_time(failure: Failure, session: &Session) -> Failure {
    let Failure::Refused(status) = failure else { return failure };
    let Some(next_time) = refusal::entry(&status, "next_time") else {
        return Failure::Refused(status);
    };
    let Ok(clock) = session.clock().await else { return Failure::Refused(status) };
    let Ok(instant) = clock.read("next_time", &next_time) else { return Failure::Refused(status) };
    Failure::NothingReady { status, next_time: clock.show(Some(&instant)) }
}
