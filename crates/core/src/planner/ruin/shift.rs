//! Moves single steps within the sequence of all steps, so that the others shift to make room, does them
//! in another way, or lets whole jobs float to the front: for days so dense that no job fits
//! anywhere unless many give way.
//!
//! Source: local search on sequences for shops with weighted tardiness, as surveyed and measured by
//! Bierwirth and Kuhpfahl, "Extended GRASP for the job shop scheduling problem with total weighted tardiness
//! objective", European J. of Operational Research 261 (2017); the acceptance is that of `cooling`.

use super::Search;
use super::cooling::Cooling;
use super::sequence::{Float, Line, Sequence, Task};
use crate::planner::board::{Board, Standing, Worth};
use crate::planner::check::as_i64;
use crate::planner::seeded::Seeded;
use std::ops::Range;

/// The moves of one epoch for each move of whole jobs.
const MOVES_PER_MOVE: usize = 4;
/// How far a step moves at most within the sequence, mostly.
const FAR: usize = 16;
/// How many moves of twelve let jobs float.
const FLOATS_IN_12: usize = 5;
/// How many move a step on the chain that makes a job late, where lateness tells how far a plan is from fitting.
const CHAINS_IN_12: usize = 4;
/// The most jobs that float in one move.
const FLOATS_MAX: usize = 3;

/// A phase of such moves under way.
#[derive(Debug, Clone)]
pub(super) struct Shifts {
    pub(super) sequence: Sequence,
    /// Which jobs are left out.
    standing: Vec<Standing>,
    floats: Vec<Float>,
    /// The sequence before a move on a chain.
    before: Vec<Task>,
    /// How many moves of twelve are such.
    chains_in_12: usize,
    cost: i64,
    /// Moves still to make.
    left: u64,
}

/// How a move is taken back.
enum Undo {
    Nothing,
    Order,
    Moved { from: usize, to: usize },
    Changed { at: usize, was: Task },
}

impl Search<'_> {
    /// Begins a phase from how the jobs stand on the board, where that is possible.
    pub(super) fn begin_shifts(&mut self) {
        let standing = self.board.standing();
        let Some(mut sequence) = Sequence::new(self.board.shop, standing) else { return };
        let Some(cost) = sequence.decode(self.board.shop, 0..0, i64::MAX) else { return };
        sequence.keep();
        if sequence.line.tasks.is_empty() {
            return;
        }
        let standing = standing.to_vec();
        self.shift_cooling.begin();
        let left = self.shift_cooling.length();
        self.shifts = Some(Shifts {
            sequence,
            standing,
            floats: Vec::new(),
            before: Vec::new(),
            // Measured: these help where days close for the night, and cost time elsewhere.
            chains_in_12: if self.later.is_empty() { 0 } else { CHAINS_IN_12 },
            cost,
            left,
        });
    }

    /// Begins a phase of so many epochs, with a tolerance that begins so many halvings higher.
    pub(super) fn begin_shifts_over(&mut self, epochs: u64, halvings: u64) {
        let moves = epochs * (MOVES_PER_MOVE * super::MOVES_PER_EPOCH) as u64;
        let jobs = self.least.len();
        self.shift_cooling = Cooling::with_length(moves, jobs).warmer(halvings);
        self.begin_shifts();
        if let Some(shifts) = &mut self.shifts {
            shifts.chains_in_12 = CHAINS_IN_12;
        }
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
            let standing = shifts.sequence.standing(shop, &shifts.standing);
            self.board = Board::with(shop, &standing);
            self.worth = self.board.worth();
        }
    }

    fn shift(&mut self, shifts: &mut Shifts, tolerance: i64) {
        shifts.floats.clear();
        let kind = self.random.below(12);
        let undo = if kind < FLOATS_IN_12 {
            self.float(shifts);
            Some(Undo::Nothing)
        } else if kind < FLOATS_IN_12 + shifts.chains_in_12 {
            shifts.before.clone_from(&shifts.sequence.line.tasks);
            self.critical(shifts).then_some(Undo::Order)
        } else {
            self.change(&mut shifts.sequence)
        };
        let Some(undo) = undo else { return };
        let most = shifts.cost.saturating_add(tolerance);
        let shop = self.board.shop;
        let sequence = &mut shifts.sequence;
        let cost = match &undo {
            Undo::Nothing => sequence.decode_floating(shop, &mut shifts.floats, most),
            Undo::Order => {
                let changed = difference(&shifts.before, &sequence.line.tasks);
                sequence.decode(shop, changed, most)
            }
            Undo::Moved { from, to } => {
                sequence.decode(shop, *from.min(to)..*from.max(to) + 1, most)
            }
            Undo::Changed { at, .. } => sequence.decode(shop, *at..at + 1, most),
        };
        let Some(cost) = cost else {
            let tasks = &mut shifts.sequence.line.tasks;
            match undo {
                Undo::Nothing => {}
                Undo::Order => tasks.clone_from(&shifts.before),
                Undo::Moved { from, to } => relocate(tasks, to, from),
                Undo::Changed { at, was } => tasks[at] = was,
            }
            return;
        };
        shifts.sequence.keep();
        shifts.cost = cost;
        if self.best_worth > (Worth { missing: 0, cost }) {
            self.best_worth = Worth { missing: 0, cost };
            self.best = shifts.sequence.standing(shop, &shifts.standing);
            self.shift_cooling.gained = true;
            self.cooling.gained = true;
        }
    }

    /// Lets a costly job and perhaps one or two more float, from then on or later.
    fn float(&mut self, shifts: &mut Shifts) {
        let line = &shifts.sequence.line;
        let count = line.tasks.len();
        let some = 1 + self.random.below(FLOATS_MAX).min(self.random.below(FLOATS_MAX));
        for which in 0..some {
            let job = if which == 0 {
                costly_job(line, self.least, 4, &mut self.random)
            } else {
                line.tasks[self.random.below(count)].job
            };
            if shifts.floats.iter().any(|float| float.job == job) {
                continue;
            }
            let spec = &self.board.shop.problem.jobs[job];
            let release = spec.release.max(self.board.shop.problem.now);
            let begin = line.tasks.iter().position(|task| task.job == job);
            let begin = begin.map_or(release, |at| line.starts[at]);
            let between = |random: &mut Seeded, from: i64, to: i64| {
                let span = usize::try_from(to - from).unwrap_or(0);
                from + as_i64(random.below(span + 1))
            };
            let from = match self.random.below(8) {
                0 | 1 if which == 0 => release,
                0..=3 => between(&mut self.random, release, begin),
                4 => begin,
                5 => between(&mut self.random, begin, line.finishes[job]),
                _ => {
                    let last = line.starts[self.random.below(count)];
                    between(&mut self.random, begin, last.max(begin))
                }
            };
            let skips = if self.random.below(2) == 0 {
                self.random.next() & self.random.next() & self.random.next()
            } else {
                0
            };
            let order = self.draw_order(job);
            shifts.floats.push(Float { job, order, done: 0, from, skips });
        }
    }

    /// A random order of a job's steps that its rules allow.
    fn draw_order(&mut self, job: usize) -> Vec<usize> {
        let before = &self.board.shop.jobs[job].before;
        let mut order = Vec::with_capacity(before.len());
        let fixed = self.board.shop.jobs[job].begun.as_ref();
        let mut done = fixed.map_or(0, |begun| begun.done);
        while done.count_ones() as usize != before.len() {
            let may = |step: &usize| done >> step & 1 == 0 && before[*step] & !done == 0;
            let count = (0..before.len()).filter(may).count();
            let chosen = self.random.below(count);
            let Some(step) = (0..before.len()).filter(may).nth(chosen) else { break };
            done |= 1 << step;
            order.push(step);
        }
        order
    }

    /// Moves one step or does it in another way.
    fn change(&mut self, sequence: &mut Sequence) -> Option<Undo> {
        let tasks = &mut sequence.line.tasks;
        let count = tasks.len();
        let at = self.random.below(count);
        if self.random.below(3) == 0 {
            let was = *tasks.get(at)?;
            return self.another_way(tasks, at).then_some(Undo::Changed { at, was });
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
        relocate(tasks, at, to);
        Some(Undo::Moved { from: at, to })
    }
}

/// Of a few jobs at random, fewer than `most` beside the first, the one that costs most beyond the least it can.
pub(super) fn costly_job(line: &Line, least: &[i64], most: usize, random: &mut Seeded) -> usize {
    let draw = |random: &mut Seeded| line.tasks[random.below(line.tasks.len())].job;
    let mut job = draw(random);
    for _ in 0..random.below(most) {
        let other = draw(random);
        if line.costs[other] - least[other] > line.costs[job] - least[job] {
            job = other;
        }
    }
    job
}

/// The positions from the first to the last where two sequences differ.
fn difference(one: &[Task], other: &[Task]) -> Range<usize> {
    let differ = |(one, other): (&Task, &Task)| one != other;
    let first = one.iter().zip(other).position(differ).unwrap_or(one.len());
    let last = one.iter().zip(other).rposition(differ).unwrap_or(first);
    first..last + 1
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
        Self::with_length(400 * (jobs as u64).max(1), jobs)
    }
}
