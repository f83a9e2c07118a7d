//! How everything stands after the first steps of a sequence: until when resources and places are taken, where
//! vehicles are, and what all will cost at least.

use super::Task;
use crate::planner::board::Standing;
use crate::planner::placement::finish_cost;
use crate::planner::problem::Job;
use crate::planner::shop::{JobFacts, Shop};

/// Where a job's vehicle is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Vehicle {
    pub(super) done: u64,
    pub(super) end: i64,
    pub(super) place: Option<usize>,
    paid: i64,
    /// The least minutes of the steps not done.
    left: i64,
    /// What the job costs at least.
    least: i64,
}

/// All that decides what follows.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct State {
    pub(super) resource_free: Vec<i64>,
    pub(super) place_free: Vec<i64>,
    /// Per place, the job that had it last.
    pub(super) place_last: Vec<usize>,
    pub(super) vehicles: Vec<Vehicle>,
    /// The ends of steps, job by job.
    ends: Vec<i64>,
    /// What all jobs cost at least, the makespan apart, and the earliest last finish.
    cost: i64,
    last: i64,
}

impl Clone for State {
    fn clone(&self) -> Self {
        let mut state = Self::default();
        state.clone_from(self);
        state
    }

    fn clone_from(&mut self, from: &Self) {
        self.resource_free.clone_from(&from.resource_free);
        self.place_free.clone_from(&from.place_free);
        self.place_last.clone_from(&from.place_last);
        self.vehicles.clone_from(&from.vehicles);
        self.ends.clone_from(&from.ends);
        self.cost = from.cost;
        self.last = from.last;
    }
}

impl State {
    /// Before the first step. `apart` is what the jobs cost that are not in the sequence, and the last finish of those
    /// that are planned.
    pub(super) fn at_first(shop: &Shop<'_>, standing: &[Standing], apart: (i64, i64)) -> Self {
        let problem = shop.problem;
        let holds = held_until(shop);
        let mut state = Self {
            resource_free: vec![problem.now; shop.free.len()],
            place_free: holds.iter().map(|(until, _)| problem.now.max(*until)).collect(),
            place_last: holds.iter().map(|(_, job)| *job).collect(),
            vehicles: Vec::with_capacity(problem.jobs.len()),
            ends: Vec::new(),
            cost: apart.0,
            last: apart.1,
        };
        for ((job, facts), standing) in problem.jobs.iter().zip(&shop.jobs).zip(standing) {
            let mut vehicle = vehicle_at_first(problem.now, job, facts);
            let takes_part = matches!(standing, Standing::Placed(_))
                && job.steps.iter().any(|step| !step.is_fixed());
            if takes_part {
                let finish = vehicle.end + vehicle.left;
                vehicle.least = vehicle.paid + finish_cost(problem.cost, job, finish);
                state.cost += vehicle.least;
                state.last = state.last.max(finish);
            }
            state.vehicles.push(vehicle);
            let from = state.ends.len();
            state.ends.resize(from + job.steps.len(), 0);
            for placed in facts.begun.iter().flat_map(|begun| &begun.steps) {
                state.ends[from + placed.step] = placed.end;
            }
        }
        state
    }

    /// What everything costs at least; what it does once all steps stand.
    pub(super) fn total(&self, shop: &Shop<'_>) -> i64 {
        self.cost + shop.problem.cost.makespan * self.last
    }

    pub(super) fn end(&self, shop: &Shop<'_>, job: usize, step: usize) -> i64 {
        self.ends[shop.jobs[job].first_step + step]
    }

    /// Lets a task stand from a start on; gives finish and cost of its job where it is the last one.
    pub(super) fn stand(
        &mut self,
        shop: &Shop<'_>,
        task: Task,
        start: i64,
        uses: &[usize],
    ) -> Option<(i64, i64)> {
        let (job, facts) = (&shop.problem.jobs[task.job], &shop.jobs[task.job]);
        let cost = shop.problem.cost;
        let spec = &job.steps[task.step];
        let option = &spec.options[task.option];
        let end = start + option.minutes;
        for used in uses {
            self.resource_free[*used] = end;
        }
        if let Some(place) = option.place {
            for held in std::iter::once(&place).chain(&shop.clashing[place]) {
                self.place_free[*held] = self.place_free[*held].max(end);
                self.place_last[*held] = task.job;
            }
        }
        self.ends[facts.first_step + task.step] = end;
        let vehicle = &mut self.vehicles[task.job];
        if vehicle.done != 0 && vehicle.place != option.place {
            vehicle.paid += cost.place_change;
        }
        if spec.differs(start, task.option, uses) {
            vehicle.paid += cost.change;
        }
        vehicle.done |= 1 << task.step;
        vehicle.end = end;
        vehicle.place = option.place;
        vehicle.left -= facts.least_minutes[task.step];
        let finish = end + vehicle.left;
        let least = vehicle.paid + finish_cost(cost, job, finish);
        self.cost += least - vehicle.least;
        vehicle.least = least;
        self.last = self.last.max(finish);
        (vehicle.done.count_ones() as usize == job.steps.len()).then_some((finish, least))
    }
}

fn vehicle_at_first(now: i64, job: &Job, facts: &JobFacts) -> Vehicle {
    let open = job.steps.iter().zip(&facts.least_minutes).filter(|(step, _)| !step.is_fixed());
    let left = open.map(|(_, minutes)| minutes).sum();
    let fresh =
        Vehicle { done: 0, end: job.release.max(now), place: None, paid: 0, left, least: 0 };
    facts.begun.as_ref().map_or(fresh, |begun| Vehicle {
        done: begun.done,
        end: begun.end,
        place: begun.place,
        paid: begun.paid,
        ..fresh
    })
}

/// Per place, until when fixed steps hold it or what clashes with it, and which job does so last.
fn held_until(shop: &Shop<'_>) -> Vec<(i64, usize)> {
    let mut until = vec![(i64::MIN, usize::MAX); shop.held.len()];
    for (job, hold) in shop.held.iter().flatten() {
        for place in std::iter::once(&hold.place).chain(&shop.clashing[hold.place]) {
            let last = &mut until[*place];
            *last = (*last).max((hold.span.end, *job));
        }
    }
    until
}
