//! How a whole job stands: its steps in the order of time, and what that costs the job alone.

use super::draft::CostWeights;
use super::plan::{PlannedJob, PlannedStep};
use super::problem::{Job, Problem};
use super::span::Span;

/// One step as placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Placed {
    pub(super) step: usize,
    pub(super) option: usize,
    pub(super) start: i64,
    pub(super) end: i64,
    pub(super) uses: Vec<usize>,
}

/// A whole job as placed; the steps are in the order of time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Placement {
    pub(super) steps: Vec<Placed>,
    /// What it costs, the makespan apart.
    pub(super) cost: i64,
    pub(super) finish: i64,
}

/// A span during which a job holds a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Hold {
    pub(super) place: usize,
    pub(super) span: Span,
    /// Whether only fixed steps make it, so that it is not judged against other fixed steps.
    pub(super) fixed: bool,
}

/// What a job costs that finishes at `finish`, moves and changes apart.
pub(super) fn finish_cost(cost: CostWeights, job: &Job, finish: i64) -> i64 {
    let late = job.due.map_or(0, |due| (finish - due).max(0));
    cost.lateness * job.weight * late + cost.finish * finish
}

/// What leaving a job out costs, changes included; none when the rules forbid it.
pub(super) fn left_out_cost(cost: CostWeights, job: &Job) -> Option<i64> {
    let price = job.leave_out_cost.filter(|_| job.may_be_left_out())?;
    let had = job.steps.iter().filter(|step| step.previous.is_some()).count();
    Some(price + cost.change * super::check::as_i64(had))
}

/// Where a step is done, where that is a place.
pub(super) fn place_of(job: &Job, placed: &Placed) -> Option<usize> {
    job.steps[placed.step].options[placed.option].place
}

/// How many steps stand otherwise than in the previous plan.
pub(super) fn changed_steps(job: &Job, steps: &[Placed]) -> usize {
    let differs = |placed: &&Placed| {
        job.steps[placed.step].differs(placed.start, placed.option, &placed.uses)
    };
    steps.iter().filter(differs).count()
}

impl Placement {
    /// Puts steps in the order of time and adds up what they cost.
    pub(super) fn new(cost: CostWeights, job: &Job, mut steps: Vec<Placed>) -> Self {
        // Fixed steps may share their minutes; then the order listed decides which comes first.
        steps.sort_by_key(|placed| (placed.start, placed.end, placed.step));
        let finish = steps.iter().map(|placed| placed.end).max().unwrap_or(0);
        let place = |placed: &Placed| place_of(job, placed);
        let moves = steps.windows(2).filter(|pair| place(&pair[0]) != place(&pair[1])).count();
        let changes = changed_steps(job, &steps);
        let total = finish_cost(cost, job, finish)
            + cost.place_change * super::check::as_i64(moves)
            + cost.change * super::check::as_i64(changes);
        Self { steps, cost: total, finish }
    }

    /// The places held: each step's own span, and the wait between consecutive steps at one place.
    pub(super) fn holds<'a>(&'a self, job: &'a Job) -> impl Iterator<Item = Hold> + 'a {
        let at = |placed: &Placed| place_of(job, placed);
        let own = self.steps.iter().filter_map(move |placed| {
            let span = Span { start: placed.start, end: placed.end };
            Some(Hold { place: at(placed)?, span, fixed: job.steps[placed.step].is_fixed() })
        });
        own.chain(self.waits(job))
    }

    /// The waits between consecutive steps at one place.
    pub(super) fn waits<'a>(&'a self, job: &'a Job) -> impl Iterator<Item = Hold> + 'a {
        self.steps.windows(2).filter_map(move |pair| {
            let place =
                place_of(job, &pair[0]).filter(|place| Some(*place) == place_of(job, &pair[1]))?;
            let span = Span { start: pair[0].end, end: pair[1].start };
            let fixed = pair.iter().all(|placed| job.steps[placed.step].is_fixed());
            (span.start < span.end).then_some(Hold { place, span, fixed })
        })
    }

    /// The job as the plan's file shows it.
    pub(super) fn planned(&self, problem: &Problem, job: &Job) -> PlannedJob {
        let steps = self.steps.iter().map(|placed| PlannedStep {
            id: job.steps[placed.step].id.clone(),
            start: placed.start,
            option: placed.option,
            uses: placed.uses.iter().map(|used| problem.resources[*used].id.clone()).collect(),
        });
        PlannedJob { id: job.id.clone(), left_out: false, steps: steps.collect() }
    }
}
