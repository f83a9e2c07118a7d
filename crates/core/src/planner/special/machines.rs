//! A shop of machines: every job is a chain of steps, each on one machine out of those that can do it, and
//! nothing else is held (the job shop, and the flexible job shop where there is a choice).
//!
//! No step is fixed, has a place or a start window, the machines are open from the first start to the
//! last possible end, and every job must be planned. Costs only grow with the finishes, so a plan is the
//! order of the steps on each machine, every step as early as that allows.

mod annealing;
mod bound;
mod chains;
mod line;
mod pool;
mod removal;
mod sequence;
mod start;
mod tabu;
mod worker;

pub(super) use worker::Worker;

use crate::planner::board::Standing;
use crate::planner::bound::certificate::SharedWork;
use crate::planner::placement::{Placed, Placement};
use crate::planner::problem::{Job, Problem, Step};
use chains::Chains;

/// The most steps of a problem that is searched this way.
const STEPS_MAX: usize = 1_000;
/// The most jobs whose lateness is searched this way.
const LATE_JOBS_MAX: usize = 100;

/// The work of a shop, by step; the steps of a job follow each other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Machines {
    /// By step: the machines that can do it.
    choices: Vec<Vec<Choice>>,
    /// By step: the earliest start.
    release: Vec<i32>,
    /// By step: its job.
    job: Vec<usize>,
    /// By job: its last step.
    last: Vec<usize>,
    machine_count: usize,
    goal: Goal,
    chains: Chains,
}

/// A machine that can do a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Choice {
    machine: usize,
    minutes: i32,
    option: usize,
}

/// What the finishes cost.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Goal {
    /// Each minute of the last finish.
    makespan: i64,
    /// By job, where single finishes cost: due date and what a minute past it costs.
    jobs: Vec<(i32, i64)>,
    /// Each minute of any finish.
    finish: i64,
}

impl Machines {
    /// Reads a shop of machines out of a problem; none where the problem is another one.
    pub(super) fn of(problem: &Problem) -> Option<Self> {
        let steps: usize = problem.jobs.iter().map(|job| job.steps.len()).sum();
        let jobs = &problem.jobs;
        let left_out = jobs.iter().any(|job| job.leave_out_cost.is_some());
        if !(2..=STEPS_MAX).contains(&steps) || left_out || !super::is_untied(problem) {
            return None;
        }
        let mut shop = Self {
            choices: Vec::with_capacity(steps),
            release: Vec::with_capacity(steps),
            job: Vec::with_capacity(steps),
            last: Vec::with_capacity(jobs.len()),
            machine_count: problem.resources.len(),
            goal: Goal::of(problem)?,
            chains: Chains::default(),
        };
        for (index, job) in jobs.iter().enumerate() {
            if !is_chain(job) {
                return None;
            }
            for step in &job.steps {
                shop.choices.push(choices(step)?);
                let earliest = problem.now.max(job.release).max(step.release);
                shop.release.push(i32::try_from(earliest).ok()?);
                shop.job.push(index);
            }
            shop.last.push(shop.job.len() - 1);
        }
        shop.chains = Chains::of(&shop);
        shop.is_always_open(problem).then_some(shop)
    }

    /// Whether no machine closes before the last end that steps as early as possible can have: work
    /// never stops between the last release and the end.
    fn is_always_open(&self, problem: &Problem) -> bool {
        let longest = |choices: &Vec<Choice>| {
            choices.iter().map(|choice| i64::from(choice.minutes)).max().unwrap_or(0)
        };
        let first = i64::from(self.release.iter().copied().min().unwrap_or(0));
        let latest = i64::from(self.release.iter().copied().max().unwrap_or(0));
        let end = latest + self.choices.iter().map(longest).sum::<i64>();
        let mut used = vec![false; self.machine_count];
        self.choices.iter().flatten().for_each(|choice| used[choice.machine] = true);
        let units = problem.resources.iter().zip(used).filter(|(_, used)| *used);
        end <= problem.horizon
            && units.into_iter().all(|(unit, _)| super::is_open(unit, first, end))
    }

    /// How many steps there are.
    fn count(&self) -> usize {
        self.job.len()
    }

    /// The step before it in its job.
    fn before(&self, step: usize) -> Option<usize> {
        step.checked_sub(1).filter(|before| self.job[*before] == self.job[step])
    }

    /// The step after it in its job.
    fn after(&self, step: usize) -> Option<usize> {
        Some(step + 1).filter(|after| self.job.get(*after) == Some(&self.job[step]))
    }

    /// What the finishes cost, by the end of each step.
    fn cost_of_ends(&self, end: &[i32]) -> i64 {
        self.goal.cost(self.last.iter().map(|last| end[*last]))
    }

    /// How the jobs stand when every step starts at a minute with one of its choices.
    pub(super) fn standing(&self, problem: &Problem, plan: &[(i32, usize)]) -> Vec<Standing> {
        let mut from = 0;
        let mut out = Vec::with_capacity(problem.jobs.len());
        for job in &problem.jobs {
            let steps = plan[from..from + job.steps.len()].iter().enumerate();
            let placed = steps.map(|(step, (start, choice))| {
                let choice = self.choices[from + step][*choice];
                let start = i64::from(*start);
                let end = start + i64::from(choice.minutes);
                Placed { step, option: choice.option, start, end, uses: vec![choice.machine] }
            });
            out.push(Standing::Placed(Placement::new(problem.cost, job, placed.collect())));
            from += job.steps.len();
        }
        out
    }

    /// No plan has its last finish earlier.
    pub(super) fn last_finish(&self) -> i64 {
        i64::from(bound::last_finish(self))
    }

    /// Work that shows that no plan has its last finish before a minute.
    pub(super) fn busiest(&self, problem: &Problem, last: i64) -> Option<SharedWork> {
        let (machines, steps) = bound::busiest(self, i32::try_from(last).ok()?)?;
        let id = |machine: usize| problem.resources[machine].id.clone();
        let first = |job: usize| self.job.partition_point(|other| *other < job);
        let step = |step: usize| [self.job[step], step - first(self.job[step])];
        Some(SharedWork {
            resources: machines.into_iter().map(id).collect(),
            steps: steps.into_iter().map(step).collect(),
        })
    }
}

impl Goal {
    /// None where there are too many jobs whose own finishes count, or where nothing costs.
    fn of(problem: &Problem) -> Option<Self> {
        let cost = problem.cost;
        let late = |job: &Job| job.due.map_or(0, |_| cost.lateness * job.weight);
        let single = cost.finish > 0 || problem.jobs.iter().any(|job| late(job) > 0);
        if single && problem.jobs.len() > LATE_JOBS_MAX || !single && cost.makespan == 0 {
            return None;
        }
        let mut jobs = Vec::new();
        if single {
            for job in &problem.jobs {
                jobs.push((i32::try_from(job.due.unwrap_or(0)).ok()?, late(job)));
            }
        }
        Some(Self { makespan: cost.makespan, jobs, finish: cost.finish })
    }

    /// How many finishes are told apart: each job's, or the last of all only.
    fn lanes(&self) -> usize {
        self.jobs.len().max(1)
    }

    /// What the finishes cost, by lane.
    fn cost(&self, finishes: impl Iterator<Item = i32>) -> i64 {
        let mut last = 0;
        let mut total = 0;
        for (lane, finish) in finishes.enumerate() {
            last = last.max(finish);
            if let Some(job) = self.jobs.get(lane) {
                total += self.cost_of_finish(*job, finish);
            }
        }
        total + self.makespan * i64::from(last)
    }

    /// What a job costs that finishes at a minute, the last finish of all apart.
    fn cost_of_finish(&self, (due, late): (i32, i64), finish: i32) -> i64 {
        late * i64::from((finish - due).max(0)) + self.finish * i64::from(finish)
    }

    /// What a job costs that finishes at a minute, and the last one for the last finish too.
    fn cost_of_job(&self, job: usize, finish: i32, last: i32) -> i64 {
        let last = if finish == last { self.makespan * i64::from(last) } else { 0 };
        self.cost_of_finish(self.jobs[job], finish) + last
    }
}

/// Whether the steps of a job follow each other as listed, without waits.
fn is_chain(job: &Job) -> bool {
    let after = |at: usize| at.checked_sub(1).map(|before| (before, 0));
    job.steps.iter().enumerate().all(|(at, step)| step.after.iter().copied().eq(after(at)))
}

/// The machines that can do a step, each with its quickest option; none where it takes more than one
/// machine, or a place.
fn choices(step: &Step) -> Option<Vec<Choice>> {
    let mut out: Vec<Choice> = Vec::new();
    for (option, spec) in step.options.iter().enumerate() {
        let [group] = spec.needs.as_slice() else { return None };
        if spec.place.is_some() {
            return None;
        }
        let minutes = i32::try_from(spec.minutes).ok()?;
        for machine in group.iter().copied() {
            let choice = Choice { machine, minutes, option };
            match out.iter_mut().find(|other| other.machine == machine) {
                Some(other) if other.minutes > minutes => *other = choice,
                Some(_) => {}
                None => out.push(choice),
            }
        }
    }
    (!out.is_empty()).then_some(out)
}

#[cfg(test)]
mod tests;
