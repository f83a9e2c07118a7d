//! `road-entry`: records that the roads are usable, or not, for a time.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::road_service_client::RoadServiceClient;
use baywright_api::v1::{RecordRoadEntryRequest, RoadCondition, RoadEntry as Entry};
use clap::{Args, ValueEnum};

/// Record that the roads are usable, or not, for a time.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo road-entry unusable --from '2026-05-05 08:00' --until '2026-05-05 11:00' \\\n    --reason 'standing water, lines not visible'"
)]
pub(crate) struct RoadEntry {
    /// What is known of the roads.
    #[arg(value_enum)]
    condition: Condition,
    /// From when, in the shop's time or after RFC 3339.
    #[arg(long, value_name = "TIME")]
    from: String,
    /// First instant at which it no longer holds.
    #[arg(long, value_name = "TIME")]
    until: String,
    /// Why, in a few words.
    #[arg(long, value_name = "TEXT")]
    reason: String,
}

/// What is known of the roads.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum Condition {
    /// Dry, with lines that can be seen.
    Usable,
    /// No road drive runs in that time.
    Unusable,
}

impl RoadEntry {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let clock = session.clock().await?;
        let condition = match self.condition {
            Condition::Usable => RoadCondition::Usable,
            Condition::Unusable => RoadCondition::Unusable,
        };
        let entry = Entry {
            condition: condition.into(),
            from_time: Some(clock.read("--from", &self.from)?),
            until_time: Some(clock.read("--until", &self.until)?),
            reason: self.reason,
            ..Entry::default()
        };
        let request = RecordRoadEntryRequest {
            shop_id: session.shop()?,
            entry: Some(entry),
            request_id: session.request_id(),
            actor: session.actor.clone(),
        };
        let reply = session
            .call(request, async |channel, request| {
                RoadServiceClient::new(channel).record_road_entry(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("RecordRoadEntryResponse", &reply)?);
        }
        answer::write(&views::road::entry(&reply.entry.unwrap_or_default(), clock))
    }
}
