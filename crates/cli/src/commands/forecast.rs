//! `forecast`: how much of a mix of work gets done over the coming weeks.

use super::gain::work;
use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::plan_service_client::PlanServiceClient;
use baywright_api::v1::{ReportForecastRequest, WorkAsked};
use clap::Args;

/// Show how much of a mix of work gets done over the coming weeks, with ranges.
///
/// A simulation with a seed, not a promise: the mix is what came and what was turned away in the last
/// weeks, or what is stated with `--work`. The minutes are those written down, unless --past-minutes draws
/// them from attempts of the past; the answer shows both.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo forecast --weeks 6 --work front-camera-static/long-van=3"
)]
pub(crate) struct Forecast {
    /// Work and how often a week, as `PROCEDURE/CLASS=PER_WEEK`; may stand several times.
    #[arg(long, value_name = "WORK", value_parser = work)]
    work: Vec<WorkAsked>,
    /// How many weeks to look back where no work is stated.
    #[arg(long, value_name = "WEEKS", default_value_t = 8, value_parser = clap::value_parser!(u32).range(1..=104))]
    weeks_back: u32,
    /// Weeks ahead, 1 to 13.
    #[arg(long, value_name = "N", default_value_t = 4, value_parser = clap::value_parser!(u32).range(1..=13))]
    weeks: u32,
    /// Runs of the simulation, 1 to 60; at most 300 weeks in all runs together.
    #[arg(long, value_name = "N", default_value_t = 20, value_parser = clap::value_parser!(u32).range(1..=60))]
    runs: u32,
    /// Hours from the arrival of a vehicle to its promise, 1 to 672.
    #[arg(long, value_name = "N", default_value_t = 48, value_parser = clap::value_parser!(u32).range(1..=672))]
    promise_hours: u32,
    /// Seed of all that is random.
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Draw the minutes from attempts of the past, where there are at least 5 of a method.
    #[arg(long)]
    past_minutes: bool,
}

impl Forecast {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = ReportForecastRequest {
            shop_id: session.shop()?,
            mix: self.work,
            weeks_back: self.weeks_back,
            weeks: self.weeks,
            runs: self.runs,
            promise_hours: self.promise_hours,
            seed: self.seed,
            use_past_minutes: self.past_minutes,
        };
        let reply = session
            .call(request, async |channel, request| {
                PlanServiceClient::new(channel).report_forecast(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("ReportForecastResponse", &reply)?);
        }
        let clock = session.clock().await?;
        answer::write(&views::forecast::report(&reply.report.unwrap_or_default(), clock))
    }
}
