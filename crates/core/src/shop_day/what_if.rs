//! What would be if the shop were otherwise: a copy of it, changed, is planned beside the shop as it is.
//!
//! The shop as it is is planned first; the changed copy is planned with that plan as its previous one, so
//! that nothing moves without need, and the difference is told job by job. Costs are compared without what
//! changes to the standing plan cost. Nothing here is kept, and neither search is proved to be the best: a
//! small difference may be the search's.

mod supposed;

pub use supposed::{GROWTH_PERCENT_MAX, SUPPOSED_MAX, Supposed};

use super::{Assignment, DayError, LateJob, PlannedDay, ShopState, plan_day};
use crate::calendar::Window;
use crate::fault::Faults;
use crate::ids::{BayId, JobId};
use crate::planner::{EpochReport, SolveOptions, cost_less_changes};
use chrono::{DateTime, Utc};
use std::collections::BTreeSet;
use supposed::Changed;

/// A bay in which no work goes on for a time; a vehicle may stand there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClosedBay {
    /// The bay.
    pub bay: BayId,
    /// When.
    pub window: Window,
}

/// How a day comes out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Outcome {
    /// Cost in the shop's weights, without what changes to the plan before cost.
    pub cost_less_changes: i64,
    /// Tasks that are planned.
    pub planned_tasks: usize,
    /// Tasks that are not in the plan, those of jobs left out apart.
    pub unplanned_tasks: usize,
    /// Jobs that are left out as a whole.
    pub left_out_jobs: usize,
    /// Jobs that finish after their promise.
    pub late_jobs: usize,
    /// Minutes by which they do, added up.
    pub late_minutes: i64,
}

/// A job as it comes out on one of the two days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct JobOutcome {
    /// When its last planned task ends; none where none is planned.
    pub finish: Option<DateTime<Utc>>,
    /// Minutes after its promise.
    pub late_minutes: i64,
    /// Its planned tasks.
    pub tasks: usize,
}

/// What a job comes to without and with the change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobDifference {
    /// The job.
    pub job: JobId,
    /// Its promise.
    pub promise: DateTime<Utc>,
    /// Whether it is there only with the change.
    pub added: bool,
    /// Without the change.
    pub before: JobOutcome,
    /// With it.
    pub after: JobOutcome,
    /// Tasks that are planned on both days, but otherwise: start, place, people, units or method.
    pub moved_tasks: usize,
}

/// The answer of [`what_if`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WhatIf {
    /// What was supposed, a sentence each.
    pub sentences: Vec<String>,
    /// The shop as it is.
    pub before: Outcome,
    /// The shop with the changes.
    pub after: Outcome,
    /// Jobs that come out otherwise, by promise.
    pub jobs: Vec<JobDifference>,
}

/// Why the question could not be answered.
#[derive(Debug, thiserror::Error)]
pub enum WhatIfError {
    /// What was supposed is wrong.
    #[error("what was supposed has faults")]
    Supposed(#[source] Faults),
    /// A day could not be planned.
    #[error(transparent)]
    Day(#[from] DayError),
}

/// Plans the shop as it is and as it would be with everything that is supposed.
///
/// `stop` is asked between the epochs of both searches.
///
/// # Errors
/// [`WhatIfError`] when something that is supposed is not of this shop or outside of its limits, or one of
/// the days cannot be planned.
pub fn what_if(
    state: &ShopState<'_>,
    supposed: &[Supposed],
    options: SolveOptions,
    stop: &mut dyn FnMut(&EpochReport) -> bool,
) -> Result<WhatIf, WhatIfError> {
    let changed = Changed::of(state, supposed).map_err(WhatIfError::Supposed)?;
    let before = plan_day(state, options, stop)?;
    let copy = ShopState {
        shop: &changed.shop,
        jobs: &changed.jobs,
        closed: &changed.closed,
        previous: &before.assignments,
        ..*state
    };
    let after = plan_day(&copy, options, stop)?;
    let mut jobs: Vec<_> = changed
        .jobs
        .iter()
        .map(|job| {
            let of = |day: &PlannedDay| job_outcome(day, &job.id);
            JobDifference {
                job: job.id.clone(),
                promise: job.promise_at,
                added: !state.jobs.iter().any(|known| known.id == job.id),
                before: of(&before),
                after: of(&after),
                moved_tasks: moved(&before.assignments, &after.assignments, &job.id),
            }
        })
        .filter(|one| one.added || one.moved_tasks > 0 || one.before != one.after)
        .collect();
    jobs.sort_by(|one, other| (one.promise, &one.job).cmp(&(other.promise, &other.job)));
    Ok(WhatIf {
        sentences: changed.sentences,
        before: outcome(&before),
        after: outcome(&after),
        jobs,
    })
}

/// How a planned day comes out.
pub(super) fn outcome(day: &PlannedDay) -> Outcome {
    let whole = |one: &&super::Unplanned| one.task.is_none();
    Outcome {
        // The plan is the problem's own, so it has a cost.
        cost_less_changes: cost_less_changes(&day.problem, &day.plan).unwrap_or_default(),
        planned_tasks: day.assignments.len(),
        unplanned_tasks: day.unplanned.len() - day.unplanned.iter().filter(whole).count(),
        left_out_jobs: day.plan.jobs.iter().filter(|job| job.left_out).count(),
        late_jobs: day.late.len(),
        late_minutes: day.late.iter().map(late_minutes).sum(),
    }
}

fn late_minutes(late: &LateJob) -> i64 {
    (late.finish - late.promise).num_minutes()
}

fn job_outcome(day: &PlannedDay, job: &JobId) -> JobOutcome {
    let of_job = || day.assignments.iter().filter(|one| one.job == *job);
    let late = day.late.iter().find(|late| late.job == *job);
    JobOutcome {
        finish: of_job().map(|one| one.end).max(),
        late_minutes: late.map_or(0, late_minutes),
        tasks: of_job().count(),
    }
}

fn moved(before: &[Assignment], after: &[Assignment], job: &JobId) -> usize {
    let of_job = |one: &&Assignment| one.job == *job;
    let otherwise = |one: &&Assignment| {
        before.iter().filter(of_job).any(|was| was.task == one.task && !was.stands_as(one))
    };
    after.iter().filter(of_job).filter(otherwise).count()
}

/// Names that are taken already, so that a copy gets one of its own.
fn free_name(taken: &BTreeSet<&str>, like: &str) -> String {
    // Cut so that the number finds room: a name has at most 64 characters, all of them one byte long.
    let stem: String = like.chars().take(50).collect();
    let names = (1_u32..).map(|number| format!("{stem}-more-{number}"));
    names.into_iter().find(|name| !taken.contains(name.as_str())).unwrap_or(stem)
}

#[cfg(test)]
mod tests;
