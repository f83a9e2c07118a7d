//! The promises that could be made for one estimate: the earliest that makes nobody late, and earlier
//! ones with their price.

use super::trial::leaves_at;
use super::{OfferAsked, OfferError, PricedPromise, Promise, move_minutes, others};
use crate::demand::TaskKind;
use crate::ids::{JobId, TaskId};
use crate::planner::newcomer::{AfterWork, Newcomer, NoRoom, Room};
use crate::planner::{Plan, SolveError};
use crate::shop_day::{Assignment, DAYS_MAX, DayError, LateJob, ShopDay, ShopState};
use crate::work::{Job, TaskState};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// Promises are given in steps of so many minutes.
const PROMISE_STEP_MINUTES: i64 = 15;
/// The most promises for which others are moved until the earliest stands.
const ATTEMPTS_MAX: usize = 6;
/// The most promises with a price.
const PRICED_MAX: i64 = 3;

/// What was found for a trial job.
pub(super) struct Found {
    /// The promise, or why there is none, a sentence each.
    pub(super) promise: Result<Promise, Vec<String>>,
    /// Who would do what where when for it.
    pub(super) reserved: Vec<Assignment>,
    /// Promises with a price, the earliest first.
    pub(super) priced: Vec<PricedPromise>,
}

impl Found {
    /// No promise, for these reasons.
    pub(super) fn nothing(reasons: Vec<String>) -> Self {
        Self { promise: Err(reasons), reserved: Vec::new(), priced: Vec::new() }
    }
}

/// Plans the others, then looks for promises of the trial job.
pub(super) fn found(asked: &OfferAsked<'_>, mut trial: Job) -> Result<Found, OfferError> {
    let state = asked.state;
    let mut jobs = others(asked);
    let days = TimeDelta::days(state.days.clamp(1, DAYS_MAX).into());
    (trial.promise_at, trial.weight) = (state.now + days, 1);
    jobs.push(trial.clone());
    let state = ShopState { jobs: &jobs, ..state };
    let mut begun_only: BTreeSet<JobId> = BTreeSet::new();
    loop {
        let day = ShopDay::new(&state, &begun_only).map_err(OfferError::Day)?;
        let reasons = unplanned(&trial, &day);
        if !reasons.is_empty() {
            return Ok(Found::nothing(reasons));
        }
        let after_work = after_work(&jobs);
        let newcomer = Newcomer::new(day.problem(), trial.id.as_str(), &after_work, asked.effort);
        let stuck = match newcomer {
            None => return Ok(Found::nothing(vec![no_room()])),
            Some(Ok(newcomer)) => {
                let without = day.ends(&newcomer.without());
                let menu = Menu { state, trial: &trial, day: &day, newcomer, without };
                return Ok(menu.answer(asked.promised));
            }
            Some(Err(NoRoom { jobs })) => jobs,
        };
        // As for a plan: what has begun and cannot finish gives up its unbegun steps.
        let before = begun_only.len();
        begun_only.extend(stuck.iter().filter_map(|id| JobId::new(id.clone()).ok()));
        if begun_only.len() == before {
            let error = SolveError::NoPlanFound { jobs: stuck, epochs: asked.effort.plan_epochs };
            return Err(OfferError::Day(DayError::Solve(error)));
        }
    }
}

fn no_room() -> String {
    "Not every task fits into the days planned.".to_owned()
}

/// Why tasks of the trial job cannot be planned.
fn unplanned(trial: &Job, day: &ShopDay) -> Vec<String> {
    let mut reasons = Vec::new();
    for one in day.unplanned().iter().filter(|one| one.job == trial.id) {
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
    reasons
}

/// How long a vehicle may not be driven after its glass.
fn after_work(jobs: &[Job]) -> AfterWork {
    let tasks = jobs.iter().flat_map(|job| job.tasks.iter().map(move |task| (job, task)));
    let glass = tasks.filter(|(_, task)| {
        task.kind == TaskKind::Glass && (task.state == TaskState::Open || task.state.is_held())
    });
    let minutes = glass.filter_map(|(job, task)| {
        let driven = task.planned_cure?.driven();
        Some(((job.id.to_string(), task.id.to_string()), i64::from(driven)))
    });
    minutes.collect()
}

/// When each task ends, by job.
type Ends = BTreeMap<String, Vec<(String, DateTime<Utc>)>>;

struct Menu<'m> {
    state: ShopState<'m>,
    trial: &'m Job,
    day: &'m ShopDay,
    newcomer: Newcomer<'m>,
    /// How the others end without the trial job.
    without: Ends,
}

/// A plan with the trial job, as the shop reads it.
struct Seen {
    room: Room,
    promise: Promise,
    late: Vec<LateJob>,
}

impl Seen {
    /// Whether nobody becomes late.
    fn keeps(&self) -> bool {
        self.late.is_empty()
    }
}

impl Menu<'_> {
    fn answer(&self, promised: Option<DateTime<Utc>>) -> Found {
        if let Some(promised) = promised {
            return self.as_promised(promised);
        }
        let Some(alone) = self.newcomer.alone() else { return Found::nothing(vec![no_room()]) };
        let first = self.promise_of(self.day.instant(alone));
        let kept = self.earliest(first);
        let (better, priced) =
            self.priced(first, kept.as_ref().map(|seen| seen.promise.promise_at));
        match better.or(kept) {
            Some(seen) => Found { priced, ..self.told(seen.promise, seen.room.plan) },
            None => Found { priced, ..Found::nothing(self.why_none()) },
        }
    }

    /// Whether a promise can be kept.
    fn as_promised(&self, promised: DateTime<Utc>) -> Found {
        let by = self.day.minute(promised - self.to_the_door());
        let kept = self.newcomer.keeping_promises(by).map(|room| self.seen(room));
        if let Some(seen) = kept.filter(Seen::keeps) {
            let promise = Promise { promise_at: promised, ..seen.promise };
            return self.told(promise, seen.room.plan);
        }
        let alone = self.newcomer.alone().map(|alone| self.promise_of(self.day.instant(alone)));
        let Some(seen) = alone.and_then(|first| self.earliest(first)) else {
            return Found::nothing(self.why_none());
        };
        if seen.promise.promise_at <= promised {
            return self.told(Promise { promise_at: promised, ..seen.promise }, seen.room.plan);
        }
        let zone = self.state.shop.parts().shop.parts().hours.zone();
        let local = |at| zone.local(at).format("%Y-%m-%d %H:%M");
        Found::nothing(vec![format!(
            "The vehicle could be handed back at {}, after the promise {}.",
            local(seen.promise.promise_at),
            local(promised)
        )])
    }

    /// The earliest promise found that makes nobody late; none is before `first`.
    fn earliest(&self, first: DateTime<Utc>) -> Option<Seen> {
        let horizon = self.day.problem().horizon();
        let last = self.newcomer.as_they_stand(None);
        let last = last.or_else(|| self.newcomer.keeping_promises(horizon));
        let mut best = last.map(|room| self.seen(room)).filter(Seen::keeps)?;
        let mut without = -1;
        for _ in 0..ATTEMPTS_MAX {
            let with = steps_between(first, best.promise.promise_at);
            if without + 1 >= with {
                break;
            }
            let middle = without + (with - without) / 2;
            let by = self.by(first, middle);
            let kept = self.newcomer.keeping_promises(by).map(|room| self.seen(room));
            match kept.filter(Seen::keeps) {
                Some(seen) => best = seen,
                None => without = middle,
            }
        }
        Some(best)
    }

    /// Earlier promises than `kept`, from `first` on, each cheaper than the one before; and one that turned
    /// out to make nobody late.
    fn priced(
        &self,
        first: DateTime<Utc>,
        kept: Option<DateTime<Utc>>,
    ) -> (Option<Seen>, Vec<PricedPromise>) {
        let horizon = self.day.instant(self.day.problem().horizon()) + self.to_the_door();
        let count = steps_between(first, kept.unwrap_or(horizon));
        let mut priced: Vec<PricedPromise> = Vec::new();
        let mut tried = BTreeSet::new();
        for part in 0..PRICED_MAX {
            let step = count * part / PRICED_MAX;
            if step >= count || !tried.insert(step) {
                continue;
            }
            let room = self.newcomer.at_any_price(self.by(first, step));
            let Some(seen) = room.map(|room| self.seen(room)) else { continue };
            if kept.is_some_and(|kept| seen.promise.promise_at >= kept) {
                continue;
            }
            if seen.keeps() {
                return (Some(seen), priced);
            }
            if priced.last().is_none_or(|dearer| seen.room.price < dearer.price) {
                let Seen { room, promise, late } = seen;
                priced.push(PricedPromise { promise, price: room.price, late });
            }
        }
        (None, priced)
    }

    /// Why no promise can be kept without making another late.
    fn why_none(&self) -> Vec<String> {
        let horizon = self.day.problem().horizon();
        let late = self.newcomer.at_any_price(horizon).map_or_else(Vec::new, |room| {
            let late = self.seen(room).late;
            late.iter()
                .map(|late| format!("Job {} would finish after its promise.", late.job))
                .collect()
        });
        if late.is_empty() { vec![no_room()] } else { late }
    }

    /// The minute by which the work is done for the promise `steps` after `first`.
    fn by(&self, first: DateTime<Utc>, steps: i64) -> i64 {
        let promise = first + TimeDelta::minutes(PROMISE_STEP_MINUTES * steps);
        self.day.minute(promise - self.to_the_door())
    }

    fn to_the_door(&self) -> TimeDelta {
        move_minutes(self.state.shop)
    }

    fn promise_of(&self, finish: DateTime<Utc>) -> DateTime<Utc> {
        step_up(finish + self.to_the_door())
    }

    fn seen(&self, room: Room) -> Seen {
        let ends = self.day.ends(&room.plan);
        let finish_at = finish(self.trial, &ends).unwrap_or_else(|| self.day.instant(room.finish));
        let promise = Promise { promise_at: self.promise_of(finish_at), finish_at };
        let late = self.state.jobs.iter().filter(|job| job.id != self.trial.id).filter_map(|job| {
            let kept = |ends| finish(job, ends).filter(|at| *at <= job.promise_at);
            kept(&self.without)?;
            let finish = finish(job, &ends)?;
            let promise = job.promise_at;
            (finish > promise).then(|| LateJob { job: job.id.clone(), finish, promise })
        });
        let late = late.collect();
        Seen { room, promise, late }
    }

    fn told(&self, promise: Promise, plan: Plan) -> Found {
        let planned = self.day.clone().read(&self.state, plan);
        let reserved = planned.assignments.into_iter().filter(|one| one.job == self.trial.id);
        Found { promise: Ok(promise), reserved: reserved.collect(), priced: Vec::new() }
    }
}

/// When the vehicle could leave; none while none of its tasks is planned.
fn finish(job: &Job, ends: &Ends) -> Option<DateTime<Utc>> {
    let of_job = ends.get(job.id.as_str())?;
    let end = of_job.iter().map(|(_, end)| *end).max()?;
    let of_task =
        |task: &TaskId| of_job.iter().find(|(id, _)| id == task.as_str()).map(|(_, end)| *end);
    Some(leaves_at(job, end, of_task))
}

/// How many steps of promises lie between two of them.
fn steps_between(first: DateTime<Utc>, last: DateTime<Utc>) -> i64 {
    (last - first).num_minutes().div_euclid(PROMISE_STEP_MINUTES)
}

/// The next quarter of an hour at or after `at`.
pub(super) fn step_up(at: DateTime<Utc>) -> DateTime<Utc> {
    let step = PROMISE_STEP_MINUTES * 60;
    let whole = at.timestamp() + i64::from(at.timestamp_subsec_nanos() > 0);
    let seconds = -((-whole).div_euclid(step)) * step;
    DateTime::from_timestamp(seconds, 0).unwrap_or(at)
}
