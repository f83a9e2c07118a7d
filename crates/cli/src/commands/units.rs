//! `units`: list where equipment is, who has it and until when.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::ListUnitUsesRequest;
use baywright_api::v1::day_service_client::DayServiceClient;
use clap::Args;

/// List where equipment is, who has it and until when.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo units target-frame")]
pub(crate) struct Units {
    /// Only units of this kind.
    kind: Option<String>,
}

impl Units {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = ListUnitUsesRequest {
            shop_id: session.shop()?,
            unit_kind_id: self.kind.unwrap_or_default(),
        };
        let reply = session
            .call(request, async |channel, request| {
                DayServiceClient::new(channel).list_unit_uses(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("ListUnitUsesResponse", &reply)?);
        }
        answer::write(&views::day::units(&reply, session.clock().await?))
    }
}
