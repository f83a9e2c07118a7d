//! Whether a plan that was made anew says anything that the standing one does not.
//!
//! The shop works from the standing revision; another one is worth its while only where somebody has
//! to do something else, or is told something else: an assignment that is not begun stands otherwise,
//! came or went, a task is left out for other reasons, other jobs are late. What was begun or done since
//! as it was planned is no news, and neither is the instant at which work under way will end.

use super::{Assignment, PlannedDay, Unplanned};
use crate::ids::JobId;
use crate::work::{Job, TaskState};
use chrono::{DateTime, Utc};
use std::collections::BTreeSet;

/// What the standing revision of a plan says.
#[derive(Debug, Clone, Copy)]
pub struct StandingPlan<'a> {
    /// Who does what where when, with what is reserved.
    pub assignments: &'a [Assignment],
    /// What is not in the plan.
    pub unplanned: &'a [Unplanned],
    /// Jobs that finish after their promise.
    pub late: &'a BTreeSet<JobId>,
}

/// Whether `day`, planned at `now` for `jobs` as they are then, says more than the standing plan.
pub fn has_news(
    standing: StandingPlan<'_>,
    day: &PlannedDay,
    jobs: &[Job],
    now: DateTime<Utc>,
) -> bool {
    let same_task = |one: &Assignment, other: &Assignment| {
        one.job == other.job && one.task == other.task && one.method == other.method
    };
    let same = |one: &&Assignment, other: &&Assignment| {
        same_task(one, other)
            && one.place == other.place
            && one.technicians == other.technicians
            && one.units == other.units
            && one.start == other.start
            && one.end == other.end
    };
    let unbegun = |one: &&Assignment| !one.fixed;
    let other_now = day
        .assignments
        .iter()
        .filter(unbegun)
        .any(|new| !standing.assignments.iter().any(|old| same(&old, &new)));
    let gone = standing.assignments.iter().any(|old| {
        !day.assignments.iter().any(|new| same_task(old, new)) && is_called_off(old, jobs, now)
    });
    let late: BTreeSet<JobId> = day.late.iter().map(|late| late.job.clone()).collect();
    other_now || gone || late != *standing.late || other_reasons(standing.unplanned, day)
}

/// Whether an assignment that is not planned any more would still send somebody to work: its task is
/// neither under way nor done, or its job has left before its time.
fn is_called_off(old: &Assignment, jobs: &[Job], now: DateTime<Utc>) -> bool {
    let Some(job) = jobs.iter().find(|job| job.id == old.job) else { return old.start > now };
    let task = job.tasks.iter().find(|task| task.id == old.task);
    !task.is_some_and(|task| task.state == TaskState::Passed || task.state.is_held())
}

fn other_reasons(before: &[Unplanned], day: &PlannedDay) -> bool {
    let of = |all: &[Unplanned]| -> BTreeSet<(JobId, Option<String>, Vec<String>)> {
        let one = |one: &Unplanned| {
            let task = one.task.as_ref().map(ToString::to_string);
            (one.job.clone(), task, one.reasons.clone())
        };
        all.iter().map(one).collect()
    };
    of(before) != of(&day.unplanned)
}

#[cfg(test)]
mod tests;
