//! The rules and what follows from them.

use super::{Clash, Engine, Fact, Number, Reason, SURE, Side};

/// Facts of which one holds; the first two are watched.
#[derive(Debug)]
pub(super) struct Clause {
    pub(super) facts: Vec<Fact>,
    /// For a learned one, over how many choices it reaches; none for a given one.
    pub(super) spread: Option<usize>,
    /// Its number in the log, where it was learned and noted.
    pub(super) lesson: Option<usize>,
}

/// Where `when` holds, `to` is at least `from` and so much more.
#[derive(Debug, Clone, Copy)]
pub(super) struct Gap {
    pub(super) when: Fact,
    pub(super) from: Side,
    pub(super) plus: i64,
    pub(super) to: Side,
}

/// Where `when` holds, the terms add up to at most so much; the factors are above 0.
#[derive(Debug)]
pub(super) struct Sum {
    pub(super) when: Fact,
    pub(super) terms: Vec<(i64, Side)>,
    pub(super) most: i64,
    /// What the numbers are counted from, times the factors.
    shift: i64,
}

/// A clause that is looked at when a fact of a side can no longer hold.
#[derive(Debug, Clone, Copy)]
struct Watch {
    least: i64,
    clause: usize,
    /// A fact of the clause: while it holds there is nothing to do.
    other: Fact,
}

#[derive(Debug, Default)]
pub(super) struct Rules {
    pub(super) clauses: Vec<Clause>,
    pub(super) gaps: Vec<Gap>,
    pub(super) sums: Vec<Sum>,
    /// Per side of the fact watched.
    watches: Vec<Vec<Watch>>,
    /// Per side that is raised.
    gaps_of: Vec<Vec<usize>>,
    sums_of: Vec<Vec<usize>>,
    learned: usize,
}

impl Rules {
    pub(super) fn add_side(&mut self) {
        self.watches.push(Vec::new());
        self.gaps_of.push(Vec::new());
        self.sums_of.push(Vec::new());
    }

    pub(super) fn learned(&self) -> usize {
        self.learned
    }

    fn watch(&mut self, clause: usize) {
        let facts = &self.clauses[clause].facts;
        for (fact, other) in [(facts[0], facts[1]), (facts[1], facts[0])] {
            self.watches[fact.side].push(Watch { least: fact.least, clause, other });
        }
    }

    /// Adds a clause of two facts or more.
    fn add_clause(&mut self, clause: Clause) -> usize {
        let at = self.clauses.len();
        self.learned += usize::from(clause.spread.is_some());
        self.clauses.push(clause);
        self.watch(at);
        at
    }

    /// Adds a learned clause of two facts or more: over how many choices it reaches, and its number in the log.
    pub(super) fn learn(
        &mut self,
        facts: Vec<Fact>,
        spread: usize,
        lesson: Option<usize>,
    ) -> usize {
        self.add_clause(Clause { facts, spread: Some(spread), lesson })
    }

    /// The lesson by which something holds, where it is one.
    pub(super) fn lesson_of(&self, reason: Reason) -> Option<usize> {
        match reason {
            Reason::Clause(clause) => self.clauses[clause].lesson,
            Reason::Choice | Reason::Gap(_) | Reason::GapOff(_) => None,
            Reason::Sum(_) | Reason::SumOff(_) => None,
        }
    }

    /// Forgets the half of the learned clauses that reach furthest, and all that hold for good. Nothing may rest on
    /// a clause at that moment.
    pub(super) fn clear_out(&mut self, ground: &[i64]) {
        let mut spreads: Vec<usize> =
            self.clauses.iter().filter_map(|clause| clause.spread).collect();
        spreads.sort_unstable();
        let middle = spreads.get(spreads.len() / 2).copied().unwrap_or(0).max(2);
        let mut room = spreads.len() / 2;
        let mut kept = Vec::with_capacity(self.clauses.len());
        // Of those that reach equally far the newest stay.
        for clause in std::mem::take(&mut self.clauses).into_iter().rev() {
            let settled = clause.facts.iter().any(|fact| ground[fact.side] >= fact.least);
            let stays = match clause.spread {
                None => true,
                Some(spread) if spread < middle || spread <= 2 => true,
                Some(spread) if spread == middle && room > 0 => {
                    room -= 1;
                    true
                }
                Some(_) => false,
            };
            if stays && !settled {
                kept.push(clause);
            }
        }
        kept.reverse();
        self.clauses = kept;
        self.learned = self.clauses.iter().filter(|clause| clause.spread.is_some()).count();
        self.watches.iter_mut().for_each(Vec::clear);
        for clause in 0..self.clauses.len() {
            // Facts that cannot hold for good must not be watched.
            let facts = &mut self.clauses[clause].facts;
            facts.retain(|fact| {
                let not = !*fact;
                ground[not.side] < not.least
            });
            if facts.len() >= 2 {
                self.watch(clause);
            }
        }
    }
}

impl Engine {
    /// One of the facts holds.
    pub(in crate::planner::closer) fn any_of(&mut self, facts: &[Fact]) {
        self.reset();
        if facts.iter().any(|fact| self.holds(*fact)) {
            return;
        }
        let mut facts: Vec<Fact> =
            facts.iter().copied().filter(|fact| !self.fails(*fact)).collect();
        // Of two facts about one side the weaker says it all.
        facts.sort_unstable();
        facts.dedup_by_key(|fact| fact.side);
        match facts.as_slice() {
            [] => self.shut = true,
            [only] => self.shut |= !self.raise(*only, Reason::Choice),
            _ => {
                self.rules.add_clause(Clause { facts, spread: None, lesson: None });
            }
        }
    }

    /// Where a fact holds, one number is at least another and so much more.
    pub(in crate::planner::closer) fn gap(
        &mut self,
        when: Fact,
        from: Number,
        plus: i64,
        to: Number,
    ) {
        self.reset();
        if self.fails(when) || self.high(from) + plus <= self.low(to) {
            return;
        }
        let plus = plus + from.plus - to.plus;
        let (from, to) = (from.side(), to.side());
        for (from, to) in [(from, to), (to ^ 1, from ^ 1)] {
            let at = self.rules.gaps.len();
            self.rules.gaps.push(Gap { when, from, plus, to });
            self.rules.gaps_of[from].push(at);
            if when != SURE {
                self.rules.gaps_of[when.side].push(at);
            }
            self.shut |= self.apply_gap(at).is_some();
        }
    }

    /// Where a fact holds, numbers times factors add up to at most so much.
    pub(in crate::planner::closer) fn sum(
        &mut self,
        when: Fact,
        terms: &[(i64, Number)],
        most: i64,
    ) -> usize {
        self.reset();
        let shift: i64 = terms.iter().map(|(factor, number)| factor * number.plus).sum();
        let most = most - shift;
        let terms = terms.iter().filter(|(factor, _)| *factor != 0).map(|(factor, number)| {
            let side = number.side();
            (factor.abs(), if *factor > 0 { side } else { side ^ 1 })
        });
        let terms: Vec<(i64, Side)> = terms.collect();
        let at = self.rules.sums.len();
        let mut sides: Vec<Side> = terms.iter().map(|(_, side)| *side).collect();
        if when != SURE {
            sides.push(when.side);
        }
        sides.sort_unstable();
        sides.dedup();
        for side in sides {
            self.rules.sums_of[side].push(at);
        }
        self.rules.sums.push(Sum { when, terms, most, shift });
        self.shut |= self.apply_sum(at).is_some();
        at
    }

    /// Lowers what a sum may come to.
    pub(in crate::planner::closer) fn lower(&mut self, sum: usize, most: i64) {
        self.reset();
        let most = most - self.rules.sums[sum].shift;
        if most < self.rules.sums[sum].most {
            self.rules.sums[sum].most = most;
            self.shut |= self.apply_sum(sum).is_some();
        }
    }

    /// Draws all conclusions; gives a dead end.
    pub(super) fn propagate(&mut self) -> Option<Clash> {
        while self.seen < self.trail.len() {
            let side = self.trail[self.seen].side;
            self.seen += 1;
            if let Some(clash) = self.look_at_clauses(side ^ 1) {
                return Some(clash);
            }
            for at in 0..self.rules.gaps_of[side].len() {
                self.work += 1;
                if let Some(clash) = self.apply_gap(self.rules.gaps_of[side][at]) {
                    return Some(clash);
                }
            }
            for at in 0..self.rules.sums_of[side].len() {
                if let Some(clash) = self.apply_sum(self.rules.sums_of[side][at]) {
                    return Some(clash);
                }
            }
        }
        None
    }

    /// Looks at the clauses with a watched fact of a side.
    fn look_at_clauses(&mut self, side: Side) -> Option<Clash> {
        let mut watches = std::mem::take(&mut self.rules.watches[side]);
        let mut clash = None;
        let (mut from, mut to) = (0, 0);
        while from < watches.len() {
            let watch = watches[from];
            from += 1;
            let fact = Fact { side, least: watch.least };
            self.work += 1;
            if !self.fails(fact) || self.holds(watch.other) {
                watches[to] = watch;
                to += 1;
                continue;
            }
            let facts = &mut self.rules.clauses[watch.clause].facts;
            if facts[0] == fact {
                facts.swap(0, 1);
            }
            let first = facts[0];
            let least = &self.least;
            let fails = |fact: Fact| least[fact.side ^ 1] >= 1 - fact.least;
            let found = (2..facts.len()).find(|at| !fails(facts[*at]));
            if let Some(found) = found {
                facts.swap(1, found);
                let new = facts[1];
                let watch = Watch { least: new.least, clause: watch.clause, other: first };
                if new.side == side {
                    watches[to] = watch;
                    to += 1;
                } else {
                    self.rules.watches[new.side].push(watch);
                }
                continue;
            }
            watches[to] = Watch { other: first, ..watch };
            to += 1;
            if !self.raise(first, Reason::Clause(watch.clause)) {
                clash = Some(self.clash(first, Reason::Clause(watch.clause)));
                break;
            }
        }
        while from < watches.len() {
            watches[to] = watches[from];
            from += 1;
            to += 1;
        }
        watches.truncate(to);
        self.rules.watches[side] = watches;
        clash
    }

    pub(super) fn conclude(&mut self, fact: Fact, reason: Reason) -> Option<Clash> {
        if self.raise(fact, reason) { None } else { Some(self.clash(fact, reason)) }
    }

    fn apply_gap(&mut self, at: usize) -> Option<Clash> {
        let Gap { when, from, plus, to } = self.rules.gaps[at];
        let least = self.least[from] + plus;
        if self.holds(when) {
            return self.conclude(Fact { side: to, least }, Reason::Gap(at));
        }
        if least > -self.least[to ^ 1] {
            return self.conclude(!when, Reason::GapOff(at));
        }
        None
    }

    fn apply_sum(&mut self, at: usize) -> Option<Clash> {
        let sum = &self.rules.sums[at];
        if self.fails(sum.when) {
            return None;
        }
        self.work += sum.terms.len() as u64;
        let least: i64 = sum.terms.iter().map(|(factor, side)| factor * self.least[*side]).sum();
        let when = sum.when;
        let room = sum.most - least;
        if room < 0 {
            return self.conclude(!when, Reason::SumOff(at));
        }
        if !self.holds(when) {
            return None;
        }
        for term in 0..self.rules.sums[at].terms.len() {
            let (factor, side) = self.rules.sums[at].terms[term];
            let most = self.least[side] + room / factor;
            if most < -self.least[side ^ 1] {
                let clash = self.conclude(Fact { side: side ^ 1, least: -most }, Reason::Sum(at));
                if clash.is_some() {
                    return clash;
                }
            }
        }
        None
    }
}
