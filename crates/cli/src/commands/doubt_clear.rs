//! `doubt-clear`: clears one doubt about a bay.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::ClearDoubtRequest;
use baywright_api::v1::doubt_service_client::DoubtServiceClient;
use clap::Args;

/// Clear a doubt about a bay that somebody has looked at.
///
/// Only this doubt is cleared. While another stands about the same bay and method, the bay is not used
/// for it. What keeps a calibration from being right is dangerous: clear a doubt only when its cause is
/// known and gone.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo doubt-clear D-1 --reason 'blind W2 is fixed, tried at noon'"
)]
pub(crate) struct DoubtClear {
    /// The doubt.
    doubt: String,
    /// What was looked at, and why the bay may be used again.
    #[arg(long, value_name = "TEXT")]
    reason: String,
}

impl DoubtClear {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = ClearDoubtRequest {
            shop_id: session.shop()?,
            doubt_id: self.doubt,
            reason: self.reason,
            request_id: session.request_id(),
            actor: session.actor.clone(),
        };
        let reply = session
            .call(request, async |channel, request| {
                DoubtServiceClient::new(channel).clear_doubt(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("ClearDoubtResponse", &reply)?);
        }
        answer::write(&views::doubt::list(reply.doubt.as_slice(), session.clock().await?))
    }
}
