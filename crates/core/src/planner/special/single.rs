//! One machine and jobs of a single step: the order of the jobs is all there is to decide.
//!
//! Whatever the jobs stand at or use, it is the same for all of them, open from the first start to the
//! last possible end, and no step is fixed, has a start window or a price for a change. Costs only
//! grow with the finish, so the machine never waits: a plan is an order, run through without a pause.

mod dynasearch;
mod walk;

pub(super) use walk::Walk;

use super::common_start;
use crate::planner::board::Standing;
use crate::planner::limits::COST_MAX;
use crate::planner::placement::{Placed, Placement};
use crate::planner::problem::{Problem, StepOption};

/// The most jobs of a problem that is searched this way.
const JOBS_MAX: usize = 500;

/// What is known of one machine's work, by job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Single {
    pub(super) tasks: Vec<Task>,
    /// When the machine begins.
    start: i64,
    /// What each minute of a finish costs, for every job.
    finish: i64,
    /// What the last finish costs, which is the same in every order.
    pub(super) last_finish: i64,
}

/// One job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Task {
    pub(super) minutes: i64,
    pub(super) due: i64,
    /// What each minute past the due date costs.
    pub(super) late: i64,
}

impl Single {
    /// Reads one machine's work out of a problem; none where the problem is another one.
    pub(super) fn of(problem: &Problem) -> Option<Self> {
        if !(2..=JOBS_MAX).contains(&problem.jobs.len()) {
            return None;
        }
        let start = common_start(problem)?;
        let mut first: Option<&StepOption> = None;
        let mut tasks = Vec::with_capacity(problem.jobs.len());
        for job in &problem.jobs {
            let [step] = job.steps.as_slice() else { return None };
            let [option] = step.options.as_slice() else { return None };
            let same = first.is_none_or(|f| f.place == option.place && f.needs == option.needs);
            let held = option.place.is_some() || !option.needs.is_empty();
            if !same || !held || option.needs.iter().any(|group| group.len() != 1) {
                return None;
            }
            first = Some(option);
            let late = job.due.map_or(0, |_| problem.cost.lateness * job.weight);
            tasks.push(Task { minutes: option.minutes, due: job.due.unwrap_or(0), late });
        }
        let end = start + tasks.iter().map(|task| task.minutes).sum::<i64>();
        let first = first?;
        let place = first.place.map(|place| &problem.places[place]);
        let used = first.needs.iter().flatten().map(|used| &problem.resources[*used]);
        let open = place.into_iter().chain(used).all(|unit| super::is_open(unit, start, end));
        let cost = problem.cost;
        let last_finish = cost.makespan * end.max(0);
        let found = Self { tasks, start, finish: cost.finish, last_finish };
        (open && end <= problem.horizon).then_some(found)
    }

    /// What a job costs that ends at a minute.
    fn cost(&self, job: usize, end: i64) -> i64 {
        let task = self.tasks[job];
        task.late * (end - task.due).max(0) + self.finish * end
    }

    /// What an order of all jobs costs, the makespan apart.
    fn cost_of(&self, order: &[usize]) -> i64 {
        let mut at = self.start;
        let mut total = 0;
        for job in order {
            at += self.tasks[*job].minutes;
            total += self.cost(*job, at);
        }
        total
    }

    /// How the jobs stand that are done in an order.
    pub(super) fn standing(&self, problem: &Problem, order: &[usize]) -> Vec<Standing> {
        let mut out = vec![Standing::Missing; order.len()];
        let mut at = self.start;
        for job in order {
            let (start, end) = (at, at + self.tasks[*job].minutes);
            let spec = &problem.jobs[*job];
            let uses = spec.steps[0].options[0].needs.iter().flatten().copied().collect();
            let placed = Placed { step: 0, option: 0, start, end, uses };
            out[*job] = Standing::Placed(Placement::new(problem.cost, spec, vec![placed]));
            at = end;
        }
        out
    }
}

/// Costs of a whole order stay below this, as the problem was checked.
const _: () = assert!(COST_MAX < i64::MAX / 2);

#[cfg(test)]
mod tests;
