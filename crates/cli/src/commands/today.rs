//! `today`: show the day: what changed, begins, is late, waits and runs out soon.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::GetTodayRequest;
use baywright_api::v1::day_service_client::DayServiceClient;
use clap::Args;

/// Show the day: what changed, begins, is late, waits and runs out soon.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo today")]
pub(crate) struct Today {
    /// How many days ahead to look for what runs out, 0 to 90.
    #[arg(long, value_name = "DAYS")]
    days: Option<u32>,
    /// Changes from this time on, in the shop's time or after RFC 3339; by default since the last
    /// closing on a day before today.
    #[arg(long, value_name = "TIME")]
    since: Option<String>,
}

impl Today {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let since = match &self.since {
            Some(text) => Some(session.clock().await?.read("--since", text)?),
            None => None,
        };
        let request = GetTodayRequest {
            shop_id: session.shop()?,
            expiry_days: self.days,
            changes_since_time: since,
        };
        let reply = session
            .call(request, async |channel, request| {
                DayServiceClient::new(channel).get_today(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("GetTodayResponse", &reply)?);
        }
        answer::write(&views::day::today(&reply, session.clock().await?))
    }
}
