//! From the state of a shop to a planning problem, and from a plan back to who does what where when.
//!
//! Steps are the open tasks done by own staff. What is held or running stands fixed with its
//! expected minutes; a vehicle that stands in a bay is a fixed step of one minute at that place, so
//! that it keeps the place until its next step elsewhere. A task that waits for something without
//! an expected time, or for an overdue one, is left out with its reason, and so is what comes after
//! it; the rest of the job is planned. No job makes a day impossible: one that has begun and cannot
//! finish within the horizon loses its unbegun steps and is listed.

mod assignments;
mod draft;
mod front;
mod hosts;
mod inclusion;
mod minutes;
mod news;
mod options;
mod reasons;
mod run_starts;
mod starts;
mod what_if;

use crate::demand::{Method, WorkPlace};
use crate::ids::{JobId, MethodId, TaskId, TechnicianId, UnitId};
use crate::planner::{
    self, CostError, EpochReport, Plan, PlanStatus, Problem, SolveError, SolveOptions,
};
use crate::run_times::BoundRuns;
use crate::shop::ShopDefinition;
use crate::work::{Job, Place};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// The most days ahead that are planned.
pub const DAYS_MAX: u32 = 14;

pub use front::{DayFrontPoint, front};
pub use hosts::{Hosts, HostsByDay};
pub use news::{StandingPlan, has_news};
pub(crate) use options::technician_of;
pub use reasons::{ToldReasons, ToldRemedy, ToldWait, told};
pub use what_if::{
    ClosedBay, GROWTH_PERCENT_MAX, JobDifference, JobOutcome, Outcome, SUPPOSED_MAX, Supposed,
    WhatIf, WhatIfError, what_if,
};

/// What a technician holds now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hold {
    /// The job.
    pub job: JobId,
    /// The task.
    pub task: TaskId,
    /// The method.
    pub method: MethodId,
    /// The place, where one is held.
    pub place: Option<Place>,
    /// Technicians, in the order of the method's roles.
    pub technicians: Vec<TechnicianId>,
    /// Units, in the order of the method's equipment.
    pub units: Vec<UnitId>,
    /// When it was pulled.
    pub pulled_at: DateTime<Utc>,
    /// When it was started.
    pub started_at: Option<DateTime<Utc>>,
    /// Minutes that the method's document states.
    pub minutes: u32,
    /// Interruptions, from and until; the last has no end while the task is paused.
    pub pauses: Vec<(DateTime<Utc>, Option<DateTime<Utc>>)>,
}

impl Hold {
    /// Minutes for which the work has been interrupted until `now`, rounded up.
    pub fn paused_minutes(&self, now: DateTime<Utc>) -> i64 {
        let pauses = self.pauses.iter();
        let paused: TimeDelta = pauses.map(|(from, until)| until.unwrap_or(now) - *from).sum();
        (paused + TimeDelta::seconds(59)).num_minutes()
    }

    /// When the work is expected to end: its stated minutes and its interruptions after its start, and
    /// not before `now`.
    pub fn expected_end(&self, now: DateTime<Utc>) -> DateTime<Utc> {
        let start = self.started_at.unwrap_or(self.pulled_at);
        let minutes = i64::from(self.minutes) + self.paused_minutes(now);
        (start + TimeDelta::minutes(minutes)).max(now)
    }
}

/// One task in a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Assignment {
    /// The job.
    pub job: JobId,
    /// The task.
    pub task: TaskId,
    /// The method.
    pub method: MethodId,
    /// The place, where one is held.
    pub place: Option<Place>,
    /// Technicians, in the order of the method's roles.
    pub technicians: Vec<TechnicianId>,
    /// Units, in the order of the method's equipment.
    pub units: Vec<UnitId>,
    /// Begin.
    pub start: DateTime<Utc>,
    /// End.
    pub end: DateTime<Utc>,
    /// Whether it stands because it is held or running.
    pub fixed: bool,
    /// What limits its start and what it rests on, a sentence each.
    pub notes: Vec<String>,
}

impl Assignment {
    /// Whether it asks of everybody to do the same at the same time as another one of its task; the ends may differ.
    fn stands_as(&self, other: &Self) -> bool {
        self.method == other.method
            && self.place == other.place
            && self.technicians == other.technicians
            && self.units == other.units
            && self.start == other.start
    }
}

/// A task, or a whole job, that is not in a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unplanned {
    /// The job.
    pub job: JobId,
    /// The task; none where the whole job is left out.
    pub task: Option<TaskId>,
    /// Why, a sentence each.
    pub reasons: Vec<String>,
}

/// A job that finishes after its promise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LateJob {
    /// The job.
    pub job: JobId,
    /// Planned finish.
    pub finish: DateTime<Utc>,
    /// Promise.
    pub promise: DateTime<Utc>,
}

/// The state of a shop at an instant.
#[derive(Debug, Clone, Copy)]
pub struct ShopState<'a> {
    /// What is written down about the shop.
    pub shop: &'a ShopDefinition,
    /// Jobs that are expected or on site.
    pub jobs: &'a [Job],
    /// Which places can host what on each day.
    pub hosts: &'a HostsByDay,
    /// Pairs of places that two vehicles cannot take at the same time.
    pub clashes: &'a BTreeSet<(Place, Place)>,
    /// When runs may take place that sun, daylight or road bind, for all the days planned.
    pub runs: &'a BoundRuns,
    /// Bays in which no work goes on for a time.
    pub closed: &'a [ClosedBay],
    /// What is held now.
    pub holds: &'a [Hold],
    /// Assignments of the plan that the shop works from.
    pub previous: &'a [Assignment],
    /// The instant.
    pub now: DateTime<Utc>,
    /// Days ahead, 1 to [`DAYS_MAX`].
    pub days: u32,
}

/// A day as a planning problem, with what is needed to read a plan of it.
#[derive(Debug, Clone)]
pub struct ShopDay {
    problem: Problem,
    zero: DateTime<Utc>,
    meanings: BTreeMap<(String, String), Vec<OptionMeaning>>,
    unplanned: Vec<Unplanned>,
}

/// What an option of a step stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
struct OptionMeaning {
    method: MethodId,
    place: Option<Place>,
    minutes: i64,
    roles: usize,
}

/// A plan of a day in the shop's own words.
#[derive(Debug, Clone)]
pub struct PlannedDay {
    /// The problem that was planned.
    pub problem: Problem,
    /// The plan as it came out of the planner.
    pub plan: Plan,
    /// Who does what where when, by start.
    pub assignments: Vec<Assignment>,
    /// What is not in the plan, with the reasons.
    pub unplanned: Vec<Unplanned>,
    /// Jobs that finish after their promise.
    pub late: Vec<LateJob>,
}

/// Why a day could not be planned.
#[derive(Debug, thiserror::Error)]
pub enum DayError {
    /// The state cannot be written as a planning problem.
    #[error("the shop's state is outside the planner's limits")]
    Problem(#[source] crate::fault::Faults),
    /// The planner gave no plan.
    #[error("the planner found no plan")]
    Solve(#[source] SolveError),
    /// A plan does not suit its problem, which a sound search never brings about.
    #[error("the planner's plan does not suit the shop's state")]
    Cost(#[source] CostError),
}

impl ShopDay {
    /// The planning problem of `state`, without the unbegun steps of the jobs in `begun_only`.
    ///
    /// # Errors
    /// [`DayError::Problem`] when the state is outside the planner's limits.
    pub fn new(state: &ShopState<'_>, begun_only: &BTreeSet<JobId>) -> Result<Self, DayError> {
        draft::shop_day(state, begun_only)
    }

    /// The planning problem.
    pub fn problem(&self) -> &Problem {
        &self.problem
    }

    /// What is not in the problem, with the reasons.
    pub fn unplanned(&self) -> &[Unplanned] {
        &self.unplanned
    }

    /// The method that an option of a step stands for.
    pub(crate) fn method_of(&self, job: &str, step: &str, option: usize) -> Option<&MethodId> {
        let meanings = self.meanings.get(&(job.to_owned(), step.to_owned()))?;
        meanings.get(option).map(|meaning| &meaning.method)
    }

    /// The instant of minute 0 of a problem that is made at an instant.
    pub fn zero_of(at: DateTime<Utc>) -> DateTime<Utc> {
        minutes::zero_of(at)
    }

    /// The last whole minute at or before an instant.
    pub fn minute(&self, at: DateTime<Utc>) -> i64 {
        minutes::minute_down(self.zero, at)
    }

    /// The instant of a minute.
    pub fn instant(&self, minute: i64) -> DateTime<Utc> {
        minutes::instant_of(self.zero, minute)
    }

    /// When each task ends by a plan of the problem, by job.
    pub fn ends(&self, plan: &Plan) -> BTreeMap<String, Vec<(String, DateTime<Utc>)>> {
        let jobs = plan.jobs.iter().map(|planned| {
            let ends = planned.steps.iter().filter_map(|step| {
                let meanings = self.meanings.get(&(planned.id.clone(), step.id.clone()))?;
                let minutes = meanings.get(step.option)?.minutes;
                Some((step.id.clone(), self.instant(step.start + minutes)))
            });
            (planned.id.clone(), ends.collect())
        });
        jobs.collect()
    }

    /// A plan of the problem read back in the shop's own words.
    #[must_use]
    pub fn read(self, state: &ShopState<'_>, plan: Plan) -> PlannedDay {
        assignments::planned_day(state, self, plan)
    }
}

/// Plans the day of `state`: makes the problem, solves it, and reads the plan back.
///
/// `stop` is asked between epochs; (state, options, epochs done) decide the plan.
///
/// # Errors
/// [`DayError`] when the state is outside the planner's limits or no plan was found.
pub fn plan_day(
    state: &ShopState<'_>,
    options: SolveOptions,
    stop: &mut dyn FnMut(&EpochReport) -> bool,
) -> Result<PlannedDay, DayError> {
    attempted(state, |day| match planner::solve(&day.problem, options, &mut *stop) {
        Ok(plan) if plan.status != PlanStatus::Impossible => {
            Ok(assignments::planned_day(state, day, plan))
        }
        Ok(plan) => Err(Stuck::Jobs(plan.why)),
        Err(error) => Err(Stuck::of(error)),
    })
}

/// Why an attempt at a day came to nothing.
enum Stuck {
    /// These jobs cannot be planned.
    Jobs(Vec<String>),
    /// Something else.
    Error(DayError),
}

impl Stuck {
    fn of(error: SolveError) -> Self {
        match error {
            SolveError::NoPlanFound { jobs, .. } => Self::Jobs(jobs),
            other @ SolveError::Threads(_) => Self::Error(DayError::Solve(other)),
        }
    }
}

/// Attempts a day, and anew without the unbegun steps of the jobs at which it got stuck.
fn attempted<T>(
    state: &ShopState<'_>,
    mut attempt: impl FnMut(ShopDay) -> Result<T, Stuck>,
) -> Result<T, DayError> {
    let mut begun_only: BTreeSet<JobId> = BTreeSet::new();
    loop {
        let stuck = match attempt(ShopDay::new(state, &begun_only)?) {
            Ok(found) => return Ok(found),
            Err(Stuck::Jobs(jobs)) => jobs,
            Err(Stuck::Error(error)) => return Err(error),
        };
        let before = begun_only.len();
        begun_only.extend(stuck.into_iter().filter_map(|id| JobId::new(id).ok()));
        if begun_only.len() == before {
            let jobs = begun_only.into_iter().map(|id| id.to_string()).collect();
            return Err(DayError::Solve(SolveError::NoPlanFound { jobs, epochs: 0 }));
        }
    }
}

/// Minutes of a method from set-up to tear-down.
fn minutes_of(method: &Method) -> i64 {
    i64::from(method.minutes().total())
}

/// Whether a method is done in a bay.
fn needs_bay(method: &Method) -> bool {
    method.place() == WorkPlace::Bay
}

#[cfg(test)]
mod tests;
