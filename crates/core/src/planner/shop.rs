//! What never changes while a problem is being planned: fixed steps, clashes, and sums per job.

use super::begun::Begun;
use super::insertion::Ways;
use super::placement::{Hold, Placed, Placement, place_of};
use super::problem::Problem;
use super::span::{Span, merged, subtract};

/// The unchanging part of a planning board.
#[derive(Debug)]
pub(super) struct Shop<'p> {
    pub(super) problem: &'p Problem,
    /// Per place, the places that clash with it.
    pub(super) clashing: Vec<Vec<usize>>,
    /// Per resource, its open windows without the minutes of fixed steps.
    pub(super) free: Vec<Vec<Span>>,
    /// Per resource, whether some of its windows overlap.
    pub(super) overlapping: Vec<bool>,
    /// Per place, what fixed steps hold, with the job.
    pub(super) held: Vec<Vec<(usize, Hold)>>,
    /// Per resource, how many options name it: the scarcer ones are spared.
    pub(super) demand: Vec<u32>,
    pub(super) jobs: Vec<JobFacts>,
}

/// Sums of one job.
#[derive(Debug)]
pub(super) struct JobFacts {
    /// How many steps the jobs before it have.
    pub(super) first_step: usize,
    /// Per step, its least minutes.
    pub(super) least_minutes: Vec<i64>,
    /// The fixed steps in the order of time.
    pub(super) fixed: Vec<usize>,
    /// Where the fixed ones leave it, when all others come after.
    pub(super) begun: Option<Begun>,
    /// The last end of a fixed step.
    pub(super) fixed_end: i64,
    /// The places that its options name.
    pub(super) places: Vec<usize>,
    /// Per place in `places`, which steps can stand there.
    pub(super) steps_at: Vec<u64>,
    /// Per step, the steps that have to be done before; orders between fixed steps do not count.
    pub(super) before: Vec<u64>,
    /// (earlier, later, minutes) for every wait above 0 between steps not both fixed.
    pub(super) waits: Vec<(usize, usize, i64)>,
    /// What the quick search for a way needs, where the job allows it.
    pub(super) ways: Option<Ways>,
}

impl<'p> Shop<'p> {
    pub(super) fn new(problem: &'p Problem) -> Self {
        let mut clashing = vec![Vec::new(); problem.places.len()];
        for (one, other) in &problem.clashes {
            clashing[*one].push(*other);
            clashing[*other].push(*one);
        }
        let mut busy = vec![Vec::new(); problem.resources.len()];
        let mut held = vec![Vec::new(); problem.places.len()];
        let mut demand = vec![0_u32; problem.resources.len()];
        for (index, job) in problem.jobs.iter().enumerate() {
            for step in &job.steps {
                for named in step.options.iter().flat_map(|option| option.needs.iter().flatten()) {
                    demand[*named] = demand[*named].saturating_add(1);
                }
            }
            let fixed = Placement::new(problem.cost, job, fixed_steps(problem, index));
            for placed in &fixed.steps {
                let span = Span { start: placed.start, end: placed.end };
                placed.uses.iter().for_each(|used| busy[*used].push(span));
                if let Some(place) = place_of(job, placed) {
                    held[place].push((index, Hold { place, span, fixed: true }));
                }
            }
        }
        let free = problem.resources.iter().zip(busy).map(|(resource, busy)| {
            let mut free = Vec::new();
            subtract(&resource.open, &merged(busy), &mut free);
            free
        });
        let free: Vec<Vec<Span>> = free.collect();
        let overlap = |windows: &Vec<Span>| windows.windows(2).any(|two| two[0].overlaps(two[1]));
        Self {
            problem,
            clashing,
            overlapping: free.iter().map(overlap).collect(),
            free,
            held,
            demand,
            jobs: jobs_facts(problem),
        }
    }
}

fn jobs_facts(problem: &Problem) -> Vec<JobFacts> {
    let mut first_step = 0;
    let facts = problem.jobs.iter().enumerate().map(|(index, job)| {
        let facts = JobFacts::new(problem, index, first_step);
        first_step += job.steps.len();
        facts
    });
    facts.collect()
}

/// A job's fixed steps as they stand.
pub(super) fn fixed_steps(problem: &Problem, job: usize) -> Vec<Placed> {
    let steps = problem.jobs[job].steps.iter().enumerate();
    let placed = steps.filter_map(|(step, spec)| {
        spec.fixed.as_ref().map(|fixed| Placed {
            step,
            option: fixed.option,
            start: fixed.start,
            end: fixed.start + fixed.minutes,
            uses: fixed.uses.clone(),
        })
    });
    placed.collect()
}

impl JobFacts {
    fn new(problem: &Problem, index: usize, first_step: usize) -> Self {
        let job = &problem.jobs[index];
        let fixed = Placement::new(problem.cost, job, fixed_steps(problem, index));
        let begun = Begun::of(problem, job, fixed.steps.clone());
        let least = |step: &super::problem::Step| {
            let options = 0..step.options.len();
            options.map(|option| step.minutes(option)).min().unwrap_or(0)
        };
        let mut places: Vec<usize> =
            job.steps.iter().flat_map(|step| step.options.iter().filter_map(|o| o.place)).collect();
        places.sort_unstable();
        places.dedup();
        let stands_at = |step: &super::problem::Step, place: usize| match &step.fixed {
            Some(fixed) => step.options[fixed.option].place == Some(place),
            None => step.options.iter().any(|option| option.place == Some(place)),
        };
        let steps_at = places.iter().map(|place| {
            let steps = job.steps.iter().enumerate();
            steps.filter(|(_, step)| stands_at(step, *place)).fold(0, |all, (at, _)| all | 1 << at)
        });
        let mut before = vec![0_u64; job.steps.len()];
        let mut waits = Vec::new();
        for (later, step) in job.steps.iter().enumerate() {
            for (earlier, gap) in &step.after {
                if step.is_fixed() && job.steps[*earlier].is_fixed() {
                    continue;
                }
                before[later] |= 1 << earlier;
                if *gap > 0 {
                    waits.push((*earlier, later, *gap));
                }
            }
        }
        Self {
            first_step,
            least_minutes: job.steps.iter().map(least).collect(),
            fixed: fixed.steps.iter().map(|placed| placed.step).collect(),
            fixed_end: fixed.steps.iter().map(|placed| placed.end).max().unwrap_or(i64::MIN),
            steps_at: steps_at.collect(),
            ways: Ways::new(job, &places, &before, begun.as_ref()),
            begun,
            places,
            before,
            waits,
        }
    }
}
