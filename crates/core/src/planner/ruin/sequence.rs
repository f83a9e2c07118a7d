//! A plan as one sequence of steps, each with its option, from which all starts follow: every step starts
//! as early as those before it in the sequence allow. Moving a step to the front pushes all others later
//! by just so much, which putting whole jobs into gaps cannot do.
//!
//! Some jobs may float: they are not in the sequence, and each of their steps goes in as soon as it
//! can start, in whatever option ends first; so a whole job comes early and the others give way.
//! Source: the serial schedule generation scheme, Kolisch, "Serial and parallel resource-constrained
//! project scheduling methods revisited", European J. of Operational Research 90 (1996); here steps are only
//! ever added behind what stands, so that a step costs a few look-ups.

mod start;

use crate::planner::board::Standing;
use crate::planner::placement::{Placed, Placement, finish_cost, left_out_cost};
use crate::planner::problem::{Job, Step};
use crate::planner::shop::{JobFacts, Shop};

/// Needs with a pick, and the bits of one.
const PICKS: usize = 16;
const PICK_BITS: usize = 4;

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

/// A job that floats.
#[derive(Debug, Clone, Default)]
pub(super) struct Float {
    pub(super) job: usize,
    /// Its steps in the order in which they are to be done, and how many are.
    pub(super) order: Vec<usize>,
    pub(super) done: usize,
    /// No step starts earlier.
    pub(super) from: i64,
    /// One bit per option, counted over the job modulo 64: passed over where set.
    pub(super) skips: u64,
}

/// Where a job's vehicle is while the starts are worked out.
#[derive(Debug, Clone, Copy)]
struct Vehicle {
    done: u64,
    end: i64,
    place: Option<usize>,
    paid: i64,
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
    /// As last kept.
    pub(super) line: Line,
    /// As last worked out.
    trial: Line,
    /// What the jobs cost that are not in it, and the last finish of those of them that are done.
    apart: i64,
    apart_last: i64,
    /// Per place, until when fixed steps hold it, and which job does so last.
    held_until: Vec<(i64, usize)>,
    resource_free: Vec<i64>,
    place_free: Vec<i64>,
    place_last: Vec<usize>,
    /// Per place, the job that is to stay there.
    reserved: Vec<usize>,
    vehicles: Vec<Vehicle>,
    /// Per job and step, its end.
    ends: Vec<Vec<i64>>,
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
        let line = Line {
            tasks: tasks.into_iter().map(|(_, task)| task).collect(),
            finishes: vec![0; jobs.len()],
            costs: vec![0; jobs.len()],
            ..Line::default()
        };
        Some(Self {
            trial: line.clone(),
            line,
            apart,
            apart_last,
            held_until: held_until(shop),
            resource_free: vec![0; shop.free.len()],
            place_free: vec![0; shop.held.len()],
            place_last: vec![0; shop.held.len()],
            reserved: vec![usize::MAX; shop.held.len()],
            vehicles: Vec::new(),
            ends: shop.jobs.iter().map(ends_at_first).collect(),
            next_place: Vec::new(),
            last_seen: Vec::new(),
        })
    }

    /// Keeps what was last worked out.
    pub(super) fn keep(&mut self) {
        std::mem::swap(&mut self.line, &mut self.trial);
    }

    /// Works out all starts, the floating jobs' too; gives the cost unless it is above `most` or some
    /// step cannot stand.
    pub(super) fn decode(
        &mut self,
        shop: &Shop<'_>,
        floats: &mut [Float],
        most: i64,
    ) -> Option<i64> {
        self.clear(shop);
        let mut sum = Sum { cost: self.apart, last: self.apart_last, most };
        for at in 0..self.line.tasks.len() {
            let task = self.line.tasks[at];
            if floats.iter().any(|float| float.job == task.job) {
                continue;
            }
            let mut start = self.start_of(shop, task)?;
            while let Some((which, float_task, float_start)) = self.next_float(shop, floats, start)
            {
                floats[which].done += 1;
                self.stand(shop, float_task, float_start, None, &mut sum)?;
                start = self.start_of(shop, task)?;
            }
            let stays = self.next_place[at];
            self.stand(shop, task, start, stays, &mut sum)?;
        }
        while floats.iter().any(|float| float.done < float.order.len()) {
            let (which, task, start) = self.next_float(shop, floats, i64::MAX)?;
            floats[which].done += 1;
            self.stand(shop, task, start, None, &mut sum)?;
        }
        Some(sum.cost + shop.problem.cost.makespan * sum.last)
    }

    fn clear(&mut self, shop: &Shop<'_>) {
        let problem = shop.problem;
        self.resource_free.fill(problem.now);
        for (place, (until, job)) in self.held_until.iter().enumerate() {
            self.place_free[place] = problem.now.max(*until);
            self.place_last[place] = *job;
        }
        self.reserved.fill(usize::MAX);
        self.vehicles.clear();
        let fresh = |(job, facts): (&Job, &JobFacts)| match &facts.begun {
            Some(begun) => {
                Vehicle { done: begun.done, end: begun.end, place: begun.place, paid: begun.paid }
            }
            None => Vehicle { done: 0, end: job.release.max(problem.now), place: None, paid: 0 },
        };
        self.vehicles.extend(problem.jobs.iter().zip(&shop.jobs).map(fresh));
        self.trial.tasks.clear();
        self.trial.starts.clear();
        self.last_seen.clear();
        self.last_seen.resize(problem.jobs.len(), None);
        self.next_place.clear();
        self.next_place.resize(self.line.tasks.len(), None);
        for (at, task) in self.line.tasks.iter().enumerate().rev() {
            self.next_place[at] = self.last_seen[task.job];
            self.last_seen[task.job] =
                problem.jobs[task.job].steps[task.step].options[task.option].place;
        }
        for (job, facts) in shop.jobs.iter().enumerate() {
            let place = facts.begun.as_ref().and_then(|begun| begun.place);
            if let Some(place) = place.filter(|place| self.last_seen[job] == Some(*place)) {
                for held in std::iter::once(&place).chain(&shop.clashing[place]) {
                    self.reserved[*held] = job;
                }
            }
        }
    }

    /// Lets a task stand from a start on; none when the cost is too high by then. `stays` is where the job's next
    /// step in the sequence is.
    fn stand(
        &mut self,
        shop: &Shop<'_>,
        task: Task,
        start: i64,
        stays: Option<usize>,
        sum: &mut Sum,
    ) -> Option<()> {
        let job = &shop.problem.jobs[task.job];
        let cost = shop.problem.cost;
        let spec = &job.steps[task.step];
        let option = &spec.options[task.option];
        let end = start + option.minutes;
        let at = self.trial.tasks.len();
        self.trial.tasks.push(task);
        self.trial.starts.push(start);
        if self.trial.uses.len() <= at {
            self.trial.uses.push(Vec::new());
        }
        let mut uses = std::mem::take(&mut self.trial.uses[at]);
        self.take_resources(shop, task, start, &mut uses)?;
        for used in &uses {
            self.resource_free[*used] = end;
        }
        if let Some(place) = option.place {
            let keeper = if stays == Some(place) { task.job } else { usize::MAX };
            for held in std::iter::once(&place).chain(&shop.clashing[place]) {
                self.place_free[*held] = self.place_free[*held].max(end);
                self.place_last[*held] = task.job;
                self.reserved[*held] = keeper;
            }
        }
        self.ends[task.job][task.step] = end;
        let vehicle = &mut self.vehicles[task.job];
        if vehicle.done != 0 && vehicle.place != option.place {
            vehicle.paid += cost.place_change;
        }
        if spec.differs(start, task.option, &uses) {
            vehicle.paid += cost.change;
        }
        self.trial.uses[at] = uses;
        vehicle.done |= 1 << task.step;
        vehicle.end = end;
        vehicle.place = option.place;
        if vehicle.done.count_ones() as usize == job.steps.len() {
            let paid = vehicle.paid + finish_cost(cost, job, end);
            self.trial.finishes[task.job] = end;
            self.trial.costs[task.job] = paid;
            sum.cost += paid;
            sum.last = sum.last.max(end);
            if sum.cost + cost.makespan * sum.last > sum.most {
                return None;
            }
        }
        Some(())
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

/// The ends of the steps that are done at first; of the others nothing is known.
fn ends_at_first(facts: &JobFacts) -> Vec<i64> {
    let mut ends = vec![0; facts.before.len()];
    for placed in facts.begun.iter().flat_map(|begun| &begun.steps) {
        ends[placed.step] = placed.end;
    }
    ends
}

/// The cost so far, the last finish, and the most that the cost may be.
struct Sum {
    cost: i64,
    last: i64,
    most: i64,
}
