//! What a plan is worth when one step is taken out and put somewhere else, exactly and without trying it.
//!
//! With the step out of its machine's order, starts and tails are worked out once. Put between two steps
//! of a machine, the longest way through it is the latest end before it, its minutes, and the longest
//! tail behind it; every other way is as long as without it. So each spot costs a few sums.
//!
//! Source of the idea: Mastrolilli, Gambardella, "Effective neighbourhood functions for the flexible job
//! shop problem", J. of Scheduling 3 (2000). There the spots are cut down to those known to be best; here
//! all that are seen to make no circle are measured.

use super::line::{Line, NO_WAY, Spot, tails};
use super::{Choice, Machines};

/// The plan without one step, in memory that is used again.
#[derive(Debug, Clone, Default)]
pub(super) struct Removal {
    step: usize,
    start: Vec<i32>,
    minutes: Vec<i32>,
    tail: Vec<i32>,
    finish: Vec<i32>,
    /// By lane: the longest tail behind the step, in the spot looked at.
    behind: Vec<i32>,
}

/// What a spot is worth: the plan's cost, and of equal ones the shorter way through the step.
pub(super) type Value = (i64, i32);

impl Removal {
    /// Takes a step out of its machine's order.
    pub(super) fn take_out(&mut self, shop: &Machines, line: &Line, step: usize) {
        let lanes = shop.goal.lanes();
        self.step = step;
        self.start.clone_from(&line.start);
        self.minutes.clone_from(&line.minutes);
        self.tail.clone_from(&line.tail);
        self.minutes[step] = 0;
        let (previous, next) = (line.previous[step], line.next[step]);
        let rank = line.rank[step];
        for other in &line.sorted[rank..] {
            let on_machine = match line.previous[*other] {
                _ if *other == step => None,
                Some(before) if before == step => previous,
                before => before,
            };
            let waited = shop.before(*other).into_iter().chain(on_machine);
            let ends = waited.map(|before| self.start[before] + self.minutes[before]);
            self.start[*other] = ends.fold(shop.release[*other], i32::max);
        }
        for other in line.sorted[..=rank].iter().rev() {
            let on_machine = match line.next[*other] {
                _ if *other == step => None,
                Some(after) if after == step => next,
                after => after,
            };
            let next = [shop.after(*other), on_machine];
            tails(shop, &mut self.tail, &self.minutes, *other, next);
        }
        self.finish.clear();
        self.finish.resize(lanes, NO_WAY);
        for (job, last) in shop.last.iter().enumerate() {
            let lane = if lanes == 1 { 0 } else { job };
            self.finish[lane] = self.finish[lane].max(self.start[*last] + self.minutes[*last]);
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
        let (before, after) = (shop.before(step), shop.after(step));
        let ready = before.map_or(NO_WAY, |b| self.end(b)).max(shop.release[step]);
        for (choice, chosen) in shop.choices[step].iter().enumerate() {
            let order = &line.order[chosen.machine];
            let here = line.choice[step] == choice;
            let mut at = 0;
            let mut left: Option<usize> = None;
            for right in order.iter().copied().map(Some).chain([None]) {
                if right == Some(step) {
                    continue;
                }
                // Behind a step that waits for it, or before one that it waits for, it cannot go.
                if left.is_some_and(|left| self.may_wait_for(left, after)) {
                    break;
                }
                let circle = right.is_some_and(|right| {
                    before.is_some_and(|before| self.may_wait_for(before, Some(right)))
                });
                let stands_there = here && left == line.previous[step];
                if !circle && !stands_there {
                    let from = left.map_or(NO_WAY, |left| self.end(left)).max(ready);
                    each(Spot { choice, at }, self.value(shop, *chosen, from, [after, right]));
                }
                at += 1;
                left = right;
            }
        }
    }

    fn end(&self, step: usize) -> i32 {
        self.start[step] + self.minutes[step]
    }

    /// False only where the first step does not have to wait for the second, directly or not.
    fn may_wait_for(&self, one: usize, other: Option<usize>) -> bool {
        other.is_some_and(|other| one == other || self.start[one] >= self.end(other))
    }

    fn value(
        &mut self,
        shop: &Machines,
        chosen: Choice,
        from: i32,
        next: [Option<usize>; 2],
    ) -> Value {
        let end = from + chosen.minutes;
        let lanes = shop.goal.lanes();
        if lanes == 1 {
            let ways = next.into_iter().flatten().map(|n| self.tail[n] + self.minutes[n]);
            let through = end + ways.fold(0, i32::max);
            let last = self.finish[0].max(through);
            return (shop.goal.cost(std::iter::once(last)), through);
        }
        self.behind.clear();
        self.behind.resize(lanes, NO_WAY);
        if next[0].is_none() {
            self.behind[shop.job[self.step]] = 0;
        }
        for other in next.into_iter().flatten() {
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
