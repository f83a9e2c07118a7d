//! A plan as one sequence of steps, each with its option, from which all starts follow: every step starts
//! as early as those before it in the sequence allow. Moving a step to the front pushes all others later
//! by just so much, which putting whole jobs into gaps cannot do.
//!
//! Some jobs may float: they are not in the sequence, and each of their steps goes in as soon as it
//! can start, in whatever option ends first; so a whole job comes early and the others give way.
//! Source: the serial schedule generation scheme, Kolisch, "Serial and parallel resource-constrained
//! project scheduling methods revisited", European J. of Operational Research 90 (1996); here steps are only
//! ever added behind what stands, so that a step costs a few look-ups.

mod floating;
mod start;
mod state;

use crate::planner::board::Standing;
use crate::planner::placement::{Placed, Placement, left_out_cost};
use crate::planner::problem::{Job, Step};
use crate::planner::shop::{JobFacts, Shop};
pub(super) use floating::Float;
use state::State;
use std::ops::Range;

/// Needs with a pick, and the bits of one.
const PICKS: usize = 16;
const PICK_BITS: usize = 4;
/// The least number of steps from one state that is kept to the next.
const EVERY_MIN: usize = 8;

/// One step as it is to be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Task {
    pub(super) job: usize,
    pub(super) step: usize,
    pub(super) option: usize,
    /// Per need four bits: which of its resources to take where it is free, counted from 1.
    pub(super) picks: u64,
    /// Whether it waits for its start in the previous plan where it could start earlier.
    pub(super) keeps: bool,
}

impl Task {
    fn pick(self, need: usize) -> Option<usize> {
        let digit = if need < PICKS { self.picks >> (need * PICK_BITS) & 15 } else { 0 };
        usize::try_from(digit).ok()?.checked_sub(1)
    }

    /// Takes one of a need's resources from now on where it is free.
    pub(super) fn set_pick(&mut self, need: usize, member: usize) {
        if need < PICKS && member < 15 {
            let shift = need * PICK_BITS;
            self.picks = self.picks & !(15 << shift) | (member as u64 + 1) << shift;
        }
    }
}

/// All steps with their starts.
#[derive(Debug, Clone, Default)]
pub(super) struct Line {
    pub(super) tasks: Vec<Task>,
    pub(super) starts: Vec<i64>,
    pub(super) uses: Vec<Vec<usize>>,
    /// Per job its finish and cost, the makespan apart.
    pub(super) finishes: Vec<i64>,
    pub(super) costs: Vec<i64>,
}

/// The sequence and the memory to work out its starts.
#[derive(Debug, Clone)]
pub(super) struct Sequence {
    /// As last kept, and what it costs.
    pub(super) line: Line,
    cost: i64,
    /// From where on steps may start later than the sequence lets them, since their job floated.
    loose: usize,
    /// As last worked out, from and up to a position; what is not in between is as in the line.
    trial: Line,
    worked_out: Range<usize>,
    trial_cost: i64,
    trial_loose: usize,
    /// How all stood before every so manieth step, in the line and in the trial.
    states: Vec<State>,
    trial_states: Vec<State>,
    every: usize,
    state: State,
    /// Per place, the job that is to stay there.
    reserved: Vec<usize>,
    /// Per position, where the job's next step stands; per job, scratch for that.
    next_place: Vec<Option<usize>>,
    last_seen: Vec<Option<usize>>,
}

impl Sequence {
    /// The jobs that stand, in the order of their steps' starts; none where a job is missing, or a step may come
    /// before a fixed one.
    pub(super) fn new(shop: &Shop<'_>, standing: &[Standing]) -> Option<Self> {
        let jobs = &shop.problem.jobs;
        let apart_of = |job: &Job| job.steps.iter().all(Step::is_fixed);
        let mixed = |(job, facts): (&Job, &JobFacts)| {
            job.has_fixed() && facts.begun.is_none() && !apart_of(job)
        };
        if jobs.iter().zip(&shop.jobs).any(mixed) {
            return None;
        }
        let (mut apart, mut apart_last) = (0, 0);
        let mut tasks = Vec::new();
        for (job, standing) in standing.iter().enumerate() {
            match standing {
                Standing::Missing => return None,
                Standing::LeftOut => apart += left_out_cost(shop.problem.cost, &jobs[job])?,
                Standing::Placed(placement) if apart_of(&jobs[job]) => {
                    apart += placement.cost;
                    apart_last = apart_last.max(placement.finish);
                }
                Standing::Placed(placement) => tasks.extend(open_tasks(job, &jobs[job], placement)),
            }
        }
        tasks.sort_by_key(|(start, task)| (*start, task.job));
        let tasks: Vec<Task> = tasks.into_iter().map(|(_, task)| task).collect();
        let count = tasks.len();
        let line = Line {
            tasks,
            starts: vec![0; count],
            uses: vec![Vec::new(); count],
            finishes: vec![0; jobs.len()],
            costs: vec![0; jobs.len()],
        };
        let first = State::at_first(shop, standing, (apart, apart_last));
        let every = EVERY_MIN.max(jobs.len() / 3);
        let states = vec![first.clone(); count / every + 1];
        Some(Self {
            trial: line.clone(),
            line,
            cost: i64::MAX,
            loose: 0,
            worked_out: 0..0,
            trial_cost: i64::MAX,
            trial_loose: 0,
            trial_states: states.clone(),
            states,
            every,
            state: first,
            reserved: vec![usize::MAX; shop.held.len()],
            next_place: Vec::new(),
            last_seen: Vec::new(),
        })
    }

    /// Keeps what was last worked out.
    pub(super) fn keep(&mut self) {
        let Range { start, end } = self.worked_out.clone();
        let (line, trial) = (&mut self.line, &mut self.trial);
        line.tasks[start..end].copy_from_slice(&trial.tasks[start..end]);
        line.starts[start..end].copy_from_slice(&trial.starts[start..end]);
        line.uses[start..end].swap_with_slice(&mut trial.uses[start..end]);
        line.finishes.copy_from_slice(&trial.finishes);
        line.costs.copy_from_slice(&trial.costs);
        let (first, past) = (start / self.every + 1, end.div_ceil(self.every));
        if first < past {
            self.states[first..past].swap_with_slice(&mut self.trial_states[first..past]);
        }
        self.cost = self.trial_cost;
        self.loose = self.trial_loose;
    }

    /// Works out all starts after a change of the line's tasks at positions in a range; gives the cost unless it is
    /// above `most` or some step cannot stand.
    pub(super) fn decode(
        &mut self,
        shop: &Shop<'_>,
        changed: Range<usize>,
        most: i64,
    ) -> Option<i64> {
        self.go_back(changed.start.min(self.loose));
        self.trial_loose = usize::MAX;
        let count = self.line.tasks.len();
        for at in self.worked_out.start..count {
            if at % self.every == 0 {
                let state = at / self.every;
                // The same as before the change: what follows is the same too.
                if at >= changed.end && self.loose == usize::MAX && self.state == self.states[state]
                {
                    self.worked_out.end = at;
                    self.trial_cost = self.cost;
                    return Some(self.cost);
                }
                self.trial_states[state].clone_from(&self.state);
            }
            let task = self.line.tasks[at];
            let start = self.start_of(shop, task)?;
            self.stand(shop, at, (task, start), most)?;
        }
        self.worked_out.end = count;
        self.trial_cost = self.state.total(shop);
        Some(self.trial_cost)
    }

    /// Takes up the latest state that is kept from at or before a position.
    fn go_back(&mut self, to: usize) {
        let last = self.line.tasks.len().saturating_sub(1);
        let state = to.min(last) / self.every;
        self.worked_out = state * self.every..0;
        self.state.clone_from(&self.states[state]);
        self.trial.finishes.copy_from_slice(&self.line.finishes);
        self.trial.costs.copy_from_slice(&self.line.costs);
    }

    /// Lets a task stand at a position from a start on; none when the cost is too high by then.
    fn stand(
        &mut self,
        shop: &Shop<'_>,
        at: usize,
        (task, start): (Task, i64),
        most: i64,
    ) -> Option<()> {
        self.trial.tasks[at] = task;
        self.trial.starts[at] = start;
        let mut uses = std::mem::take(&mut self.trial.uses[at]);
        let taken = self.take_resources(shop, task, start, &mut uses);
        if taken.is_some()
            && let Some((finish, paid)) = self.state.stand(shop, task, start, &uses)
        {
            self.trial.finishes[task.job] = finish;
            self.trial.costs[task.job] = paid;
        }
        self.trial.uses[at] = uses;
        taken?;
        (self.state.total(shop) <= most).then_some(())
    }

    /// How the jobs stand as last kept; `standing` says which are left out.
    pub(super) fn standing(&self, shop: &Shop<'_>, standing: &[Standing]) -> Vec<Standing> {
        let jobs = &shop.problem.jobs;
        let begun = shop.jobs.iter().map(|facts| facts.begun.as_ref());
        let mut steps: Vec<Vec<Placed>> =
            begun.map(|begun| begun.map_or_else(Vec::new, |begun| begun.steps.clone())).collect();
        let line = &self.line;
        for ((task, start), uses) in line.tasks.iter().zip(&line.starts).zip(&line.uses) {
            let minutes = jobs[task.job].steps[task.step].options[task.option].minutes;
            let (step, option, uses) = (task.step, task.option, uses.clone());
            let end = start + minutes;
            steps[task.job].push(Placed { step, option, start: *start, end, uses });
        }
        let made = steps.into_iter().zip(jobs).zip(standing).map(|((steps, job), standing)| {
            if *standing == Standing::LeftOut || job.steps.iter().all(Step::is_fixed) {
                return standing.clone();
            }
            Standing::Placed(Placement::new(shop.problem.cost, job, steps))
        });
        made.collect()
    }
}

/// The steps of a job that are not fixed, each with its start.
fn open_tasks(job: usize, spec: &Job, placement: &Placement) -> impl Iterator<Item = (i64, Task)> {
    let open = placement.steps.iter().filter(|placed| !spec.steps[placed.step].is_fixed());
    open.map(move |placed| {
        let Placed { step, option, start, .. } = *placed;
        let keeps = spec.steps[step].kept_start(option) == Some(start);
        let mut task = Task { job, step, option, picks: 0, keeps };
        let needs = &spec.steps[step].options[option].needs;
        for (need, (group, used)) in needs.iter().zip(&placed.uses).enumerate() {
            if let Some(member) = group.iter().position(|other| other == used) {
                task.set_pick(need, member);
            }
        }
        (start, task)
    })
}

#[cfg(test)]
mod tests;
