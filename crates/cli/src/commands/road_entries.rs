//! `road-entries`: lists what holds of the roads now or later.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::ListRoadEntriesRequest;
use baywright_api::v1::road_service_client::RoadServiceClient;
use clap::Args;

/// List what managers say of the roads, now or later.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo road-entries")]
pub(crate) struct RoadEntries {}

impl RoadEntries {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = ListRoadEntriesRequest { shop_id: session.shop()? };
        let reply = session
            .call(request, async |channel, request| {
                RoadServiceClient::new(channel).list_road_entries(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("ListRoadEntriesResponse", &reply)?);
        }
        answer::write(&views::road::entries(&reply.entries, session.clock().await?))
    }
}
