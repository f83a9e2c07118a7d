//! A plan of a shop of machines: the order of the steps on each machine, and the longest ways to and from
//! each step that follow from it.

use super::{Choice, Machines};

/// No way at all; far below any length, and adding to it cannot overflow.
pub(super) const NO_WAY: i32 = i32::MIN / 2;

/// A plan under way.
#[derive(Debug, Clone)]
pub(super) struct Line {
    /// By step: which of its choices it takes.
    pub(super) choice: Vec<usize>,
    /// By step: how long it takes there.
    pub(super) minutes: Vec<i32>,
    /// By machine: its steps in order.
    pub(super) order: Vec<Vec<usize>>,
    /// By step: the one before it and the one after it on its machine.
    pub(super) previous: Vec<Option<usize>>,
    pub(super) next: Vec<Option<usize>>,
    /// All steps, none before one that it waits for; and where each stands in there.
    pub(super) sorted: Vec<usize>,
    pub(super) rank: Vec<usize>,
    /// By step: its start.
    pub(super) start: Vec<i32>,
    /// By step and lane: the longest way from the step's end to the finish, in minutes.
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
        let minutes = (0..count).map(|step| shop.choices[step][choice[step]].minutes).collect();
        let mut line = Self {
            choice,
            minutes,
            order,
            previous: vec![None; count],
            next: vec![None; count],
            sorted: Vec::with_capacity(count),
            rank: vec![0; count],
            start: vec![0; count],
            tail: vec![NO_WAY; count * shop.goal.lanes()],
            finish: vec![0; shop.goal.lanes()],
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
        let mut before = None;
        for step in &self.order[machine] {
            self.previous[*step] = before;
            self.next[*step] = None;
            if let Some(before) = before {
                self.next[before] = Some(*step);
            }
            before = Some(*step);
        }
    }

    /// Works out order, starts, tails, finishes and cost; false where there is a circle.
    fn measure(&mut self, shop: &Machines) -> bool {
        let count = shop.count();
        self.sorted.clear();
        for step in 0..count {
            let waits =
                u8::from(shop.before(step).is_some()) + u8::from(self.previous[step].is_some());
            self.waiting[step] = waits;
            if waits == 0 {
                self.sorted.push(step);
            }
        }
        let mut at = 0;
        while let Some(step) = self.sorted.get(at).copied() {
            self.rank[step] = at;
            at += 1;
            let waited = shop.before(step).into_iter().chain(self.previous[step]);
            let ends = waited.map(|other| self.start[other] + self.minutes[other]);
            self.start[step] = ends.fold(shop.release[step], i32::max);
            for other in shop.after(step).into_iter().chain(self.next[step]) {
                self.waiting[other] -= 1;
                if self.waiting[other] == 0 {
                    self.sorted.push(other);
                }
            }
        }
        if self.sorted.len() < count {
            return false;
        }
        let lanes = shop.goal.lanes();
        for step in self.sorted.iter().rev() {
            let next = [shop.after(*step), self.next[*step]];
            tails(shop, &mut self.tail, &self.minutes, *step, next);
        }
        self.finish.fill(NO_WAY);
        for (job, last) in shop.last.iter().enumerate() {
            let lane = if lanes == 1 { 0 } else { job };
            self.finish[lane] = self.finish[lane].max(self.start[*last] + self.minutes[*last]);
        }
        self.cost = shop.goal.cost(self.finish.iter().copied());
        true
    }
}

/// Works out the tails of a step from those of the steps that follow it directly.
pub(super) fn tails(
    shop: &Machines,
    tail: &mut [i32],
    minutes: &[i32],
    step: usize,
    next: [Option<usize>; 2],
) {
    let lanes = shop.goal.lanes();
    if lanes == 1 {
        let ways = next.into_iter().flatten().map(|other| tail[other] + minutes[other]);
        tail[step] = ways.fold(0, i32::max);
        return;
    }
    let from = step * lanes;
    tail[from..from + lanes].fill(NO_WAY);
    if next[0].is_none() {
        tail[from + shop.job[step]] = 0;
    }
    for other in next.into_iter().flatten() {
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
