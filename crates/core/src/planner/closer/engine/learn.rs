//! What a dead end teaches: a clause over the latest single fact that leads there (first unique implication point;
//! Marques-Silva and Sakallah, "GRASP", IEEE Transactions on Computers 48 (1999)).

use super::{Clash, Engine, Fact, Reason, Side};
use std::collections::{BTreeMap, BinaryHeap};

const NONE: i64 = i64::MIN;
/// How far back it is looked whether a fact follows from others.
const DEPTH_MAX: u32 = 12;

/// Room for learning, used again.
#[derive(Debug, Default)]
pub(super) struct Learn {
    /// Per side, what it must be at least for the dead end, and the raise by which it was.
    need: Vec<i64>,
    raise: Vec<usize>,
    sides: Vec<Side>,
    heap: BinaryHeap<(usize, Side)>,
    /// How many are needed that came after the latest choice.
    late: usize,
}

impl Learn {
    pub(super) fn add_side(&mut self) {
        self.need.push(NONE);
        self.raise.push(0);
    }
}

/// What is known while it is looked whether facts follow from others, and the lessons by which they do.
struct Look<'u> {
    known: BTreeMap<Fact, bool>,
    used: &'u mut Vec<usize>,
}

impl Engine {
    /// Learns from a dead end and goes back to where the lesson tells something new.
    pub(super) fn resolve(&mut self, clash: Clash) {
        if clash.facts.iter().any(|fact| !self.holds(*fact)) {
            self.broken = true;
            return;
        }
        let mut used: Vec<usize> = self.rules.lesson_of(clash.reason).into_iter().collect();
        let latest = clash.facts.iter().filter_map(|fact| self.raise_of(*fact)).max();
        // What comes after the latest fact has no part in it.
        let before = |latest| self.choices.partition_point(|from| *from <= latest);
        let choices = latest.map_or(0, before);
        if choices == 0 {
            self.log.rests_on(clash.reason, &self.rules);
            self.shut = true;
            return;
        }
        self.take_back(choices);
        let from = self.choices[choices - 1];
        for fact in clash.facts {
            self.need(fact, from);
        }
        let Some(point) = self.point(from, &mut used).filter(|_| !self.broken) else {
            self.broken = true;
            return;
        };
        let (facts, spread, back) = self.lesson(point, &mut used);
        self.forget();
        self.order.fade();
        self.take_back(back);
        let not = !point;
        let mut clause = vec![not];
        clause.extend(facts);
        let lesson = self.log.note(&clause, &mut used);
        if clause.len() == 1 {
            self.log.rests_on_lesson(lesson);
            self.shut |= !self.raise(not, Reason::Choice);
            return;
        }
        let clause = self.rules.learn(clause, spread, lesson);
        self.raise(not, Reason::Clause(clause));
    }

    /// Notes that a fact is needed for the dead end.
    fn need(&mut self, fact: Fact, from: usize) {
        if !self.holds(fact) {
            // Cannot be: whatever something follows from held before it.
            self.broken = true;
            return;
        }
        let Some(raise) = self.raise_of(fact) else { return };
        let side = fact.side;
        let known = self.learn.need[side];
        if known >= fact.least {
            return;
        }
        let was_late = known != NONE && self.learn.raise[side] >= from;
        if known == NONE {
            self.learn.sides.push(side);
            self.order.bump(side / 2);
        }
        self.learn.need[side] = fact.least;
        self.learn.raise[side] = raise;
        if raise >= from {
            self.learn.late += usize::from(!was_late);
            self.learn.heap.push((raise, side));
        }
    }

    /// The latest single fact that leads to the dead end.
    fn point(&mut self, from: usize, used: &mut Vec<usize>) -> Option<Fact> {
        let mut why = Vec::new();
        loop {
            let (raise, side) = self.learn.heap.pop()?;
            if self.learn.need[side] == NONE || self.learn.raise[side] != raise {
                continue;
            }
            let fact = Fact { side, least: self.learn.need[side] };
            if self.learn.late == 1 {
                return Some(fact);
            }
            self.learn.need[side] = NONE;
            self.learn.late -= 1;
            why.clear();
            let reason = self.trail[raise].reason;
            used.extend(self.rules.lesson_of(reason));
            self.explain(fact, reason, raise, &mut why);
            for fact in why.drain(..) {
                self.need(fact, from);
            }
        }
    }

    /// The lesson without its point: the facts of which one holds otherwise, the latest first; over how many choices
    /// they reach; and how many choices stay.
    fn lesson(&self, point: Fact, used: &mut Vec<usize>) -> (Vec<Fact>, usize, usize) {
        let needed = self.learn.sides.iter().copied();
        let needed = needed.filter(|side| self.learn.need[*side] != NONE && *side != point.side);
        let mut sides: Vec<(usize, Side)> =
            needed.map(|side| (self.learn.raise[side], side)).collect();
        sides.sort_unstable();
        sides.dedup();
        let mut look = Look { known: BTreeMap::new(), used };
        sides.retain(|(raise, side)| {
            let fact = Fact { side: *side, least: self.learn.need[*side] };
            !self.follows(fact, *raise, (0, &mut look))
        });
        let level = |raise: usize| self.choices.partition_point(|from| *from <= raise);
        let mut levels: Vec<usize> = sides.iter().map(|(raise, _)| level(*raise)).collect();
        let back = levels.last().copied().unwrap_or(0);
        levels.dedup();
        let facts = sides.iter().rev();
        let facts = facts.map(|(_, side)| !Fact { side: *side, least: self.learn.need[*side] });
        (facts.collect(), levels.len() + 1, back)
    }

    /// Whether a fact follows from others that are needed and came before it, at once or by way of further ones.
    fn follows(&self, fact: Fact, raise: usize, (depth, look): (u32, &mut Look<'_>)) -> bool {
        let reason = self.trail.get(raise).map_or(Reason::Choice, |raise| raise.reason);
        if matches!(reason, Reason::Choice) || depth > DEPTH_MAX {
            return false;
        }
        let mut why = Vec::new();
        self.explain(fact, reason, raise, &mut why);
        let all = why.into_iter().all(|fact| {
            let need = self.learn.need[fact.side];
            if need >= fact.least && self.learn.raise[fact.side] < raise {
                return true;
            }
            let Some(raise) = self.raise_of(fact) else { return true };
            if let Some(known) = look.known.get(&fact) {
                return *known;
            }
            let follows = self.follows(fact, raise, (depth + 1, &mut *look));
            look.known.insert(fact, follows);
            follows
        });
        if all {
            look.used.extend(self.rules.lesson_of(reason));
        }
        all
    }

    fn forget(&mut self) {
        for side in self.learn.sides.drain(..) {
            self.learn.need[side] = NONE;
        }
        self.learn.heap.clear();
        self.learn.late = 0;
    }
}
