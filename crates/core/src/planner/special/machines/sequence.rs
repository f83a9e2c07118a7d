//! The order of the steps on each machine of a shop without choices, and what the plan costs once a step has
//! gone past others on its machine: exact, and worked out only from where the plan changes.
//!
//! All steps stand in a list in which none comes before one that it waits for. A move changes only the part of
//! the list between the steps concerned: those that wait for the moved step go behind it (or
//! those that it waits for go before it), which also shows whether they would wait for each other in a circle.
//!
//! Source of the idea: keeping a topological order under changes, Pearce, Kelly, "A dynamic topological sort
//! algorithm for directed acyclic graphs", ACM J. of Experimental Algorithmics 11 (2007).

use super::Machines;
use super::chains::{Chains, NO_WAY};
use crate::planner::seeded::Seeded;

/// A plan: by step (and none) its neighbours on the machine, its place in the list, and its end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Sequence {
    pub(super) previous: Vec<usize>,
    next: Vec<usize>,
    /// All steps, none before one that it waits for.
    sorted: Vec<usize>,
    rank: Vec<usize>,
    pub(super) end: Vec<i32>,
    pub(super) cost: i64,
}

impl Sequence {
    /// A plan by chance: always the next step of any job, each as the last one on its machine.
    pub(super) fn any(shop: &Machines, chains: &Chains, random: &mut Seeded) -> Self {
        let none = chains.none;
        let mut plan = Self {
            previous: vec![none; none + 1],
            next: vec![none; none + 1],
            sorted: Vec::with_capacity(none),
            rank: vec![0; none + 1],
            end: vec![NO_WAY; none + 1],
            cost: 0,
        };
        let first = |job: usize| job.checked_sub(1).map_or(0, |before| shop.last[before] + 1);
        let mut coming: Vec<usize> = (0..shop.last.len()).map(first).collect();
        let mut latest = vec![none; shop.machine_count];
        while !coming.is_empty() {
            let at = random.below(coming.len());
            let step = coming[at];
            let latest = &mut latest[shop.choices[step][0].machine];
            plan.previous[step] = *latest;
            plan.next[*latest] = step;
            *latest = step;
            plan.rank[step] = plan.sorted.len();
            plan.sorted.push(step);
            match chains.after[step] {
                after if after == none => {
                    coming.swap_remove(at);
                }
                after => coming[at] = after,
            }
        }
        plan.next[none] = none;
        let mut end = std::mem::take(&mut plan.end);
        plan.measure(chains, 0, &mut end);
        plan.cost = shop.cost_of_ends(&end);
        plan.end = end;
        plan
    }

    /// Works out the ends from a place in the list on.
    fn measure(&self, chains: &Chains, from: usize, end: &mut [i32]) {
        for step in self.sorted[from..].iter().copied() {
            let ready = end[chains.before[step]].max(end[self.previous[step]]);
            end[step] = ready.max(chains.release[step]) + chains.minutes[step];
        }
    }

    /// Puts a step between two others of its machine.
    fn link(&mut self, chains: &Chains, before: usize, step: usize, after: usize) {
        self.previous[step] = before;
        self.next[step] = after;
        self.next[before] = step;
        self.previous[after] = step;
        self.next[chains.none] = chains.none;
        self.previous[chains.none] = chains.none;
    }

    /// Takes a step out of its machine's order.
    fn unlink(&mut self, step: usize) {
        let (before, after) = (self.previous[step], self.next[step]);
        self.next[before] = after;
        self.previous[after] = before;
    }
}

/// A step that goes past others on its machine: the first right behind the last (`later`), or the last
/// right before the first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Shift {
    pub(super) first: usize,
    pub(super) last: usize,
    pub(super) later: bool,
}

/// One move tried on a plan, in memory that is used again. A move that was tried is kept or undone before
/// the next one.
#[derive(Debug, Clone)]
pub(super) struct Trial {
    end: Vec<i32>,
    /// Where the list of steps begins to change, and how it was from there to where the change ends.
    from: usize,
    window: Vec<usize>,
    /// The steps that go along with the moved one.
    along: Vec<usize>,
    /// By step: the number of the last trial in which it went along.
    mark: Vec<u64>,
    number: u64,
    step: usize,
    neighbours: (usize, usize),
}

impl Trial {
    pub(super) fn new(chains: &Chains) -> Self {
        Self {
            end: vec![NO_WAY; chains.none + 1],
            from: 0,
            window: Vec::new(),
            along: Vec::new(),
            mark: vec![0; chains.none + 1],
            number: 0,
            step: 0,
            neighbours: (0, 0),
        }
    }

    /// Tries a move and says what the plan then costs; none where steps would wait for each other in a
    /// circle, and then nothing has changed.
    pub(super) fn make(
        &mut self,
        shop: &Machines,
        chains: &Chains,
        plan: &mut Sequence,
        shift: Shift,
    ) -> Option<i64> {
        let Shift { first, last, later } = shift;
        self.from = plan.rank[first];
        self.window.clear();
        self.window.extend_from_slice(&plan.sorted[self.from..=plan.rank[last]]);
        self.step = if later { first } else { last };
        self.neighbours = (plan.previous[self.step], plan.next[self.step]);
        plan.unlink(self.step);
        let (before, after) =
            if later { (last, plan.next[last]) } else { (plan.previous[first], first) };
        plan.link(chains, before, self.step, after);
        self.number += 1;
        self.mark[self.step] = self.number;
        self.along.clear();
        let fits = if later {
            self.sort_later(chains, plan, last)
        } else {
            self.sort_earlier(chains, plan, first)
        };
        if !fits {
            self.undo(chains, plan);
            return None;
        }
        self.end.copy_from_slice(&plan.end);
        plan.measure(chains, self.from, &mut self.end);
        Some(shop.cost_of_ends(&self.end))
    }

    /// The moved step and all that wait for it go to the end of the window, unless `last` is one of them.
    fn sort_later(&mut self, chains: &Chains, plan: &mut Sequence, last: usize) -> bool {
        let mut at = self.from;
        for other in self.window[1..].iter().copied() {
            let waits = self.mark[chains.before[other]] == self.number
                || self.mark[plan.previous[other]] == self.number;
            if !waits {
                plan.sorted[at] = other;
                at += 1;
            } else if other == last {
                return false;
            } else {
                self.mark[other] = self.number;
                self.along.push(other);
            }
        }
        plan.sorted[at] = self.step;
        plan.sorted[at + 1..=at + self.along.len()].copy_from_slice(&self.along);
        true
    }

    /// The moved step and all that it waits for go to the start of the window, unless `first` is one of them.
    fn sort_earlier(&mut self, chains: &Chains, plan: &mut Sequence, first: usize) -> bool {
        let mut at = self.from + self.window.len();
        for other in self.window[..self.window.len() - 1].iter().rev().copied() {
            let waited = self.mark[chains.after[other]] == self.number
                || self.mark[plan.next[other]] == self.number;
            if !waited {
                at -= 1;
                plan.sorted[at] = other;
            } else if other == first {
                return false;
            } else {
                self.mark[other] = self.number;
                self.along.push(other);
            }
        }
        plan.sorted[at - 1] = self.step;
        for (at, other) in (self.from..at - 1).rev().zip(&self.along) {
            plan.sorted[at] = *other;
        }
        true
    }

    /// Takes the move that was tried.
    pub(super) fn keep(&mut self, plan: &mut Sequence, cost: i64) {
        std::mem::swap(&mut plan.end, &mut self.end);
        for at in self.from..self.from + self.window.len() {
            plan.rank[plan.sorted[at]] = at;
        }
        plan.cost = cost;
    }

    /// Takes the move back.
    pub(super) fn undo(&mut self, chains: &Chains, plan: &mut Sequence) {
        plan.sorted[self.from..self.from + self.window.len()].copy_from_slice(&self.window);
        plan.unlink(self.step);
        plan.link(chains, self.neighbours.0, self.step, self.neighbours.1);
    }

    /// How many steps were looked at.
    pub(super) fn effort(&self, chains: &Chains) -> u64 {
        (chains.none - self.from + 2 * self.window.len()) as u64
    }
}
