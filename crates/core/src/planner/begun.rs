//! Where a job stands whose first steps are fixed and whose others all come after: done, running, or just
//! about to start. Such a job is planned like any other from there on.

use super::board::Board;
use super::placement::{Placed, Placement};
use super::problem::{Job, Problem};
use super::span::Span;

/// The fixed first steps of a job, and where they leave its vehicle.
#[derive(Debug, Clone)]
pub(super) struct Begun {
    /// The fixed steps in the order of time.
    pub(super) steps: Vec<Placed>,
    /// One bit for each of them.
    pub(super) done: u64,
    /// When the last of them ends, and where its vehicle is then.
    pub(super) end: i64,
    pub(super) place: Option<usize>,
    /// What their changes, and the moves between them, cost.
    pub(super) paid: i64,
    /// Where the vehicle waited between two of them.
    waits: Vec<(usize, Span)>,
}

impl Begun {
    /// None where no step is fixed or all are, where others could come before a fixed one, or where fixed ones share
    /// minutes.
    pub(super) fn of(problem: &Problem, job: &Job, fixed: Vec<Placed>) -> Option<Self> {
        if fixed.is_empty() || fixed.len() == job.steps.len() {
            return None;
        }
        // No other step starts before now.
        let apart = fixed.iter().all(|placed| placed.start <= problem.now);
        let one_by_one = fixed.windows(2).all(|pair| pair[0].end <= pair[1].start);
        let last = fixed.last().filter(|_| apart && one_by_one)?;
        let place = |placed: &Placed| job.steps[placed.step].options[placed.option].place;
        let waits = fixed.windows(2).filter_map(|pair| {
            let place = place(&pair[0]).filter(|at| Some(*at) == place(&pair[1]))?;
            let span = Span { start: pair[0].end, end: pair[1].start };
            (span.start < span.end).then_some((place, span))
        });
        let cost = super::CostWeights { lateness: 0, finish: 0, ..problem.cost };
        Some(Self {
            done: fixed.iter().fold(0, |done, placed| done | 1 << placed.step),
            end: last.end,
            place: place(last),
            paid: Placement::new(cost, job, fixed.clone()).cost,
            waits: waits.collect(),
            steps: fixed,
        })
    }

    /// Whether no other job holds a place during the waits between the fixed steps.
    pub(super) fn may_stand(&self, board: &Board<'_>, job: usize) -> bool {
        self.waits.iter().all(|(place, wait)| board.wait_is_free(job, *place, *wait))
    }
}
