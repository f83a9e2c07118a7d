//! Labels of the search: partial ways to place a job, the dominated ones dropped.

use super::Search;
use crate::planner::placement::Placed;
use crate::planner::span::Span;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

/// A partial way: some steps placed, the last of them ending at `last_end`.
#[derive(Debug, Clone)]
pub(super) struct Label {
    /// The steps placed, one bit each.
    pub(super) done: u64,
    /// The latest end of them.
    pub(super) end: i64,
    /// The end of the last in time, which differs only after fixed steps that overlap.
    pub(super) last_end: i64,
    /// Where the last one stands.
    pub(super) place: Option<usize>,
    /// The gap in which a stay would have to go on; none where no later step can stay.
    pub(super) gap: Option<Span>,
    /// Moves and changes paid so far.
    pub(super) paid: i64,
    /// A lower bound on the cost in the end, and on the finish.
    pub(super) total: i64,
    pub(super) finish: i64,
    pub(super) parent: usize,
    pub(super) step: usize,
    pub(super) placed: Option<Placed>,
}

impl Label {
    /// Nothing placed yet.
    pub(super) fn root() -> Self {
        Self {
            done: 0,
            end: i64::MIN,
            last_end: i64::MIN,
            place: None,
            gap: None,
            paid: 0,
            total: 0,
            finish: 0,
            parent: 0,
            step: 0,
            placed: None,
        }
    }
}

/// Cheapest first; among equals the earliest finish, then the most steps done, then the oldest.
type Rank = Reverse<(i64, i64, i64, u32, usize)>;

/// All labels of one search.
pub(super) struct Labels {
    all: Vec<Label>,
    queue: BinaryHeap<Rank>,
    by_done: BTreeMap<u64, Vec<usize>>,
    dead: Vec<bool>,
    below: i64,
    diving: bool,
}

impl Labels {
    pub(super) fn new(below: i64) -> Self {
        Self {
            all: Vec::new(),
            queue: BinaryHeap::new(),
            by_done: BTreeMap::new(),
            dead: Vec::new(),
            below,
            diving: false,
        }
    }

    pub(super) fn len(&self) -> usize {
        self.all.len()
    }

    pub(super) fn get(&self, at: usize) -> &Label {
        &self.all[at]
    }

    /// Takes the most promising label that nothing dominates.
    pub(super) fn pop(&mut self) -> Option<usize> {
        loop {
            let Reverse((.., at)) = self.queue.pop()?;
            if !self.dead[at] {
                return Some(at);
            }
        }
    }

    pub(super) fn diving(&self) -> bool {
        self.diving
    }

    /// From now on prefers labels with the most steps done.
    pub(super) fn dive(&mut self) {
        self.diving = true;
        let waiting = std::mem::take(&mut self.queue);
        for Reverse((.., at)) in waiting {
            self.queue.push(self.rank(at));
        }
    }

    /// Keeps a label unless it costs too much or another one is at least as good in every way.
    pub(super) fn push(&mut self, mut label: Label, search: &Search<'_>) {
        (label.total, label.finish) = search.least_total(&label);
        if label.total >= self.below {
            return;
        }
        let rivals = self.by_done.remove(&label.done).unwrap_or_default();
        let dominated =
            rivals.iter().any(|rival| self.dominates(&self.all[*rival], &label, search));
        if dominated {
            self.by_done.insert(label.done, rivals);
            return;
        }
        let mut kept = Vec::with_capacity(rivals.len() + 1);
        for rival in rivals {
            if self.dominates(&label, &self.all[rival], search) {
                self.dead[rival] = true;
            } else {
                kept.push(rival);
            }
        }
        let at = self.all.len();
        kept.push(at);
        self.by_done.insert(label.done, kept);
        self.all.push(label);
        self.dead.push(false);
        self.queue.push(self.rank(at));
    }

    /// When a step ended on the way to a label.
    pub(super) fn end_of(&self, at: usize, step: usize) -> Option<i64> {
        self.end_from(&self.all[at], step)
    }

    /// The steps on the way to a label, the last first.
    pub(super) fn chain(&self, at: usize) -> Vec<Placed> {
        let mut label = &self.all[at];
        let mut steps = Vec::new();
        while let Some(placed) = &label.placed {
            steps.push(placed.clone());
            label = &self.all[label.parent];
        }
        steps
    }

    fn rank(&self, at: usize) -> Rank {
        let label = &self.all[at];
        let left = 64 - label.done.count_ones();
        let deep = if self.diving { i64::from(left) } else { i64::MIN };
        Reverse((deep, label.total, label.finish, left, at))
    }

    fn end_from(&self, label: &Label, step: usize) -> Option<i64> {
        let mut label = label;
        while let Some(placed) = &label.placed {
            if placed.step == step {
                return Some(placed.end);
            }
            label = &self.all[label.parent];
        }
        None
    }

    /// Whether whatever `other` can still do, `one` can do too, as early and for as little. Both
    /// have the same steps done. At another place, or in another gap, `one` first has to move.
    fn dominates(&self, one: &Label, other: &Label, search: &Search<'_>) -> bool {
        let horizon = search.board.shop.problem.horizon;
        // Where a later step could stay, moving on is no choice: the next step there needs the wait.
        let can_move_on = search.query.hasty || one.gap.is_none_or(|gap| gap.end >= horizon);
        let alike = one.place == other.place && (one.gap == other.gap || other.gap.is_none());
        let (price, pause) = if alike {
            (0, 0)
        } else if one.place == other.place || !can_move_on {
            return false;
        } else {
            (search.board.shop.problem.cost.place_change, search.job.move_minutes)
        };
        if one.paid + price > other.paid
            || one.end.max(one.last_end + pause) > other.end
            || one.last_end + pause > other.last_end
        {
            return false;
        }
        search.facts.waits.iter().all(|(earlier, later, gap)| {
            let pending = one.done >> earlier & 1 == 1 && one.done >> later & 1 == 0;
            !pending || {
                let ready =
                    |label| self.end_from(label, *earlier).map_or(i64::MIN, |end| end + gap);
                ready(one) <= ready(other).max(other.end)
            }
        })
    }
}
