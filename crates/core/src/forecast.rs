//! How much of a mix of work the shop gets done over the coming weeks: a seeded simulation, with ranges.
//!
//! In each run work comes at random, every open minute as likely as any other, so that the numbers a week
//! scatter as those of independent arrivals do; each week is planned as the shop plans its days, from the
//! bays that fit, the roles, the units and the hours that are written down, and what finds no room waits for
//! the next week. From all runs come the tenth, the fiftieth and the ninetieth percentile.
//!
//! What makes it hopeful: a week is planned with all its arrivals known, nothing fails and nobody is ill. What
//! makes it careful: the search for each plan is short. Sun, daylight, road and what a job waits for are not
//! looked at; each piece of work is a job of one task.

mod arrivals;
mod minutes;
mod quantile;
mod week;

pub use minutes::{Attempt, MinutesUsed, PAST_ATTEMPTS_MIN, PastMinutes, Spread};
pub use quantile::Range;

use crate::calendar::OpenHours;
use crate::fault::{Fault, FaultList, Faults};
use crate::gain::WorkAsked;
use crate::ids::{BayId, TechnicianId};
use crate::planner::Seeded;
use crate::shop::ShopDefinition;
use crate::shop_day::{DayError, HostsByDay};
use crate::work::Place;
use arrivals::Arrivals;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeSet;
use week::{Waiting, Week, WeekDone};

/// The most weeks that are looked ahead.
pub const WEEKS_MAX: u32 = 13;
/// The most runs of the simulation.
pub const RUNS_MAX: u32 = 60;
/// The most weeks that all runs have together.
pub const RUN_WEEKS_MAX: u32 = 300;
/// The most pieces of work a week.
pub const WORK_PER_WEEK_MAX: f64 = 200.0;
/// The longest time from arrival to promise, hours: four weeks.
pub const PROMISE_HOURS_MAX: u32 = 4 * 7 * 24;

/// What is asked of [`forecast`].
#[derive(Debug, Clone, Copy)]
pub struct ForecastAsked<'a> {
    /// What is written down about the shop.
    pub shop: &'a ShopDefinition,
    /// Which places can host what.
    pub hosts: &'a HostsByDay,
    /// Pairs of places that two vehicles cannot take at the same time.
    pub clashes: &'a BTreeSet<(Place, Place)>,
    /// The work that comes.
    pub mix: &'a [WorkAsked],
    /// Minutes that attempts of the past took.
    pub past: &'a PastMinutes,
    /// Whether these are drawn from instead of the written ones, where there are enough of them.
    pub use_past: bool,
    /// When the first week begins.
    pub from: DateTime<Utc>,
    /// Weeks ahead, 1 to [`WEEKS_MAX`].
    pub weeks: u32,
    /// Runs, 1 to [`RUNS_MAX`].
    pub runs: u32,
    /// Hours from arrival to promise, 1 to [`PROMISE_HOURS_MAX`].
    pub promise_hours: u32,
    /// Seed of all that is random.
    pub seed: u64,
}

/// How one week comes out.
#[derive(Debug, Clone, PartialEq)]
pub struct WeekForecast {
    /// Its begin.
    pub start: DateTime<Utc>,
    /// Tasks that come.
    pub come: Range,
    /// Tasks done.
    pub tasks: Range,
    /// Hours of work on them, from set-up to tear-down.
    pub hours: Range,
    /// Jobs that finish after their promise.
    pub late_jobs: Range,
    /// Tasks that wait for room at its end.
    pub waiting: Range,
}

/// The answer of [`forecast`].
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// Week by week.
    pub weeks: Vec<WeekForecast>,
    /// Of each bay, the percentage of its open minutes in which work goes on there.
    pub bays: Vec<(BayId, Range)>,
    /// Of each technician, the percentage of the minutes on shift that are worked.
    pub technicians: Vec<(TechnicianId, Range)>,
    /// Work that cannot be done here, with the reason.
    pub outside: Vec<(WorkAsked, String)>,
    /// The minutes that were counted with, beside those of the past.
    pub minutes: Vec<MinutesUsed>,
}

/// Why there is no forecast.
#[derive(Debug, thiserror::Error)]
pub enum ForecastError {
    /// What was asked is outside of its limits.
    #[error("the question has faults")]
    Asked(#[source] Faults),
    /// A week could not be planned.
    #[error(transparent)]
    Day(#[from] DayError),
    /// It was told to stop.
    #[error("the forecast was told to stop")]
    Stopped,
}

/// Simulates the coming weeks; `stop` is asked between them.
///
/// # Errors
/// [`ForecastError`] when the question is outside of its limits, a week cannot be planned, or it was told
/// to stop.
pub fn forecast(
    asked: &ForecastAsked<'_>,
    stop: &mut dyn FnMut() -> bool,
) -> Result<Forecast, ForecastError> {
    check(asked).map_err(ForecastError::Asked)?;
    let outside = week::outside(asked)?;
    let mut weeks: Vec<Vec<WeekDone>> = vec![Vec::new(); asked.weeks as usize];
    for run in 0..u64::from(asked.runs) {
        let mut random = Seeded::new(asked.seed, run);
        let mut waiting: Vec<Waiting> = Vec::new();
        for (index, done) in weeks.iter_mut().enumerate() {
            if stop() {
                return Err(ForecastError::Stopped);
            }
            let start = week_start(asked, index);
            let arrivals = Arrivals::of(asked, start, &mut random);
            let week = Week { asked, start, seed: random.next() };
            let one = week.plan(std::mem::take(&mut waiting), arrivals, &mut random, &outside)?;
            waiting.clone_from(&one.waiting);
            done.push(one);
        }
    }
    Ok(Forecast {
        weeks: weeks.iter().enumerate().map(|(at, done)| of_week(asked, at, done)).collect(),
        bays: bays(asked, &weeks),
        technicians: technicians(asked, &weeks),
        outside: outside.into_iter().map(|(at, why)| (asked.mix[at].clone(), why)).collect(),
        minutes: minutes::used(asked),
    })
}

fn check(asked: &ForecastAsked<'_>) -> Result<(), Faults> {
    let mut faults = FaultList::new();
    let mut within = |field: &str, value: u32, most: u32, unit: &str| {
        faults.number_within(field, value.into(), 1.0, most.into(), unit);
    };
    within("weeks", asked.weeks, WEEKS_MAX, "weeks");
    within("runs", asked.runs, RUNS_MAX, "runs");
    within("promise_hours", asked.promise_hours, PROMISE_HOURS_MAX, "hours");
    let run_weeks = asked.weeks.saturating_mul(asked.runs);
    if run_weeks > RUN_WEEKS_MAX {
        let limit = format!("be at most {RUN_WEEKS_MAX} weeks in all runs together");
        faults.push(Fault::new("runs", run_weeks, limit, "ask for fewer runs or fewer weeks"));
    }
    let per_week: f64 = asked.mix.iter().map(|work| work.per_week).sum();
    if asked.mix.is_empty() || per_week > WORK_PER_WEEK_MAX {
        let limit = format!("hold work, at most {WORK_PER_WEEK_MAX} tasks a week");
        let remedy = "state what comes, or look back over weeks in which work came";
        faults.push(Fault::new("mix", format!("{per_week} tasks a week"), limit, remedy));
    }
    faults.finish(())
}

fn week_start(asked: &ForecastAsked<'_>, index: usize) -> DateTime<Utc> {
    // Plans count in whole minutes.
    let minutes = asked.from.timestamp().div_euclid(60);
    let from = DateTime::from_timestamp(minutes * 60, 0).unwrap_or(asked.from);
    from + TimeDelta::weeks(i64::try_from(index).unwrap_or(0))
}

fn of_week(asked: &ForecastAsked<'_>, index: usize, done: &[WeekDone]) -> WeekForecast {
    let range = |value: &dyn Fn(&WeekDone) -> f64| Range::of(done.iter().map(value).collect());
    let count = |number: usize| u32::try_from(number).map_or(f64::MAX, f64::from);
    WeekForecast {
        start: week_start(asked, index),
        come: range(&|week| count(week.come)),
        tasks: range(&|week| count(week.tasks)),
        hours: range(&|week| minutes::as_f64(week.minutes) / 60.0),
        late_jobs: range(&|week| count(week.late_jobs)),
        waiting: range(&|week| count(week.waiting.len())),
    }
}

fn bays(asked: &ForecastAsked<'_>, weeks: &[Vec<WeekDone>]) -> Vec<(BayId, Range)> {
    let parts = asked.shop.parts();
    let open = open_minutes(asked, &parts.shop.parts().hours);
    let ids = parts.bays.iter().map(|bay| bay.id().clone());
    ids.map(|id| {
        let of_run = |run: usize| weeks.iter().map(|week| week[run].in_bay(&id)).sum();
        let range = shares(asked, open, &of_run);
        (id, range)
    })
    .collect()
}

fn technicians(asked: &ForecastAsked<'_>, weeks: &[Vec<WeekDone>]) -> Vec<(TechnicianId, Range)> {
    let all = asked.shop.parts().technicians.iter();
    all.map(|one| {
        let open = open_minutes(asked, &one.parts().shift);
        let of_run = |run: usize| weeks.iter().map(|week| week[run].of_technician(one.id())).sum();
        (one.id().clone(), shares(asked, open, &of_run))
    })
    .collect()
}

/// Percentages of `open` minutes over all runs.
fn shares(asked: &ForecastAsked<'_>, open: i64, of_run: &dyn Fn(usize) -> i64) -> Range {
    let runs = 0..asked.runs as usize;
    let share = |run| 100.0 * minutes::as_f64(of_run(run)) / minutes::as_f64(open.max(1));
    Range::of(runs.map(share).collect())
}

/// Minutes that hours are open over all weeks.
fn open_minutes(asked: &ForecastAsked<'_>, hours: &OpenHours) -> i64 {
    (0..asked.weeks as usize)
        .map(|index| {
            let start = week_start(asked, index);
            let windows = hours.windows(start, start + TimeDelta::weeks(1));
            windows.map_or(0, |windows| windows.duration().num_minutes())
        })
        .sum()
}

#[cfg(test)]
mod tests;
