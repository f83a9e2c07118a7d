//! `road-drive`: can we road-drive, and until when.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::ListRoadWindowsRequest;
use baywright_api::v1::road_service_client::RoadServiceClient;
use clap::Args;

/// Show when road drives can take place, and which tasks wait for one.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo road-drive --date 2026-05-05")]
pub(crate) struct RoadDrive {
    /// The local date, YYYY-MM-DD; by default today.
    #[arg(long, value_name = "DATE")]
    date: Option<String>,
}

impl RoadDrive {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = ListRoadWindowsRequest {
            shop_id: session.shop()?,
            date: self.date.unwrap_or_default(),
        };
        let reply = session
            .call(request, async |channel, request| {
                RoadServiceClient::new(channel).list_road_windows(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("ListRoadWindowsResponse", &reply)?);
        }
        answer::write(&views::road::windows(&reply, session.clock().await?))
    }
}
