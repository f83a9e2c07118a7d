//! Why something holds: facts that held before and from which it follows, as weak as possible.

use super::{Clash, Engine, Fact, NOWHERE, Reason, SURE, Side};

impl Engine {
    /// What a side was at least before a raise.
    fn least_before(&self, side: Side, at: usize) -> i64 {
        let mut raise = self.last[side];
        while raise != NOWHERE && raise >= at {
            raise = self.trail[raise].before;
        }
        if raise == NOWHERE { self.ground[side] } else { self.trail[raise].new }
    }

    /// The raise by which a fact came to hold; none where it held without any choice.
    pub(super) fn raise_of(&self, fact: Fact) -> Option<usize> {
        if self.ground[fact.side] >= fact.least {
            return None;
        }
        let mut raise = self.last[fact.side];
        while let Some(entry) = self.trail.get(raise).filter(|entry| entry.old >= fact.least) {
            raise = entry.before;
        }
        Some(raise)
    }

    /// The dead end in which a fact follows that cannot hold.
    pub(super) fn clash(&self, fact: Fact, reason: Reason) -> Clash {
        let mut facts = Vec::new();
        self.explain(fact, reason, self.trail.len(), &mut facts);
        facts.push(!fact);
        Clash { facts, reason }
    }

    /// Facts that held before a raise and from which a fact follows.
    pub(super) fn explain(&self, fact: Fact, reason: Reason, at: usize, out: &mut Vec<Fact>) {
        match reason {
            Reason::Choice => {}
            Reason::Clause(clause) => {
                let facts = self.rules.clauses[clause].facts.iter();
                let others =
                    facts.filter(|other| other.side != fact.side || other.least < fact.least);
                out.extend(others.map(|other| !*other));
            }
            Reason::Gap(gap) => {
                let gap = &self.rules.gaps[gap];
                out.push(Fact { side: gap.from, least: fact.least - gap.plus });
                if gap.when != SURE {
                    out.push(gap.when);
                }
            }
            Reason::GapOff(gap) => {
                let gap = &self.rules.gaps[gap];
                let least = self.least_before(gap.from, at);
                out.push(Fact { side: gap.from, least });
                out.push(Fact { side: gap.to ^ 1, least: 1 - least - gap.plus });
            }
            Reason::Sum(sum) => {
                let when = self.rules.sums[sum].when;
                if when != SURE {
                    out.push(when);
                }
                // The term's side would have to be at least this for the fact not to hold.
                self.explain_sum(sum, Some(!fact), at, out);
            }
            Reason::SumOff(sum) => self.explain_sum(sum, None, at, out),
        }
    }

    /// Why a sum comes to more than it may, given what one of its terms would be.
    fn explain_sum(&self, sum: usize, given: Option<Fact>, at: usize, out: &mut Vec<Fact>) {
        let sum = &self.rules.sums[sum];
        let mut over = -sum.most - 1;
        let first = out.len();
        for (factor, side) in &sum.terms {
            let given = given.filter(|fact| fact.side == *side);
            let least = given.map_or_else(|| self.least_before(*side, at), |fact| fact.least);
            over += factor * least;
            if given.is_none() && least > self.ground[*side] {
                out.push(Fact { side: *side, least });
            }
        }
        // What is over lets some facts be weaker: first all that need not be there at all.
        let factor =
            |side: Side| sum.terms.iter().find(|term| term.1 == side).map_or(1, |term| term.0);
        let late = |fact: &Fact| std::cmp::Reverse(self.raise_of(*fact).unwrap_or(0));
        out[first..].sort_by_cached_key(late);
        let mut kept = first;
        for fact in first..out.len() {
            let Fact { side, least } = out[fact];
            let whole = factor(side) * (least - self.ground[side]);
            if whole <= over {
                over -= whole;
            } else {
                out.swap(kept, fact);
                kept += 1;
            }
        }
        out.truncate(kept);
        for fact in &mut out[first..] {
            let less = over / factor(fact.side);
            fact.least -= less;
            over -= less * factor(fact.side);
        }
    }
}
