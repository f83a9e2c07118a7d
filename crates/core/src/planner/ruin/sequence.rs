//! A plan as one sequence of steps, each with its option and resources, from which all starts follow:
//! every step starts as early as those before it in the sequence allow. Moving a step to the front pushes
//! all others later by just so much, which putting whole jobs into gaps cannot do.
//!
//! Source: the serial schedule generation scheme, Kolisch, "Serial and parallel resource-constrained
//! project scheduling methods revisited", European J. of Operational Research 90 (1996); here steps are only
//! ever added behind what stands, so that a step costs a few look-ups.

use crate::planner::board::Standing;
use crate::planner::placement::{Placed, Placement, finish_cost, left_out_cost};
use crate::planner::problem::Job;
use crate::planner::shop::Shop;
use crate::planner::span::{earliest, earliest_inside};

/// One step as it is to be done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Task {
    pub(super) job: usize,
    pub(super) step: usize,
    pub(super) option: usize,
    pub(super) uses: Vec<usize>,
}

/// Where a job's vehicle is while the starts are worked out.
#[derive(Debug, Clone, Copy)]
struct Vehicle {
    done: u64,
    end: i64,
    place: Option<usize>,
    paid: i64,
}

/// The sequence and the memory to work out its starts.
#[derive(Debug, Clone)]
pub(super) struct Sequence {
    pub(super) tasks: Vec<Task>,
    /// What the jobs cost that are not in it.
    left_out: i64,
    /// Per task its start, as last worked out.
    pub(super) starts: Vec<i64>,
    resource_free: Vec<i64>,
    place_free: Vec<i64>,
    place_last: Vec<usize>,
    vehicles: Vec<Vehicle>,
    /// Per job and step, its end.
    ends: Vec<Vec<i64>>,
}

impl Sequence {
    /// The jobs that stand, in the order of their steps' starts; none where a step is fixed or a job missing.
    pub(super) fn new(shop: &Shop<'_>, standing: &[Standing]) -> Option<Self> {
        let jobs = &shop.problem.jobs;
        if jobs.iter().any(Job::has_fixed) {
            return None;
        }
        let mut left_out = 0;
        let mut tasks = Vec::new();
        for (job, standing) in standing.iter().enumerate() {
            match standing {
                Standing::Missing => return None,
                Standing::LeftOut => left_out += left_out_cost(shop.problem.cost, &jobs[job])?,
                Standing::Placed(placement) => tasks.extend(placement.steps.iter().map(|placed| {
                    let Placed { step, option, start, .. } = *placed;
                    (start, Task { job, step, option, uses: placed.uses.clone() })
                })),
            }
        }
        tasks.sort_by_key(|(start, task)| (*start, task.job));
        let starts = tasks.iter().map(|(start, _)| *start).collect();
        Some(Self {
            tasks: tasks.into_iter().map(|(_, task)| task).collect(),
            left_out,
            starts,
            resource_free: vec![0; shop.free.len()],
            place_free: vec![0; shop.held.len()],
            place_last: vec![0; shop.held.len()],
            vehicles: Vec::new(),
            ends: jobs.iter().map(|job| vec![0; job.steps.len()]).collect(),
        })
    }

    /// Works out all starts; gives the cost unless it is above `most` or some step cannot stand.
    pub(super) fn decode(&mut self, shop: &Shop<'_>, most: i64) -> Option<i64> {
        let problem = shop.problem;
        self.resource_free.fill(problem.now);
        self.place_free.fill(problem.now);
        self.place_last.fill(usize::MAX);
        self.vehicles.clear();
        let fresh = |job: &Job| Vehicle {
            done: 0,
            end: job.release.max(problem.now),
            place: None,
            paid: 0,
        };
        self.vehicles.extend(problem.jobs.iter().map(fresh));
        let mut cost = self.left_out;
        let mut last = 0;
        for at in 0..self.tasks.len() {
            let start = self.start_of(shop, at)?;
            self.starts[at] = start;
            self.stand(shop, at, start);
            let job = self.tasks[at].job;
            let vehicle = self.vehicles[job];
            if vehicle.done.count_ones() as usize == problem.jobs[job].steps.len() {
                cost += vehicle.paid + finish_cost(problem.cost, &problem.jobs[job], vehicle.end);
                last = last.max(vehicle.end);
                if cost + problem.cost.makespan * last > most {
                    return None;
                }
            }
        }
        Some(cost + problem.cost.makespan * last)
    }

    /// The earliest start of a task behind what stands.
    fn start_of(&self, shop: &Shop<'_>, at: usize) -> Option<i64> {
        let task = &self.tasks[at];
        let job = &shop.problem.jobs[task.job];
        let facts = &shop.jobs[task.job];
        let vehicle = self.vehicles[task.job];
        if facts.before[task.step] & !vehicle.done != 0 {
            return None;
        }
        let spec = &job.steps[task.step];
        let option = &spec.options[task.option];
        let mut from = vehicle.end.max(spec.release);
        for (earlier, gap) in spec.after.iter().filter(|(_, gap)| *gap > 0) {
            from = from.max(self.ends[task.job][*earlier] + gap);
        }
        let moves = vehicle.done != 0 && vehicle.place != option.place;
        if moves {
            from = from.max(vehicle.end + job.move_minutes);
        }
        if let Some(place) = option.place {
            let stays = vehicle.done != 0 && !moves;
            if stays && self.place_last[place] != task.job {
                return None;
            }
            if !stays {
                from = from.max(self.place_free[place]);
            }
        }
        for used in &task.uses {
            from = from.max(self.resource_free[*used]);
        }
        loop {
            let before = from;
            if let Some(place) = option.place {
                from = earliest(&shop.problem.places[place].open, from, option.minutes)?;
            }
            if let Some(starts) = &option.starts {
                from = earliest_inside(starts, from)?;
            }
            for used in &task.uses {
                from = earliest(&shop.free[*used], from, option.minutes)?;
            }
            if from == before {
                break;
            }
        }
        (from + option.minutes <= shop.problem.horizon).then_some(from)
    }

    /// Lets a task stand from a start on.
    fn stand(&mut self, shop: &Shop<'_>, at: usize, start: i64) {
        let task = &self.tasks[at];
        let job = &shop.problem.jobs[task.job];
        let cost = shop.problem.cost;
        let spec = &job.steps[task.step];
        let option = &spec.options[task.option];
        let end = start + option.minutes;
        for used in &task.uses {
            self.resource_free[*used] = end;
        }
        if let Some(place) = option.place {
            for held in std::iter::once(&place).chain(&shop.clashing[place]) {
                self.place_free[*held] = self.place_free[*held].max(end);
                self.place_last[*held] = task.job;
            }
        }
        self.ends[task.job][task.step] = end;
        let vehicle = &mut self.vehicles[task.job];
        if vehicle.done != 0 && vehicle.place != option.place {
            vehicle.paid += cost.place_change;
        }
        if spec.differs(start, task.option, &task.uses) {
            vehicle.paid += cost.change;
        }
        vehicle.done |= 1 << task.step;
        vehicle.end = end;
        vehicle.place = option.place;
    }

    /// How the jobs stand by the starts last worked out; `standing` says which are left out.
    pub(super) fn standing(&self, shop: &Shop<'_>, standing: &[Standing]) -> Vec<Standing> {
        let jobs = &shop.problem.jobs;
        let mut steps: Vec<Vec<Placed>> = vec![Vec::new(); jobs.len()];
        for (task, start) in self.tasks.iter().zip(&self.starts) {
            let minutes = jobs[task.job].steps[task.step].options[task.option].minutes;
            let (step, option, uses) = (task.step, task.option, task.uses.clone());
            let end = start + minutes;
            steps[task.job].push(Placed { step, option, start: *start, end, uses });
        }
        let made = steps.into_iter().zip(jobs).zip(standing).map(|((steps, job), standing)| {
            if *standing == Standing::LeftOut {
                return Standing::LeftOut;
            }
            Standing::Placed(Placement::new(shop.problem.cost, job, steps))
        });
        made.collect()
    }
}
