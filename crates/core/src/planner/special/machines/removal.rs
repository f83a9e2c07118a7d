//! What a plan is worth when one step is taken out and put somewhere else, exactly and without trying it.
//!
//! With the step out of its machine's order, starts and tails are worked out once. Put between two steps
//! of a machine, the longest way through it is the latest end before it, its minutes, and the longest
//! tail behind it; every other way is as long as without it. So each spot costs a few sums.
//!
//! Source of the idea: Mastrolilli, Gambardella, "Effective neighbourhood functions for the flexible job
//! shop problem", J. of Scheduling 3 (2000). There the spots are cut down to those known to be best; here
//! all that are seen to make no circle are measured.

use super::chains::NO_WAY;
use super::line::{Line, Spot, tails};
use super::{Choice, Machines};

/// The plan without one step, in memory that is used again.
#[derive(Debug, Clone, Default)]
pub(super) struct Removal {
    step: usize,
    /// By step (and none), as in a plan; the step that is out takes no time.
    end: Vec<i32>,
    minutes: Vec<i32>,
    tail: Vec<i32>,
    /// By step: whether its end, or then its tail, is another one than in the plan.
    differs: Vec<bool>,
    finish: Vec<i32>,
    /// By lane: the longest tail behind the step, in the spot looked at.
    behind: Vec<i32>,
}

/// What a spot is worth: the plan's cost, and of equal ones the shorter way through the step.
pub(super) type Value = (i64, i32);

impl Removal {
    /// Takes a step out of its machine's order.
    pub(super) fn take_out(&mut self, shop: &Machines, line: &Line, step: usize) {
        self.step = step;
        self.end.clone_from(&line.end);
        self.minutes.clone_from(&line.minutes);
        self.tail.clone_from(&line.tail);
        self.minutes[step] = 0;
        self.pass_on(shop, line);
        self.pass_back(shop, line);
        let lanes = shop.goal.lanes();
        self.finish.clear();
        self.finish.resize(lanes, NO_WAY);
        for (job, last) in shop.last.iter().enumerate() {
            let lane = if lanes == 1 { 0 } else { job };
            self.finish[lane] = self.finish[lane].max(self.end[*last]);
        }
    }

    /// Works out the ends from the step on, of those only that wait for one with another end.
    fn pass_on(&mut self, shop: &Machines, line: &Line) {
        let (step, chains) = (self.step, &shop.chains);
        self.differs.clear();
        self.differs.resize(chains.none + 1, false);
        self.end[step] = self.end[chains.before[step]].max(chains.release[step]);
        self.differs[step] = true;
        let next = line.next[step];
        for other in line.sorted[line.rank[step] + 1..].iter().copied() {
            let mut previous = line.previous[other];
            if !self.differs[chains.before[other]] && !self.differs[previous] {
                continue;
            }
            if other == next {
                previous = line.previous[step];
            }
            let ready = self.end[chains.before[other]].max(self.end[previous]);
            let end = ready.max(chains.release[other]) + self.minutes[other];
            self.differs[other] = end != self.end[other];
            self.end[other] = end;
        }
    }

    /// Works out the tails from the step back, of those only that are followed by one with another tail.
    fn pass_back(&mut self, shop: &Machines, line: &Line) {
        let (step, chains) = (self.step, &shop.chains);
        self.differs.fill(false);
        self.differs[step] = true;
        let one_lane = shop.goal.lanes() == 1;
        let previous = line.previous[step];
        tails(shop, &mut self.tail, &self.minutes, step, [chains.after[step], chains.none]);
        for other in line.sorted[..line.rank[step]].iter().rev().copied() {
            let mut next = line.next[other];
            if !self.differs[chains.after[other]] && !self.differs[next] {
                continue;
            }
            if other == previous {
                next = line.next[step];
            }
            let before = self.tail[if one_lane { other } else { 0 }];
            tails(shop, &mut self.tail, &self.minutes, other, [chains.after[other], next]);
            self.differs[other] = !one_lane || self.tail[other] != before;
        }
    }

    /// Looks at every spot for the step that makes no circle.
    pub(super) fn each_spot(
        &mut self,
        shop: &Machines,
        line: &Line,
        mut each: impl FnMut(Spot, Value),
    ) {
        let step = self.step;
        let none = shop.chains.none;
        let (before, after) = (shop.chains.before[step], shop.chains.after[step]);
        let ready = self.end[before].max(shop.chains.release[step]);
        for (choice, chosen) in shop.choices[step].iter().enumerate() {
            let order = &line.order[chosen.machine];
            let here = line.choice[step] == choice;
            let mut at = 0;
            let mut left = none;
            for right in order.iter().copied().chain([none]) {
                if right == step {
                    continue;
                }
                // Behind a step that waits for it, or before one that it waits for, it cannot go.
                if left != none && after != none && self.may_wait_for(left, after) {
                    break;
                }
                let circle = right != none && before != none && self.may_wait_for(before, right);
                let stands_there = here && left == line.previous[step];
                if !circle && !stands_there {
                    let from = self.end[left].max(ready);
                    each(Spot { choice, at }, self.value(shop, *chosen, from, [after, right]));
                }
                at += 1;
                left = right;
            }
        }
    }

    /// False only where the first step does not have to wait for the second, directly or not.
    fn may_wait_for(&self, one: usize, other: usize) -> bool {
        one == other || self.end[one] - self.minutes[one] >= self.end[other]
    }

    fn value(&mut self, shop: &Machines, chosen: Choice, from: i32, next: [usize; 2]) -> Value {
        let end = from + chosen.minutes;
        let lanes = shop.goal.lanes();
        if lanes == 1 {
            let ways = next.map(|other| self.tail[other] + self.minutes[other]);
            let through = end + ways[0].max(ways[1]);
            let last = self.finish[0].max(through);
            return (shop.goal.cost(std::iter::once(last)), through);
        }
        self.behind.clear();
        self.behind.resize(lanes, NO_WAY);
        if next[0] == shop.chains.none {
            self.behind[shop.job[self.step]] = 0;
        }
        for other in next.into_iter().filter(|other| *other != shop.chains.none) {
            let more = self.minutes[other];
            let tail = &self.tail[other * lanes..(other + 1) * lanes];
            for (mine, other) in self.behind.iter_mut().zip(tail) {
                *mine = (*mine).max(*other + more);
            }
        }
        let ways = self.behind.iter().map(|behind| *behind + end);
        let through = ways.clone().max().unwrap_or(NO_WAY);
        let finishes = self.finish.iter().zip(ways).map(|(finish, way)| (*finish).max(way));
        (shop.goal.cost(finishes), through)
    }
}
