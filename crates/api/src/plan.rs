//! Plans: assignments both ways, and what is left out or late on the way out.

use crate::job::place;
use crate::reading::{Reading as _, plain};
use crate::time::{required_instant, timestamp};
use crate::v1;
use baywright_core::fault::{FaultList, Faults};
use baywright_core::ids::{JobId, MethodId, TaskId, TechnicianId, UnitId};
use baywright_core::planner::{PlanStatus, Steadiness};
use baywright_core::shop_day::{Assignment, Hold, LateJob, PlannedDay, Unplanned};
use chrono::{DateTime, Utc};
use std::collections::BTreeSet;

/// A planned day as the contract's plan; the caller adds shop, revision, instant, days and how it was searched for. What is planned
/// for the jobs that are only `offered` stands apart.
pub fn plan_message(day: &PlannedDay, offered: &BTreeSet<JobId>) -> v1::Plan {
    let (reserved, taken): (Vec<_>, Vec<_>) =
        day.assignments.iter().partition(|one| offered.contains(&one.job));
    v1::Plan {
        cost: day.plan.cost.unwrap_or_default(),
        bound: day.plan.bound.unwrap_or_default(),
        proved_best: day.plan.status == PlanStatus::ProvedBest,
        seed: day.plan.seed,
        epochs: day.plan.epochs,
        assignments: taken.into_iter().map(Into::into).collect(),
        unplanned: day.unplanned.iter().map(Into::into).collect(),
        late_jobs: day.late.iter().map(Into::into).collect(),
        reserved: reserved.into_iter().map(Into::into).collect(),
        threads: day.plan.threads,
        steadiness: steadiness_message(&day.steadiness()),
        ..v1::Plan::default()
    }
}

/// How steady a plan is; none where nothing of it stood before.
pub(crate) fn steadiness_message(steady: &Steadiness) -> Option<v1::PlanSteadiness> {
    let count = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
    (steady.open > 0).then(|| v1::PlanSteadiness {
        tasks: count(steady.open),
        changed_tasks: count(steady.changed),
        left_out_tasks: count(steady.left_out),
        moved_minutes: u32::try_from(steady.shift_minutes).unwrap_or(u32::MAX),
        technician_changes: count(steady.technician_changes),
        bay_changes: count(steady.bay_changes),
    })
}

impl From<&Assignment> for v1::Assignment {
    fn from(assignment: &Assignment) -> Self {
        Self {
            job_id: assignment.job.to_string(),
            task_id: assignment.task.to_string(),
            method_id: assignment.method.to_string(),
            place: assignment.place.as_ref().map(Into::into),
            technician_ids: assignment.technicians.iter().map(ToString::to_string).collect(),
            unit_ids: assignment.units.iter().map(ToString::to_string).collect(),
            start_time: Some(timestamp(assignment.start)),
            end_time: Some(timestamp(assignment.end)),
            fixed: assignment.fixed,
            notes: assignment.notes.clone(),
        }
    }
}

impl TryFrom<&v1::Assignment> for Assignment {
    type Error = Faults;

    fn try_from(message: &v1::Assignment) -> Result<Self, Faults> {
        plain(|faults| {
            Some(Self {
                job: faults.name("job_id", &message.job_id, JobId::new)?,
                task: faults.name("task_id", &message.task_id, TaskId::new)?,
                method: faults.name("method_id", &message.method_id, MethodId::new)?,
                place: faults.optional("place", message.place.as_ref(), place),
                technicians: technicians(faults, &message.technician_ids),
                units: units(faults, &message.unit_ids),
                start: required_instant(faults, "start_time", message.start_time.as_ref())
                    .unwrap_or_default(),
                end: required_instant(faults, "end_time", message.end_time.as_ref())
                    .unwrap_or_default(),
                fixed: message.fixed,
                notes: message.notes.clone(),
            })
        })
    }
}

impl TryFrom<&v1::Holding> for Hold {
    type Error = Faults;

    fn try_from(message: &v1::Holding) -> Result<Self, Faults> {
        plain(|faults| {
            let started = message.started_time.as_ref();
            Some(Self {
                job: faults.name("job_id", &message.job_id, JobId::new)?,
                task: faults.name("task_id", &message.task_id, TaskId::new)?,
                method: faults.name("method_id", &message.method_id, MethodId::new)?,
                place: faults.optional("place", message.place.as_ref(), place),
                technicians: technicians(faults, &message.technician_ids),
                units: units(faults, &message.unit_ids),
                pulled_at: required_instant(faults, "pulled_time", message.pulled_time.as_ref())
                    .unwrap_or_default(),
                started_at: crate::time::optional_instant(faults, "started_time", started),
                minutes: message.minutes,
                pauses: faults.each("pauses", &message.pauses, pause),
            })
        })
    }
}

fn pause(
    faults: &mut FaultList,
    message: &v1::Pause,
) -> Option<(DateTime<Utc>, Option<DateTime<Utc>>)> {
    let from = required_instant(faults, "from_time", message.from_time.as_ref())?;
    let until = message.until_time.as_ref();
    Some((from, crate::time::optional_instant(faults, "until_time", until)))
}

fn technicians(faults: &mut FaultList, texts: &[String]) -> Vec<TechnicianId> {
    faults.names("technician_ids", texts, TechnicianId::new)
}

fn units(faults: &mut FaultList, texts: &[String]) -> Vec<UnitId> {
    faults.names("unit_ids", texts, UnitId::new)
}

impl From<&Unplanned> for v1::Unplanned {
    fn from(unplanned: &Unplanned) -> Self {
        Self {
            job_id: unplanned.job.to_string(),
            task_id: unplanned.task.as_ref().map(ToString::to_string).unwrap_or_default(),
            reasons: unplanned.reasons.clone(),
        }
    }
}

impl TryFrom<&v1::Unplanned> for Unplanned {
    type Error = Faults;

    fn try_from(message: &v1::Unplanned) -> Result<Self, Faults> {
        plain(|faults| {
            Some(Self {
                job: faults.name("job_id", &message.job_id, JobId::new)?,
                task: faults.name_or_none("task_id", &message.task_id, TaskId::new),
                reasons: message.reasons.clone(),
            })
        })
    }
}

impl From<&LateJob> for v1::LateJob {
    fn from(late: &LateJob) -> Self {
        let minutes = (late.finish - late.promise).num_minutes();
        Self {
            job_id: late.job.to_string(),
            finish_time: Some(timestamp(late.finish)),
            promise_time: Some(timestamp(late.promise)),
            late_minutes: u32::try_from(minutes).unwrap_or_default(),
        }
    }
}
