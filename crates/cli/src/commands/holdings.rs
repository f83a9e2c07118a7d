//! `holdings`: lists what is held now.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::ListHoldingsRequest;
use baywright_api::v1::work_service_client::WorkServiceClient;
use clap::Args;

/// List what is held now: by whom, where and with which units.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo holdings ines")]
pub(crate) struct Holdings {
    /// Only this technician's.
    technician: Option<String>,
}

impl Holdings {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = ListHoldingsRequest {
            shop_id: session.shop()?,
            technician_id: self.technician.unwrap_or_default(),
        };
        let reply = session
            .call(request, async |channel, request| {
                WorkServiceClient::new(channel).list_holdings(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("ListHoldingsResponse", &reply)?);
        }
        answer::write(&views::holding::list(&reply.holdings, session.clock().await?))
    }
}
