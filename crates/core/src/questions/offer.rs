//! What can be promised for an estimate that is not taken: the earliest promise by a plan in which
//! every promise that could be kept without it is still kept.
//!
//! The day is planned twice: as it stands, and with a trial job made from the estimate that gives
//! way to all others. The promise is the trial job's planned finish and the minutes of a move,
//! rounded up to a quarter of an hour. The search is not proved to be the best, so an earlier
//! promise may exist; the one given is kept by a plan that keeps every rule.

mod trial;

#[cfg(test)]
mod tests;

use crate::demand::TaskKind;
use crate::ids::{ProcedureId, TaskId};
use crate::planner::SolveOptions;
use crate::readiness::{EstimateRefused, take_estimate};
use crate::shop::ShopDefinition;
use crate::shop_day::{DAYS_MAX, DayError, PlannedDay, ShopState, plan_day};
use crate::work::{AskedWhen, Estimate, Job, OperationState, Task, TaskState};
use chrono::{DateTime, TimeDelta, Utc};
use trial::{accept_all, leaves_at};

/// Promises are given in steps of so many minutes.
const PROMISE_STEP_MINUTES: i64 = 15;
/// How much more the promises of the shop's own jobs weigh than the trial job's.
const FIRST: u32 = 100;

/// An offer that is held: planned around as if it were accepted.
#[derive(Debug, Clone)]
pub struct HeldOffer {
    /// The estimate.
    pub estimate: Estimate,
    /// The promise offered.
    pub promise_at: DateTime<Utc>,
}

/// What is asked of [`offer`].
#[derive(Debug, Clone, Copy)]
pub struct OfferAsked<'a> {
    /// The shop as it stands.
    pub state: ShopState<'a>,
    /// The estimate; the shop has no such job.
    pub estimate: &'a Estimate,
    /// The other offers that are held.
    pub held: &'a [HeldOffer],
    /// The promise that is to be kept; none asks for the earliest.
    pub promised: Option<DateTime<Utc>>,
    /// How to search for the plans.
    pub options: SolveOptions,
}

/// What a plan could keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Promise {
    /// The hand-back time: the promise asked for, or the earliest.
    pub promise_at: DateTime<Utc>,
    /// When the work ends by the plan and the vehicle may be driven.
    pub finish_at: DateTime<Utc>,
}

/// The answer of [`offer`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offering {
    /// What the estimate calls for.
    pub needs: Vec<(TaskId, ProcedureId)>,
    /// What is taken for granted, a sentence each.
    pub assumptions: Vec<String>,
    /// The promise, or why there is none, a sentence each.
    pub promise: Result<Promise, Vec<String>>,
}

/// Why the question could not be answered.
#[derive(Debug, thiserror::Error)]
pub enum OfferError {
    /// The estimate cannot be taken.
    #[error("the estimate cannot be taken")]
    Estimate(#[source] EstimateRefused),
    /// The day cannot be planned.
    #[error("the day cannot be planned")]
    Day(#[source] DayError),
}

/// What can be promised for an estimate, by planning with it.
///
/// # Errors
/// [`OfferError`] when the estimate cannot be taken or the day cannot be planned at all.
pub fn offer(asked: &OfferAsked<'_>) -> Result<Offering, OfferError> {
    let shop = asked.state.shop;
    let mut trial =
        take_estimate(None, asked.estimate, shop, asked.state.now).map_err(OfferError::Estimate)?;
    let needs = trial.tasks.iter().map(|task| (task.id.clone(), task.procedure.clone())).collect();
    let (arrival, came_late) = arrival_of(&trial, asked.state.now);
    trial.expected_arrival_at = arrival;
    let taken_as_met = accept_all(&mut trial, asked.state.now);
    let assumptions = assumptions(&trial, came_late, &taken_as_met);
    let undecided = undecided(&trial);
    let promise = if undecided.is_empty() { planned(asked, trial)? } else { Err(undecided) };
    Ok(Offering { needs, assumptions, promise })
}

/// When the vehicle comes; one that should be here is taken to come at once.
fn arrival_of(job: &Job, now: DateTime<Utc>) -> (DateTime<Utc>, bool) {
    let at_once = now + TimeDelta::minutes(1);
    (job.expected_arrival_at.max(at_once), job.expected_arrival_at <= now)
}

fn assumptions(trial: &Job, came_late: bool, taken_as_met: &[String]) -> Vec<String> {
    let mut sentences = vec!["Every task that the call rules propose is accepted.".to_owned()];
    sentences.push(if came_late {
        "The vehicle comes at once; its expected arrival has passed.".to_owned()
    } else {
        "The vehicle comes at its expected arrival.".to_owned()
    });
    let met = |title: &String| {
        format!("{title}: met when the vehicle comes; nobody has given an expected time.")
    };
    sentences.extend(taken_as_met.iter().map(met));
    if trial.prerequisites.iter().any(|one| one.asked == AskedWhen::AtStart) {
        sentences.push("What is asked at the vehicle before a start is met.".to_owned());
    }
    sentences.push(
        "What is proposed for other jobs, and every other offer that is held, counts as accepted."
            .to_owned(),
    );
    sentences
}

/// Why no plan can tell when the vehicle could leave.
fn undecided(trial: &Job) -> Vec<String> {
    let mut reasons: Vec<String> = trial
        .operations
        .iter()
        .filter(|operation| operation.state == OperationState::NeedsDecision)
        .map(|operation| {
            format!(
                "Operation {} ({}) needs a decision: no call rule knows it for this vehicle.",
                operation.id, operation.code
            )
        })
        .collect();
    if trial.tasks.is_empty() && reasons.is_empty() {
        reasons.push("No call rule calls for anything that the shop does.".to_owned());
    }
    let uncured = |task: &&Task| task.kind == TaskKind::Glass && task.planned_cure.is_none();
    reasons.extend(trial.tasks.iter().filter(uncured).map(|task| {
        format!(
            "No minutes of the adhesive maker are stated for task {}, so nobody can say when the \
             vehicle may be driven.",
            task.id
        )
    }));
    reasons
}

fn planned(
    asked: &OfferAsked<'_>,
    mut trial: Job,
) -> Result<Result<Promise, Vec<String>>, OfferError> {
    let state = asked.state;
    let to_the_door = move_minutes(state.shop);
    let mut jobs = others(asked);
    let without = plan(asked, &ShopState { jobs: &jobs, ..state })?;
    let end_of_days = state.now + TimeDelta::days(state.days.clamp(1, DAYS_MAX).into());
    (trial.promise_at, trial.weight) = match asked.promised {
        Some(promised) => (promised - to_the_door, trial.weight.saturating_mul(FIRST)),
        None => (end_of_days, 1),
    };
    jobs.push(trial.clone());
    let previous = &without.assignments;
    let with = plan(asked, &ShopState { jobs: &jobs, previous, ..state })?;
    let mut reasons = unplanned(&trial, &with);
    for job in jobs.iter().filter(|job| job.id != trial.id) {
        reasons.extend(broken(job, &without, &with));
    }
    let Some(finish_at) = finish(&trial, &with).filter(|_| reasons.is_empty()) else {
        return Ok(Err(reasons));
    };
    let earliest = step_up(finish_at + to_the_door);
    Ok(match asked.promised {
        Some(promised) if promised < finish_at + to_the_door => {
            let zone = state.shop.parts().shop.parts().hours.zone();
            let local = |at| zone.local(at).format("%Y-%m-%d %H:%M");
            Err(vec![format!(
                "The vehicle could be handed back at {}, after the promise {}.",
                local(earliest),
                local(promised)
            )])
        }
        Some(promise_at) => Ok(Promise { promise_at, finish_at }),
        None => Ok(Promise { promise_at: earliest, finish_at }),
    })
}

fn move_minutes(shop: &ShopDefinition) -> TimeDelta {
    TimeDelta::minutes(shop.parts().shop.parts().weights.move_minutes.into())
}

fn plan(asked: &OfferAsked<'_>, state: &ShopState<'_>) -> Result<PlannedDay, OfferError> {
    plan_day(state, asked.options, &mut |_| false).map_err(OfferError::Day)
}

/// The jobs for which time is kept because an offer of them is held: accepted, and promised as
/// offered.
///
/// A job that came in after its offer stands for it, and of two offers for one visit the first. An
/// estimate that the shop can no longer take holds nothing.
pub fn reserved_jobs(
    held: &[HeldOffer],
    known: &[Job],
    shop: &ShopDefinition,
    now: DateTime<Utc>,
) -> Vec<Job> {
    let to_the_door = move_minutes(shop);
    let mut jobs: Vec<Job> = Vec::new();
    for offer in held {
        let id = &offer.estimate.parts().job;
        if known.iter().chain(&jobs).any(|job| job.id == *id) {
            continue;
        }
        let Ok(mut job) = take_estimate(None, &offer.estimate, shop, now) else {
            continue;
        };
        (job.expected_arrival_at, _) = arrival_of(&job, now);
        job.promise_at = offer.promise_at - to_the_door;
        accept_all(&mut job, now);
        jobs.push(job);
    }
    jobs
}

/// Every other job as if what is proposed were accepted, and the held offers as jobs; their promises
/// come first.
fn others(asked: &OfferAsked<'_>) -> Vec<Job> {
    let now = asked.state.now;
    let mut jobs = asked.state.jobs.to_vec();
    // Another offer for the same visit is no second visit.
    let own = &asked.estimate.parts().job;
    let held: Vec<_> =
        asked.held.iter().filter(|one| one.estimate.parts().job != *own).cloned().collect();
    let reserved = reserved_jobs(&held, &jobs, asked.state.shop, now);
    jobs.extend(reserved);
    for job in &mut jobs {
        accept_all(job, now);
        job.weight = job.weight.saturating_mul(FIRST);
    }
    jobs
}

/// When the vehicle could leave by the plan; none while none of its tasks is planned.
fn finish(job: &Job, day: &PlannedDay) -> Option<DateTime<Utc>> {
    let of_job = || day.assignments.iter().filter(|one| one.job == job.id);
    let end = of_job().map(|one| one.end).max()?;
    let ends = |task: &TaskId| of_job().find(|one| one.task == *task).map(|one| one.end);
    Some(leaves_at(job, end, ends))
}

/// Why tasks of the trial job are not in the plan.
fn unplanned(trial: &Job, day: &PlannedDay) -> Vec<String> {
    let mut reasons = Vec::new();
    for one in day.unplanned.iter().filter(|one| one.job == trial.id) {
        for reason in &one.reasons {
            let sentence = match &one.task {
                Some(task) => format!("Task {task}: {reason}"),
                None => reason.clone(),
            };
            if !reasons.contains(&sentence) {
                reasons.push(sentence);
            }
        }
    }
    let open = trial.tasks.iter().filter(|task| task.state == TaskState::Open).count();
    let planned = day.assignments.iter().filter(|one| one.job == trial.id).count();
    if reasons.is_empty() && planned < open {
        reasons.push("Not every task fits into the days planned.".to_owned());
    }
    reasons
}

/// What becomes of a promise that was kept without the trial job.
fn broken(job: &Job, without: &PlannedDay, with: &PlannedDay) -> Option<String> {
    let kept = |day: &PlannedDay| finish(job, day).is_some_and(|at| at <= job.promise_at);
    if !kept(without) {
        return None;
    }
    let count = |day: &PlannedDay| day.assignments.iter().filter(|one| one.job == job.id).count();
    if count(with) < count(without) {
        return Some(format!("Job {} would no longer fit into the days planned.", job.id));
    }
    (!kept(with)).then(|| format!("Job {} would finish after its promise.", job.id))
}

/// The next quarter of an hour at or after `at`.
fn step_up(at: DateTime<Utc>) -> DateTime<Utc> {
    let step = PROMISE_STEP_MINUTES * 60;
    let whole = at.timestamp() + i64::from(at.timestamp_subsec_nanos() > 0);
    let seconds = -((-whole).div_euclid(step)) * step;
    DateTime::from_timestamp(seconds, 0).unwrap_or(at)
}
