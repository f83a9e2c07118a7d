//! One simulated week: what waits and what comes, planned as the shop plans its days.

use super::arrivals::{Arrival, Arrivals};
use super::{ForecastAsked, ForecastError};
use crate::ids::{AccountId, BayId, JobId, TechnicianId};
use crate::planner::{self, PlannedJob, PlannedStep, Problem, ProblemDraft, Seeded, SolveOptions};
use crate::readiness::task_of_procedure;
use crate::run_times::BoundRuns;
use crate::shop_day::{DayError, ShopDay, ShopState, technician_of};
use crate::work::{ArrivalKind, Job, JobState, TaskState, Vehicle};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// Days of a week.
const DAYS: u32 = 7;
/// Epochs of the search for a week's plan.
const EPOCHS: u64 = 1;
/// Of what waits, only so many pieces are looked at in a week, the oldest promise first.
const WAITING_PLANNED_MAX: usize = 200;

/// A piece of work that waits for room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Waiting {
    work: usize,
    promise: DateTime<Utc>,
}

/// A week to be planned.
#[derive(Debug, Clone, Copy)]
pub(super) struct Week<'a> {
    pub(super) asked: &'a ForecastAsked<'a>,
    pub(super) start: DateTime<Utc>,
    pub(super) seed: u64,
}

/// What became of a week.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct WeekDone {
    /// Tasks that came and can be done here.
    pub(super) come: usize,
    /// Tasks done.
    pub(super) tasks: usize,
    /// Minutes of work on them.
    pub(super) minutes: i64,
    /// Jobs that finish after their promise.
    pub(super) late_jobs: usize,
    /// What waits for the next week.
    pub(super) waiting: Vec<Waiting>,
    bays: BTreeMap<BayId, i64>,
    technicians: BTreeMap<TechnicianId, i64>,
}

impl WeekDone {
    /// Minutes of work in a bay.
    pub(super) fn in_bay(&self, bay: &BayId) -> i64 {
        self.bays.get(bay).copied().unwrap_or(0)
    }

    /// Minutes that a technician works.
    pub(super) fn of_technician(&self, technician: &TechnicianId) -> i64 {
        self.technicians.get(technician).copied().unwrap_or(0)
    }
}

/// A job of the week.
struct Piece {
    /// Place in the mix.
    work: usize,
    /// Whether it comes in this week.
    fresh: bool,
    job: Job,
}

/// The kinds of work, by their place in the mix, that can be done in none of the weeks, with the reason.
pub(super) fn outside(asked: &ForecastAsked<'_>) -> Result<BTreeMap<usize, String>, ForecastError> {
    let mut possible = BTreeSet::new();
    let mut reasons: BTreeMap<usize, String> = BTreeMap::new();
    for index in 0..asked.weeks as usize {
        let start = super::week_start(asked, index);
        let week = Week { asked, start, seed: 0 };
        let promise = start + TimeDelta::weeks(1);
        let one_of_each =
            (0..asked.mix.len()).filter_map(|work| week.piece(work, work, promise, None));
        let pieces: Vec<Piece> = one_of_each.collect();
        let day = week.day(&pieces)?;
        for piece in pieces {
            let left = day.unplanned().iter().find(|left| left.job == piece.job.id);
            match left {
                Some(left) => {
                    reasons.entry(piece.work).or_insert_with(|| left.reasons.join(" "));
                }
                None => {
                    possible.insert(piece.work);
                }
            }
        }
    }
    for work in 0..asked.mix.len() {
        let unknown = || "The shop has no such procedure.".to_owned();
        reasons.entry(work).or_insert_with(unknown);
    }
    reasons.retain(|work, _| !possible.contains(work));
    Ok(reasons)
}

impl Week<'_> {
    /// Plans what waits and what comes, of the work that can be done here.
    pub(super) fn plan(
        &self,
        mut waiting: Vec<Waiting>,
        arrivals: Arrivals,
        random: &mut Seeded,
        outside: &BTreeMap<usize, String>,
    ) -> Result<WeekDone, ForecastError> {
        let promise = TimeDelta::hours(self.asked.promise_hours.into());
        waiting.sort_by_key(|one| (one.promise, one.work));
        let later = waiting.split_off(waiting.len().min(WAITING_PLANNED_MAX));
        let waited = waiting.into_iter().map(|one| (one.work, one.promise, None));
        let comes = arrivals.0.into_iter().filter(|one| !outside.contains_key(&one.work));
        let comes = comes.map(|Arrival { work, at }| (work, at + promise, Some(at)));
        let pieces: Vec<Piece> = waited
            .chain(comes)
            .enumerate()
            .filter_map(|(index, (work, promise, at))| self.piece(index, work, promise, at))
            .collect();
        let day = self.day(&pieces)?;
        let problem = self.with_drawn_minutes(&day, &pieces, random)?;
        let options = SolveOptions { seed: self.seed, threads: 1, epochs: Some(EPOCHS) };
        let plan = planner::solve(&problem, options, &mut |_| false).map_err(DayError::Solve)?;
        let mut done = self.done(&problem.to_draft(), &plan.jobs, &pieces);
        done.waiting.extend(later);
        Ok(done)
    }

    fn day(&self, pieces: &[Piece]) -> Result<ShopDay, ForecastError> {
        let jobs: Vec<Job> = pieces.iter().map(|piece| piece.job.clone()).collect();
        let state = ShopState {
            shop: self.asked.shop,
            jobs: &jobs,
            hosts: self.asked.hosts,
            clashes: self.asked.clashes,
            runs: &BoundRuns::default(),
            closed: &[],
            holds: &[],
            previous: &[],
            now: self.start,
            days: DAYS,
        };
        Ok(ShopDay::new(&state, &BTreeSet::new())?)
    }

    /// A job of one task.
    fn piece(
        &self,
        index: usize,
        work: usize,
        promise_at: DateTime<Utc>,
        arrival: Option<DateTime<Utc>>,
    ) -> Option<Piece> {
        let asked = &self.asked.mix[work];
        let procedure = self.asked.shop.procedure(&asked.procedure);
        let mut task = procedure.and_then(|known| task_of_procedure(self.asked.shop, known))?;
        task.state = TaskState::Open;
        let fresh = arrival.is_some();
        // At the very first instant a vehicle that is only expected would be overdue already.
        let arrival = arrival.filter(|at| *at > self.start);
        let job = Job {
            id: JobId::new(format!("work-{index}")).ok()?,
            account: AccountId::new("forecast").ok()?,
            repair_order: String::new(),
            vehicle: Vehicle { vin: None, class: asked.class.clone(), sensors: BTreeSet::new() },
            expected_arrival_at: arrival.unwrap_or(self.start),
            arrival: ArrivalKind::DropOff,
            promise_at,
            weight: 1,
            state: if arrival.is_some() { JobState::Expected } else { JobState::OnSite },
            arrived_at: None,
            handed_back_at: None,
            estimate_revision: 0,
            operations: Vec::new(),
            tasks: vec![task],
            prerequisites: Vec::new(),
            whereabouts: None,
            codes: Vec::new(),
            adhesives: Vec::new(),
            exceptions: Vec::new(),
            key_tag: String::new(),
            moved: None,
            cancellation: None,
        };
        Some(Piece { work, fresh, job })
    }

    /// The week's problem, with the minutes of each job drawn from the past where that is asked for.
    fn with_drawn_minutes(
        &self,
        day: &ShopDay,
        pieces: &[Piece],
        random: &mut Seeded,
    ) -> Result<Problem, ForecastError> {
        if !self.asked.use_past {
            return Ok(day.problem().clone());
        }
        let mut draft = day.problem().to_draft();
        for job in &mut draft.jobs {
            let Some(piece) = pieces.iter().find(|piece| piece.job.id.as_str() == job.id) else {
                continue;
            };
            let task = &piece.job.tasks[0];
            let Some(step) = job.steps.iter_mut().find(|step| step.id == task.id.as_str()) else {
                continue;
            };
            let mut drawn = BTreeMap::new();
            for (index, option) in step.options.iter_mut().enumerate() {
                let Some(method) = day.method_of(&job.id, &step.id, index) else { continue };
                let key = (task.procedure.clone(), method.clone());
                let minutes =
                    drawn.entry(key).or_insert_with_key(|key| self.asked.past.draw(key, random));
                option.minutes = minutes.map_or(option.minutes, i64::from);
            }
        }
        Problem::from_draft(draft).map_err(|faults| DayError::Problem(faults).into())
    }

    fn done(&self, problem: &ProblemDraft, planned: &[PlannedJob], pieces: &[Piece]) -> WeekDone {
        let come = pieces.iter().filter(|piece| piece.fresh).count();
        let mut done = WeekDone { come, ..WeekDone::default() };
        for piece in pieces {
            let id = piece.job.id.as_str();
            let task = piece.job.tasks[0].id.as_str();
            let steps = planned.iter().find(|job| job.id == id && !job.left_out);
            let step = steps.and_then(|job| job.steps.iter().find(|step| step.id == task));
            let Some((step, minutes, bay)) = step.and_then(|step| taken(problem, id, step)) else {
                let (work, promise) = (piece.work, piece.job.promise_at);
                done.waiting.push(Waiting { work, promise });
                continue;
            };
            done.tasks += 1;
            done.minutes += minutes;
            let end = self.start + TimeDelta::minutes(step.start + minutes);
            done.late_jobs += usize::from(end > piece.job.promise_at);
            if let Some(bay) = bay {
                *done.bays.entry(bay).or_insert(0) += minutes;
            }
            for technician in step.uses.iter().filter_map(|name| technician_of(name)) {
                *done.technicians.entry(technician).or_insert(0) += minutes;
            }
        }
        done
    }
}

/// A planned step with its minutes and the bay in which it is done.
fn taken<'p>(
    problem: &ProblemDraft,
    job: &str,
    step: &'p PlannedStep,
) -> Option<(&'p PlannedStep, i64, Option<BayId>)> {
    let spec = problem.jobs.iter().find(|one| one.id == job)?;
    let known = spec.steps.iter().find(|one| one.id == step.id)?;
    let option = known.options.get(step.option)?;
    // A place is named by its bay and its station; neither has a stroke.
    let bay = option.place.as_ref().and_then(|place| place.split_once('/'));
    Some((step, option.minutes, bay.and_then(|(bay, _)| BayId::new(bay).ok())))
}
