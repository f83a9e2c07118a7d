//! What can be promised for an estimate that is not taken: the earliest promise by a plan in which
//! every promise that could be kept without it is still kept.
//!
//! The others are planned as if the estimate were not there; then room is sought for a trial job made
//! from it, earlier and earlier, with others moved but none past its promise. The promise is the trial job's
//! planned finish and the minutes of a move, rounded up to a quarter of an hour. Earlier ones are
//! told with their price: what the others cost more, and who becomes late. The search is not proved to be
//! the best, so an earlier promise may exist; the one given is kept by a plan that keeps every rule.

mod menu;
mod trial;

#[cfg(test)]
mod tests;

use crate::demand::TaskKind;
use crate::ids::{ProcedureId, TaskId};
use crate::planner::newcomer::Effort;
use crate::readiness::{EstimateRefused, take_estimate};
use crate::shop::ShopDefinition;
use crate::shop_day::{Assignment, DayError, LateJob, ShopState};
use crate::work::{AskedWhen, Estimate, Job, OperationState, Task};
use chrono::{DateTime, TimeDelta, Utc};
use trial::accept_all;

/// An offer that is held: planned around as if it were accepted.
#[derive(Debug, Clone)]
pub struct HeldOffer {
    /// The estimate.
    pub estimate: Estimate,
    /// The promise offered.
    pub promise_at: DateTime<Utc>,
    /// Who would do what where when by the plan that the promise rests on.
    pub reserved: Vec<Assignment>,
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
    /// How hard to look.
    pub effort: Effort,
}

/// What a plan could keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Promise {
    /// The hand-back time: the promise asked for, or the earliest.
    pub promise_at: DateTime<Utc>,
    /// When the work ends by the plan and the vehicle may be driven.
    pub finish_at: DateTime<Utc>,
}

/// A promise that has its price.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PricedPromise {
    /// The promise.
    pub promise: Promise,
    /// By how much the other jobs cost more, in the shop's weights; less than 0 where the search found a
    /// better plan for them.
    pub price: i64,
    /// The jobs whose promises could be kept without it, and their finishes with it.
    pub late: Vec<LateJob>,
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
    /// Who would do what where when for it; empty where there is no promise.
    pub reserved: Vec<Assignment>,
    /// Earlier promises, or some where there is none without a price; the earliest first, each cheaper
    /// than the one before. Empty where a promise was asked for.
    pub priced: Vec<PricedPromise>,
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
    let found = if undecided.is_empty() {
        menu::found(asked, trial)?
    } else {
        menu::Found::nothing(undecided)
    };
    let menu::Found { promise, reserved, priced } = found;
    Ok(Offering { needs, assumptions, promise, reserved, priced })
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

fn move_minutes(shop: &ShopDefinition) -> TimeDelta {
    TimeDelta::minutes(shop.parts().shop.parts().weights.move_minutes.into())
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

/// Every other job as if what is proposed were accepted, and the held offers as jobs.
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
    }
    jobs
}

/// What is kept for offers that are held: as planned last for one that the plan knows already, else as it
/// was when the offer was made. A job that came in stands for its offer.
pub fn reserved_assignments(
    held: &[HeldOffer],
    planned: &[Assignment],
    known: &[Job],
) -> Vec<Assignment> {
    let mut kept: Vec<Assignment> = Vec::new();
    for offer in held {
        let id = &offer.estimate.parts().job;
        if known.iter().any(|job| job.id == *id) || kept.iter().any(|one| one.job == *id) {
            continue;
        }
        let of_offer = planned.iter().filter(|one| one.job == *id);
        let before = kept.len();
        kept.extend(of_offer.cloned());
        if kept.len() == before {
            kept.extend(offer.reserved.iter().cloned());
        }
    }
    kept
}
