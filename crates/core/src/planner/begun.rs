//! Where a job stands whose first steps are fixed and whose others all come after: done, running, or just
//! about to start. Such a job is planned like any other from there on.

use super::board::Board;
use super::placement::{Hold, Placed, Placement, place_of};
use super::problem::{Job, Problem};

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
    waits: Vec<Hold>,
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
        let cost = super::CostWeights { lateness: 0, finish: 0, ..problem.cost };
        let stands = Placement::new(cost, job, fixed.clone());
        Some(Self {
            done: fixed.iter().fold(0, |done, placed| done | 1 << placed.step),
            end: last.end,
            place: place_of(job, last),
            paid: stands.cost,
            waits: stands.waits(job).collect(),
            steps: fixed,
        })
    }

    /// Whether no other job holds a place during the waits between the fixed steps.
    pub(super) fn may_stand(&self, board: &Board<'_>, job: usize) -> bool {
        self.waits.iter().all(|wait| board.wait_is_free(job, wait.place, wait.span))
    }
}
