//! A plan of a shop of machines: the order of the steps on each machine, and the longest ways to and from
//! each step that follow from it.

use super::chains::NO_WAY;
use super::{Choice, Machines};

/// A plan under way.
#[derive(Debug, Clone)]
pub(super) struct Line {
    /// By step: which of its choices it takes.
    pub(super) choice: Vec<usize>,
    /// By step (and none): how long it takes there.
    pub(super) minutes: Vec<i32>,
    /// By machine: its steps in order.
    pub(super) order: Vec<Vec<usize>>,
    /// By step (and none): the one before it and the one after it on its machine.
    pub(super) previous: Vec<usize>,
    pub(super) next: Vec<usize>,
    /// All steps, none before one that it waits for; and where each stands in there.
    pub(super) sorted: Vec<usize>,
    pub(super) rank: Vec<usize>,
    /// By step: its start.
    pub(super) start: Vec<i32>,
    /// By step (and none): its end.
    pub(super) end: Vec<i32>,
    /// By step (and none) and lane: the longest way from the step's end to the finish, in minutes.
    pub(super) tail: Vec<i32>,
    /// By lane: the finish.
    pub(super) finish: Vec<i32>,
    pub(super) cost: i64,
    waiting: Vec<u8>,
}

/// Where a step is put: one of its choices, and the place in that machine's order without it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Spot {
    pub(super) choice: usize,
    pub(super) at: usize,
}

impl Line {
    /// A plan with these choices and orders; none where steps would wait for each other in a circle.
    pub(super) fn new(shop: &Machines, choice: Vec<usize>, order: Vec<Vec<usize>>) -> Option<Self> {
        let count = shop.count();
        let minutes = (0..count).map(|step| shop.choices[step][choice[step]].minutes);
        let minutes = minutes.chain([0]).collect();
        let lanes = shop.goal.lanes();
        let mut line = Self {
            choice,
            minutes,
            order,
            previous: vec![count; count + 1],
            next: vec![count; count + 1],
            sorted: Vec::with_capacity(count),
            rank: vec![0; count],
            start: vec![0; count],
            end: vec![NO_WAY; count + 1],
            tail: vec![if lanes == 1 { 0 } else { NO_WAY }; (count + 1) * lanes],
            finish: vec![0; lanes],
            cost: 0,
            waiting: vec![0; count],
        };
        (0..line.order.len()).for_each(|machine| line.link(machine));
        line.measure(shop).then_some(line)
    }

    pub(super) fn chosen(&self, shop: &Machines, step: usize) -> Choice {
        shop.choices[step][self.choice[step]]
    }

    /// Puts a step elsewhere; says false where that makes a circle, and then measures nothing.
    pub(super) fn put(&mut self, shop: &Machines, step: usize, spot: Spot) -> bool {
        let from = self.chosen(shop, step).machine;
        self.order[from].retain(|other| *other != step);
        let to = shop.choices[step][spot.choice];
        self.choice[step] = spot.choice;
        self.minutes[step] = to.minutes;
        let at = spot.at.min(self.order[to.machine].len());
        self.order[to.machine].insert(at, step);
        self.link(from);
        if to.machine != from {
            self.link(to.machine);
        }
        self.measure(shop)
    }

    fn link(&mut self, machine: usize) {
        let none = self.choice.len();
        let mut before = none;
        for step in self.order[machine].iter().copied() {
            self.previous[step] = before;
            self.next[before] = step;
            before = step;
        }
        self.next[before] = none;
        self.next[none] = none;
    }

    /// Works out order, starts, tails, finishes and cost; false where there is a circle.
    fn measure(&mut self, shop: &Machines) -> bool {
        if !self.sort(shop) {
            return false;
        }
        let lanes = shop.goal.lanes();
        for step in self.sorted.iter().rev() {
            let next = [shop.chains.after[*step], self.next[*step]];
            tails(shop, &mut self.tail, &self.minutes, *step, next);
        }
        self.finish.fill(NO_WAY);
        for (job, last) in shop.last.iter().enumerate() {
            let lane = if lanes == 1 { 0 } else { job };
            self.finish[lane] = self.finish[lane].max(self.end[*last]);
        }
        self.cost = shop.goal.cost(self.finish.iter().copied());
        true
    }

    /// Puts every step behind those that it waits for, and works out starts and ends on the way.
    fn sort(&mut self, shop: &Machines) -> bool {
        let chains = &shop.chains;
        let none = chains.none;
        self.sorted.clear();
        for step in 0..none {
            let waits =
                u8::from(chains.before[step] != none) + u8::from(self.previous[step] != none);
            self.waiting[step] = waits;
            if waits == 0 {
                self.sorted.push(step);
            }
        }
        let mut at = 0;
        while let Some(step) = self.sorted.get(at).copied() {
            self.rank[step] = at;
            at += 1;
            let ready = self.end[chains.before[step]].max(self.end[self.previous[step]]);
            self.start[step] = ready.max(chains.release[step]);
            self.end[step] = self.start[step] + self.minutes[step];
            for other in [chains.after[step], self.next[step]] {
                if other == none {
                    continue;
                }
                self.waiting[other] -= 1;
                if self.waiting[other] == 0 {
                    self.sorted.push(other);
                }
            }
        }
        self.sorted.len() == none
    }
}

/// Works out the tails of a step from those of the steps that follow it directly.
pub(super) fn tails(
    shop: &Machines,
    tail: &mut [i32],
    minutes: &[i32],
    step: usize,
    next: [usize; 2],
) {
    let lanes = shop.goal.lanes();
    if lanes == 1 {
        let ways = next.map(|other| tail[other] + minutes[other]);
        tail[step] = ways[0].max(ways[1]);
        return;
    }
    let from = step * lanes;
    tail[from..from + lanes].fill(NO_WAY);
    if next[0] == shop.chains.none {
        tail[from + shop.job[step]] = 0;
    }
    for other in next.into_iter().filter(|other| *other != shop.chains.none) {
        let more = minutes[other];
        let (low, high) = tail.split_at_mut(from.max(other * lanes));
        let (mine, others) = if other * lanes > from {
            (&mut low[from..from + lanes], &high[..lanes])
        } else {
            (&mut high[..lanes], &low[other * lanes..(other + 1) * lanes])
        };
        for (mine, other) in mine.iter_mut().zip(others) {
            *mine = (*mine).max(*other + more);
        }
    }
}
