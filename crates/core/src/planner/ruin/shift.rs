//! Moves single steps within the sequence of all steps, so that the others shift to make room, or do
//! them in another way: for days so dense that no job fits anywhere unless many give way.
//!
//! Source: local search on sequences for shops with weighted tardiness, as surveyed and measured by
//! Bierwirth and Kuhpfahl, "Extended GRASP for the job shop scheduling problem with total weighted tardiness
//! objective", European J. of Operational Research 261 (2017); the acceptance is that of `cooling`.

use super::Search;
use super::cooling::Cooling;
use super::sequence::{Sequence, Task};
use crate::planner::board::{Board, Standing, Worth};

/// The moves of one epoch for each move of whole jobs, and the epochs of one phase at first.
const MOVES_PER_MOVE: usize = 8;
/// How far a step moves at most within the sequence, mostly.
const FAR: usize = 16;

/// A phase of such moves under way.
#[derive(Debug, Clone)]
pub(super) struct Shifts {
    sequence: Sequence,
    /// Which jobs are left out.
    standing: Vec<Standing>,
    cost: i64,
    /// Moves still to make.
    left: u64,
}

/// How a move is taken back.
enum Undo {
    Moved { from: usize, to: usize },
    Changed { at: usize, was: Task },
}

impl Search<'_> {
    /// Begins a phase from how the jobs stand on the board, where that is possible.
    pub(super) fn begin_shifts(&mut self) {
        let standing = self.board.standing();
        let Some(mut sequence) = Sequence::new(self.board.shop, standing) else { return };
        let Some(cost) = sequence.decode(self.board.shop, i64::MAX) else { return };
        let standing = standing.to_vec();
        self.shift_cooling.begin();
        let left = self.shift_cooling.length();
        self.shifts = Some(Shifts { sequence, standing, cost, left });
    }

    /// Makes an epoch's share of a phase's moves.
    pub(super) fn shift_epoch(&mut self, mut shifts: Shifts) {
        for _ in 0..MOVES_PER_MOVE * super::MOVES_PER_EPOCH {
            self.shift_cooling.step();
            let gap = self.best_worth.cost.saturating_sub(self.bound);
            let tolerance = self.shift_cooling.tolerance(gap, &mut self.random);
            self.shift(&mut shifts, tolerance);
            shifts.left = shifts.left.saturating_sub(1);
            if shifts.left == 0 {
                break;
            }
        }
        if shifts.left > 0 {
            self.shifts = Some(shifts);
        } else {
            // Whole jobs go on from where the steps ended.
            let shop = self.board.shop;
            if shifts.sequence.decode(shop, i64::MAX).is_some() {
                let standing = shifts.sequence.standing(shop, &shifts.standing);
                self.board = Board::with(shop, &standing);
                self.worth = self.board.worth();
            }
        }
    }

    fn shift(&mut self, shifts: &mut Shifts, tolerance: i64) {
        let Some(undo) = self.change(&mut shifts.sequence) else { return };
        let most = shifts.cost.saturating_add(tolerance);
        let Some(cost) = shifts.sequence.decode(self.board.shop, most) else {
            match undo {
                Undo::Moved { from, to } => relocate(&mut shifts.sequence.tasks, to, from),
                Undo::Changed { at, was } => shifts.sequence.tasks[at] = was,
            }
            return;
        };
        shifts.cost = cost;
        if self.best_worth > (Worth { missing: 0, cost }) {
            let shop = self.board.shop;
            self.best_worth = Worth { missing: 0, cost };
            self.best = shifts.sequence.standing(shop, &shifts.standing);
            self.shift_cooling.gained = true;
            self.cooling.gained = true;
        }
    }

    /// Moves one step or does it in another way.
    fn change(&mut self, sequence: &mut Sequence) -> Option<Undo> {
        let count = sequence.tasks.len();
        let at = self.random.below(count);
        if self.random.below(3) == 0 {
            let jobs = &self.board.shop.problem.jobs;
            let task = sequence.tasks.get_mut(at)?;
            let was = task.clone();
            let options = &jobs[task.job].steps[task.step].options;
            if self.random.below(2) == 0 {
                task.option = self.random.below(options.len());
            }
            let needs = &options[task.option].needs;
            let keeps = task.uses.len() == needs.len()
                && task.uses.iter().zip(needs).all(|(used, group)| group.contains(used));
            if !keeps || task.option == was.option {
                task.uses.clear();
                for group in needs {
                    let used = group[self.random.below(group.len())];
                    if task.uses.contains(&used) {
                        *task = was;
                        return None;
                    }
                    task.uses.push(used);
                }
            }
            return Some(Undo::Changed { at, was });
        }
        let reach = if self.random.below(8) == 0 { count } else { FAR };
        let far = 1 + self.random.below(reach);
        let to = if self.random.below(2) == 0 {
            at.saturating_sub(far)
        } else {
            (at + far).min(count.saturating_sub(1))
        };
        if to == at {
            return None;
        }
        relocate(&mut sequence.tasks, at, to);
        Some(Undo::Moved { from: at, to })
    }
}

fn relocate(tasks: &mut [Task], from: usize, to: usize) {
    if from < to {
        tasks[from..=to].rotate_left(1);
    } else {
        tasks[to..=from].rotate_right(1);
    }
}

impl Cooling {
    /// The course of a phase of shifts of as many steps.
    pub(super) fn of_shifts(jobs: usize) -> Self {
        Self::with_length(400 * (jobs as u64).max(1))
    }
}
