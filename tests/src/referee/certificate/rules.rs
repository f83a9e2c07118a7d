//! Rules over whole numbers, and what follows from them by propagation alone.
//!
//! Every number has a lowest and a highest value. A clause says that one of its bounds holds; a gap that one number is at
//! least another and so much more; a sum that numbers times factors come to at most so much; gaps and sums hold where a
//! bound does. Nothing is chosen here: what cannot be is seen when a number has no value left.

/// A number is at least so much, or at most.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Bound {
    AtLeast(usize, i64),
    AtMost(usize, i64),
}

use Bound::{AtLeast, AtMost};

impl std::ops::Not for Bound {
    type Output = Self;

    fn not(self) -> Self {
        match self {
            AtLeast(number, least) => AtMost(number, least - 1),
            AtMost(number, most) => AtLeast(number, most + 1),
        }
    }
}

/// The number that is always 1.
pub(super) const ONE: usize = 0;
/// What always holds.
pub(super) const ALWAYS: Bound = AtLeast(ONE, 1);

struct Gap {
    when: Bound,
    from: usize,
    plus: i64,
    to: usize,
}

struct Sum {
    when: Bound,
    terms: Vec<(i128, usize)>,
    most: i128,
}

#[derive(Clone, Copy)]
enum Rule {
    Gap(usize),
    Sum(usize),
}

/// Numbers and rules.
pub(super) struct Rules {
    low: Vec<i64>,
    high: Vec<i64>,
    clauses: Vec<Vec<Bound>>,
    gaps: Vec<Gap>,
    sums: Vec<Sum>,
    /// Per number, the clauses that watch one of its bounds, and its gaps and sums.
    watches: Vec<Vec<usize>>,
    of: Vec<Vec<Rule>>,
    /// What was changed: the number and both its values before.
    trail: Vec<(usize, i64, i64)>,
    /// Numbers whose rules are to be looked at, and whether they are noted.
    open: Vec<usize>,
    noted: Vec<bool>,
    /// Whether some number has no value left whatever is presumed.
    pub(super) impossible: bool,
}

impl Rules {
    pub(super) fn new() -> Self {
        let (low, high, clauses, gaps, sums) = Default::default();
        let (watches, of, trail, open, noted) = Default::default();
        let impossible = false;
        let mut rules =
            Self { low, high, clauses, gaps, sums, watches, of, trail, open, noted, impossible };
        rules.number(1, 1);
        rules
    }

    /// A new number between two values.
    pub(super) fn number(&mut self, low: i64, high: i64) -> usize {
        self.impossible |= low > high;
        self.low.push(low);
        self.high.push(high);
        self.watches.push(Vec::new());
        self.of.push(Vec::new());
        self.noted.push(false);
        self.low.len() - 1
    }

    pub(super) fn low(&self, number: usize) -> i64 {
        self.low[number]
    }

    pub(super) fn high(&self, number: usize) -> i64 {
        self.high[number]
    }

    fn holds(&self, bound: Bound) -> bool {
        match bound {
            AtLeast(number, least) => self.low[number] >= least,
            AtMost(number, most) => self.high[number] <= most,
        }
    }

    fn fails(&self, bound: Bound) -> bool {
        match bound {
            AtLeast(number, least) => self.high[number] < least,
            AtMost(number, most) => self.low[number] > most,
        }
    }

    /// One of the bounds holds.
    pub(super) fn one_of(&mut self, bounds: &[Bound]) {
        if bounds.iter().any(|bound| self.holds(*bound)) {
            return;
        }
        let mut bounds = bounds.to_vec();
        bounds.retain(|bound| !self.fails(*bound));
        match bounds.as_slice() {
            [] => self.impossible = true,
            [only] => {
                let only = *only;
                self.impossible |= !self.set(only);
            }
            [first, second, ..] => {
                for watched in [*first, *second] {
                    let (AtLeast(number, _) | AtMost(number, _)) = watched;
                    self.watches[number].push(self.clauses.len());
                }
                self.clauses.push(bounds);
            }
        }
    }

    /// Where a bound holds, a number is at least another and so much more.
    pub(super) fn gap(&mut self, when: Bound, from: usize, plus: i64, to: usize) {
        let (AtLeast(switch, _) | AtMost(switch, _)) = when;
        for number in [from, to, switch] {
            self.of[number].push(Rule::Gap(self.gaps.len()));
        }
        self.gaps.push(Gap { when, from, plus, to });
        self.note(from);
    }

    /// Where a bound holds, numbers times factors come to at most so much.
    pub(super) fn sum(&mut self, when: Bound, terms: &[(i128, usize)], most: i128) {
        let (AtLeast(switch, _) | AtMost(switch, _)) = when;
        for number in terms.iter().map(|term| term.1).chain([switch]) {
            self.of[number].push(Rule::Sum(self.sums.len()));
        }
        self.sums.push(Sum { when, terms: terms.to_vec(), most });
        self.note(switch);
    }

    fn note(&mut self, number: usize) {
        if !self.noted[number] {
            self.noted[number] = true;
            self.open.push(number);
        }
    }

    /// Notes that a bound holds; says whether its number has a value left.
    fn set(&mut self, bound: Bound) -> bool {
        if self.holds(bound) {
            return true;
        }
        let (AtLeast(number, _) | AtMost(number, _)) = bound;
        if self.fails(bound) {
            return false;
        }
        self.trail.push((number, self.low[number], self.high[number]));
        match bound {
            AtLeast(number, least) => self.low[number] = least,
            AtMost(number, most) => self.high[number] = most,
        }
        self.note(number);
        true
    }

    /// Draws all conclusions; says whether every number has a value left.
    fn propagate(&mut self) -> bool {
        while let Some(number) = self.open.pop() {
            self.noted[number] = false;
            if !self.look_at_clauses(number) || !self.look_at_rules(number) {
                self.open.drain(..).for_each(|number| self.noted[number] = false);
                return false;
            }
        }
        true
    }

    /// Draws conclusions for good.
    pub(super) fn settle(&mut self) {
        self.impossible = self.impossible || !self.propagate();
        self.trail.clear();
    }

    /// Whether a clause follows: with none of its bounds, some number has no value left. Then it is kept.
    pub(super) fn follows(&mut self, clause: &[Bound]) -> bool {
        if self.impossible {
            return true;
        }
        let possible = clause.iter().all(|bound| self.set(!*bound)) && self.propagate();
        self.open.drain(..).for_each(|number| self.noted[number] = false);
        for (number, low, high) in self.trail.drain(..).rev() {
            self.low[number] = low;
            self.high[number] = high;
        }
        if possible {
            return false;
        }
        self.one_of(clause);
        self.settle();
        true
    }

    fn look_at_clauses(&mut self, number: usize) -> bool {
        let mut watches = std::mem::take(&mut self.watches[number]);
        let mut possible = true;
        watches.retain(|clause| {
            if !possible {
                return true;
            }
            let mut bounds = std::mem::take(&mut self.clauses[*clause]);
            let stays = self.look_at_clause(number, *clause, &mut bounds, &mut possible);
            self.clauses[*clause] = bounds;
            stays
        });
        // New watches of the number may have come meanwhile.
        watches.append(&mut self.watches[number]);
        self.watches[number] = watches;
        possible
    }

    /// Says whether the number stays watched.
    fn look_at_clause(
        &mut self,
        number: usize,
        clause: usize,
        bounds: &mut [Bound],
        possible: &mut bool,
    ) -> bool {
        let of = |bound: Bound| {
            let (AtLeast(number, _) | AtMost(number, _)) = bound;
            number
        };
        for at in 0..2 {
            if of(bounds[at]) != number || !self.fails(bounds[at]) {
                continue;
            }
            if self.holds(bounds[1 - at]) {
                return true;
            }
            let found = (2..bounds.len()).find(|other| !self.fails(bounds[*other]));
            if let Some(found) = found {
                bounds.swap(at, found);
                let new = of(bounds[at]);
                if new != number && of(bounds[1 - at]) != new {
                    self.watches[new].push(clause);
                }
                if of(bounds[0]) != number && of(bounds[1]) != number {
                    return false;
                }
                continue;
            }
            *possible = self.set(bounds[1 - at]);
            return true;
        }
        true
    }

    fn look_at_rules(&mut self, number: usize) -> bool {
        for at in 0..self.of[number].len() {
            let possible = match self.of[number][at] {
                Rule::Gap(gap) => self.look_at_gap(gap),
                Rule::Sum(sum) => self.look_at_sum(sum),
            };
            if !possible {
                return false;
            }
        }
        true
    }

    fn look_at_gap(&mut self, at: usize) -> bool {
        let Gap { when, from, plus, to } = self.gaps[at];
        if self.low[from] + plus > self.high[to] {
            return self.set(!when);
        }
        !self.holds(when)
            || (self.set(AtLeast(to, self.low[from] + plus))
                && self.set(AtMost(from, self.high[to] - plus)))
    }

    fn look_at_sum(&mut self, at: usize) -> bool {
        let when = self.sums[at].when;
        let least = |rules: &Self, (factor, number): (i128, usize)| {
            let value = if factor > 0 { rules.low[number] } else { rules.high[number] };
            factor * i128::from(value)
        };
        let sum: i128 = self.sums[at].terms.iter().map(|term| least(self, *term)).sum();
        let room = self.sums[at].most - sum;
        if room < 0 {
            return self.set(!when);
        }
        if !self.holds(when) {
            return true;
        }
        for term in 0..self.sums[at].terms.len() {
            let (factor, number) = self.sums[at].terms[term];
            let more = if factor == 0 { continue } else { room / factor.abs() };
            let more = i64::try_from(more).unwrap_or(i64::MAX);
            let bound = if factor > 0 {
                AtMost(number, self.low[number].saturating_add(more))
            } else {
                AtLeast(number, self.high[number].saturating_sub(more))
            };
            if !self.set(bound) {
                return false;
            }
        }
        true
    }
}

#[cfg(test)]
mod tests;
