//! The search over orders: improve, disturb a little, improve again; after some kicks in vain begin
//! anew, near the best order or somewhere else.
//!
//! Source for kicks and returns: Congram, Potts, van de Velde (2002), see `dynasearch`.

use super::Single;
use super::dynasearch::Dynasearch;
use crate::planner::seeded::Seeded;

/// Positions looked at in one epoch.
const EFFORT_PER_EPOCH: u64 = 1_500_000;
/// Kicks in vain after which the walk begins anew.
const STALE_KICKS_MAX: u32 = 12;
/// Epochs without a gain after which the search is called settled.
const STALE_EPOCHS_MAX: u32 = 25;

/// One walk under way.
#[derive(Debug, Clone)]
pub(in crate::planner::special) struct Walk {
    order: Vec<usize>,
    cost: i64,
    best: Vec<usize>,
    best_cost: i64,
    stale_kicks: u32,
    stale_epochs: u32,
    dynasearch: Dynasearch,
    random: Seeded,
}

impl Walk {
    pub(in crate::planner::special) fn new(single: &Single, random: Seeded) -> Self {
        let order = by_urgency(single);
        let cost = single.cost_of(&order);
        Self {
            best: order.clone(),
            best_cost: cost,
            order,
            cost,
            stale_kicks: 0,
            stale_epochs: 0,
            dynasearch: Dynasearch::default(),
            random,
        }
    }

    /// The best order so far and its cost, the makespan apart.
    pub(in crate::planner::special) fn best(&self) -> (i64, &[usize]) {
        (self.best_cost, &self.best)
    }

    /// Whether nothing better has come up for long.
    pub(in crate::planner::special) fn is_settled(&self) -> bool {
        self.stale_epochs >= STALE_EPOCHS_MAX
    }

    /// Walks on for a fixed effort, or until nothing can be better than `bound`.
    pub(in crate::planner::special) fn epoch(&mut self, single: &Single, bound: i64) {
        let before = self.best_cost;
        let until = self.dynasearch.effort + EFFORT_PER_EPOCH;
        while self.dynasearch.effort < until && self.best_cost > bound {
            let mut order = self.next_order();
            let cost = self.dynasearch.improve(single, &mut order);
            // An order that costs the same is walked to, but is no gain.
            self.stale_kicks += 1;
            if cost < self.cost {
                self.stale_kicks = 0;
            }
            if cost <= self.cost {
                self.order = order;
                self.cost = cost;
            }
            if self.cost < self.best_cost {
                self.best_cost = self.cost;
                self.best.clone_from(&self.order);
            }
        }
        self.stale_epochs = if self.best_cost < before { 0 } else { self.stale_epochs + 1 };
    }

    /// Where the next descent begins.
    fn next_order(&mut self) -> Vec<usize> {
        if self.stale_kicks < STALE_KICKS_MAX {
            let mut order = self.order.clone();
            let kicks = 4 + self.random.below(4);
            self.kick(&mut order, kicks);
            return order;
        }
        self.stale_kicks = 0;
        // What follows is where the walk goes on, whatever it costs.
        self.cost = i64::MAX;
        let mut order = self.best.clone();
        if self.random.below(2) == 0 {
            self.random.shuffle(&mut order);
        } else {
            let kicks = 8 + self.random.below(8);
            self.kick(&mut order, kicks);
        }
        order
    }

    /// Swaps so many pairs of jobs that stand near each other.
    fn kick(&mut self, order: &mut [usize], kicks: usize) {
        for _ in 0..kicks {
            let reach = 1 + self.random.below(8.min(order.len() - 1));
            let first = self.random.below(order.len() - reach);
            order.swap(first, first + reach);
        }
    }
}

/// Jobs by what their lateness costs for each minute of work, those that would be in time later less.
///
/// Source: Vepsalainen, Morton, "Priority rules for job shops with weighted tardiness costs", Management
/// Science 33 (1987), with a look-ahead of two.
fn by_urgency(single: &Single) -> Vec<usize> {
    let count = single.tasks.len();
    let mut left: Vec<usize> = (0..count).collect();
    let total: i64 = single.tasks.iter().map(|task| task.minutes).sum();
    let mut at = single.start;
    let mut order = Vec::with_capacity(count);
    while !left.is_empty() {
        // Whole numbers, so that every machine finds the same order: slack in parts of the look-ahead.
        let key = |job: &usize| {
            let task = single.tasks[*job];
            let slack = i128::from((task.due - task.minutes - at).max(0));
            let ahead = 2 * i128::from(total);
            let worth = i128::from(task.late) * ahead * 1_000_000;
            worth / (i128::from(task.minutes) * (ahead + slack * (count as i128) * 2))
        };
        let best =
            (0..left.len()).max_by_key(|place| (key(&left[*place]), -left[*place].cast_signed()));
        let job = left.remove(best.unwrap_or(0));
        at += single.tasks[job].minutes;
        order.push(job);
    }
    order
}
