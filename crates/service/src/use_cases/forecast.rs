//! How much of a mix of work the shop gets done over the coming weeks.

use super::gain::{MixAsked, mix_of};
use crate::{
    app::App,
    caution::CAUTION,
    error::ServiceError,
    limits::{FORECAST_ATTEMPTS_MAX, FORECAST_PROMISE_HOURS, FORECAST_RUNS, FORECAST_WEEKS},
    off_thread::search_off_thread,
    snapshot::ShopSnapshot,
    storage::records::newest_records,
    use_cases::plans::doubts,
};
use baywright_api::{
    forecast::report_message,
    time::instant_from,
    v1::{self, Outcome},
};
use baywright_core::{
    forecast::{Attempt, ForecastAsked, ForecastError, PastMinutes, forecast},
    gain::WorkAsked,
    ids::{BayId, MethodId, ProcedureId},
    shop_day::{Hold, HostsByDay},
};
use chrono::{DateTime, Utc};
use std::collections::BTreeSet;

/// What every forecast takes for granted.
const ASSUMPTIONS: [&str; 4] = [
    "Each piece of work is a job of one task; what a job waits for is not looked at.",
    "Bays fit as they fit today; sun, daylight and road are not looked at.",
    "Each week is planned with all that comes in it known, nothing fails and nobody is ill: less may get done.",
    "The search for each week's plan is short: more may get done.",
];

/// Simulates the coming weeks.
///
/// # Errors
/// No such shop; a mix with faults, or work that the shop does not know; numbers out of range.
pub async fn report_forecast(
    app: &App,
    request: v1::ReportForecastRequest,
) -> Result<v1::ReportForecastResponse, ServiceError> {
    let now = app.clock.now();
    let snapshot = app.snapshot(&request.shop_id, now).await?;
    let v1::ReportForecastRequest { shop_id, mix, weeks_back, .. } = &request;
    let (mix, basis) =
        mix_of(app, &snapshot, MixAsked { shop_id, mix, weeks: ("weeks_back", *weeks_back), now })
            .await?;
    let (attempts, doubts) = app
        .database
        .read(request.shop_id.clone(), |tx, shop_id| {
            Box::pin(async move {
                let records = newest_records(tx, shop_id, FORECAST_ATTEMPTS_MAX).await?;
                Ok((records, doubts(tx, shop_id).await?))
            })
        })
        .await?;
    let past = PastMinutes::of(attempts.iter().filter_map(attempt));
    let usual = |asked: u32, usual: u32| if asked == 0 { usual } else { asked };
    let asked = Asked {
        mix,
        past,
        use_past: request.use_past_minutes,
        from: now,
        weeks: usual(request.weeks, FORECAST_WEEKS),
        runs: usual(request.runs, FORECAST_RUNS),
        promise_hours: usual(request.promise_hours, FORECAST_PROMISE_HOURS),
        seed: request.seed,
    };
    let (runs, seed) = (asked.runs, asked.seed);
    let found = search_off_thread(move |abandoned| {
        asked.answer(&snapshot, &doubts, &mut || abandoned.is_so())
    })
    .await??;
    let report = v1::ForecastReport {
        basis,
        runs,
        seed,
        assumptions: ASSUMPTIONS.map(ToOwned::to_owned).to_vec(),
        caution: CAUTION.to_owned(),
        ..found
    };
    Ok(v1::ReportForecastResponse { report: Some(report) })
}

/// What is asked, but for the shop.
struct Asked {
    mix: Vec<WorkAsked>,
    past: PastMinutes,
    use_past: bool,
    from: DateTime<Utc>,
    weeks: u32,
    runs: u32,
    promise_hours: u32,
    seed: u64,
}

impl Asked {
    fn answer(
        &self,
        snapshot: &ShopSnapshot,
        doubts: &BTreeSet<(ProcedureId, MethodId, BayId)>,
        stop: &mut dyn FnMut() -> bool,
    ) -> Result<v1::ForecastReport, ServiceError> {
        let asked = ForecastAsked {
            shop: snapshot.definition(),
            hosts: &HostsByDay::always(snapshot.hosts_without(doubts)),
            clashes: snapshot.clashes(),
            mix: &self.mix,
            past: &self.past,
            use_past: self.use_past,
            from: self.from,
            weeks: self.weeks,
            runs: self.runs,
            promise_hours: self.promise_hours,
            seed: self.seed,
        };
        forecast(&asked, stop).map(|found| report_message(&found)).map_err(|error| match error {
            ForecastError::Asked(faults) => faults.into(),
            ForecastError::Day(error) => super::plans::no_plan(error),
            // Nobody waits for the answer any more.
            ForecastError::Stopped => ServiceError::DeadlineExceeded,
        })
    }
}

/// What an attempt that passed took; none where its times were not told.
fn attempt(record: &v1::ConditionsRecord) -> Option<Attempt> {
    let holding = record.holding.as_ref().filter(|_| record.outcome() == Outcome::Passed)?;
    let hold = Hold::try_from(holding).ok()?;
    let ended = record.ended_time.as_ref().and_then(|time| instant_from(time).ok())?;
    let seconds = (ended - hold.started_at?).num_seconds().max(0);
    let minutes = (seconds + 59) / 60 - hold.paused_minutes(ended);
    Some(Attempt {
        procedure: ProcedureId::new(record.task.as_ref()?.procedure_id.clone()).ok()?,
        method: hold.method,
        technicians: hold.technicians,
        minutes: u32::try_from(minutes.max(1)).ok()?,
    })
}
