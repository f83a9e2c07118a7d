//! A solver of small systems over whole numbers: clauses of bounds, gaps between two numbers, and weighted
//! sums; it learns a clause from every dead end (lazy clause generation; Ohrimenko, Stuckey and Codish,
//! "Propagation via lazy clause generation", Constraints 14 (2009)).
//!
//! Every number has two sides, itself and its negative, and all that is known is that a side is at least something.
//! So a bound from below and one from above are the same thing here. Effort is counted in looks at rules, never
//! timed; what the solver does depends on nothing but what it was given.

mod explain;
mod learn;
mod log;
mod order;
mod rules;

use super::name::Name;
use order::Order;

/// A number's side: even for the number itself, the next for its negative.
pub(super) type Side = usize;

/// A side is at least so much.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Fact {
    pub(super) side: Side,
    pub(super) least: i64,
}

impl Fact {
    /// Whether it is a bound from above.
    pub(super) fn is_of_negative(self) -> bool {
        self.side % 2 == 1
    }
}

impl std::ops::Not for Fact {
    type Output = Self;

    fn not(self) -> Self {
        Self { side: self.side ^ 1, least: 1 - self.least }
    }
}

/// A number, or a number and so much more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Number {
    at: usize,
    plus: i64,
}

impl Number {
    pub(super) fn side(self) -> Side {
        2 * self.at
    }

    /// This and so much more.
    pub(super) fn plus(self, more: i64) -> Self {
        Self { plus: self.plus + more, ..self }
    }

    pub(super) fn at_least(self, least: i64) -> Fact {
        Fact { side: self.side(), least: least - self.plus }
    }

    pub(super) fn at_most(self, most: i64) -> Fact {
        Fact { side: self.side() ^ 1, least: self.plus - most }
    }
}

/// Always so, and never.
pub(super) const SURE: Fact = Fact { side: 0, least: 1 };
pub(super) const NEVER: Fact = Fact { side: 1, least: 0 };

/// How a search ended for now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Outcome {
    /// Every number has a value, and every rule is kept.
    Found,
    /// There are no such values.
    None,
    /// The effort granted is spent; the search can go on.
    Open,
}

/// Why a side is at least so much.
#[derive(Debug, Clone, Copy)]
enum Reason {
    Choice,
    Clause(usize),
    Gap(usize),
    GapOff(usize),
    Sum(usize),
    SumOff(usize),
}

/// A side was raised.
#[derive(Debug, Clone, Copy)]
struct Raise {
    side: Side,
    old: i64,
    new: i64,
    reason: Reason,
    /// The raise of this side before.
    before: usize,
}

const NOWHERE: usize = usize::MAX;
/// Dead ends before the first restart; later ones by the sequence of Luby, Sinclair and Zuckerman.
const RESTART: u64 = 100;
/// Learned clauses kept at first, and how many more at each clearing out.
const KEPT: usize = 3_000;
const KEPT_MORE: usize = 500;

#[derive(Debug, Default)]
pub(super) struct Engine {
    /// Per side, the least now and the least whatever is chosen.
    least: Vec<i64>,
    ground: Vec<i64>,
    /// Raises since choices began, and where each choice's begin.
    trail: Vec<Raise>,
    choices: Vec<usize>,
    last: Vec<usize>,
    /// Raises looked at by all rules.
    seen: usize,
    rules: rules::Rules,
    order: Order,
    learn: learn::Learn,
    log: log::Log,
    /// Per number, what it means.
    names: Vec<Name>,
    /// Whether no values are left.
    shut: bool,
    /// Whether something came up that cannot be; then nothing is claimed any more.
    pub(super) broken: bool,
    /// Looks at rules so far, and dead ends.
    pub(super) work: u64,
    pub(super) dead_ends: u64,
    restart_at: u64,
    restarts: u64,
    kept: usize,
}

/// A dead end: facts that hold and cannot all, by a rule.
#[derive(Debug)]
struct Clash {
    facts: Vec<Fact>,
    reason: Reason,
}

impl Engine {
    pub(super) fn new() -> Self {
        let mut engine = Self { restart_at: RESTART, kept: KEPT, ..Self::default() };
        engine.number(Name::NONE, 1, 1);
        engine
    }

    /// A new number between two bounds.
    pub(super) fn number(&mut self, name: Name, least: i64, most: i64) -> Number {
        self.add(name, (least, most), false)
    }

    fn add(&mut self, name: Name, (least, most): (i64, i64), leads: bool) -> Number {
        self.names.push(name);
        let number = Number { at: self.least.len() / 2, plus: 0 };
        for bound in [least, -most] {
            self.least.push(bound);
            self.ground.push(bound);
            self.last.push(NOWHERE);
            self.rules.add_side();
            self.learn.add_side();
        }
        self.shut |= least > most;
        self.order.add(least, leads);
        number
    }

    /// A new number that is 0 or 1. Choices are led by these: the others mostly follow from them.
    pub(super) fn switch(&mut self, name: Name) -> Number {
        self.add(name, (0, 1), true)
    }

    /// A new fact that may hold or not.
    pub(super) fn fact(&mut self, name: Name) -> Fact {
        self.switch(name).at_least(1)
    }

    pub(super) fn low(&self, number: Number) -> i64 {
        self.least[number.side()] + number.plus
    }

    pub(super) fn high(&self, number: Number) -> i64 {
        number.plus - self.least[number.side() ^ 1]
    }

    pub(super) fn holds(&self, fact: Fact) -> bool {
        self.least[fact.side] >= fact.least
    }

    pub(super) fn fails(&self, fact: Fact) -> bool {
        self.holds(!fact)
    }

    /// Takes back all choices.
    pub(super) fn reset(&mut self) {
        self.take_back(0);
    }

    /// Goes on for some effort.
    pub(super) fn search(&mut self, work: u64) -> Outcome {
        let until = self.work + work;
        loop {
            if self.broken {
                return Outcome::Open;
            }
            if self.shut {
                return Outcome::None;
            }
            if let Some(clash) = self.propagate() {
                self.dead_ends += 1;
                self.resolve(clash);
                continue;
            }
            if self.choices.is_empty() {
                self.settle();
            }
            if self.work >= until {
                return Outcome::Open;
            }
            if self.dead_ends >= self.restart_at {
                self.restart();
                continue;
            }
            let Some(fact) = self.choose() else { return Outcome::Found };
            self.choices.push(self.trail.len());
            self.work += 1;
            self.raise(fact, Reason::Choice);
        }
    }

    /// Notes that a fact holds; says whether it can.
    fn raise(&mut self, fact: Fact, reason: Reason) -> bool {
        let old = self.least[fact.side];
        if old >= fact.least {
            return true;
        }
        if self.fails(fact) {
            return false;
        }
        self.least[fact.side] = fact.least;
        let before = self.last[fact.side];
        self.last[fact.side] = self.trail.len();
        self.trail.push(Raise { side: fact.side, old, new: fact.least, reason, before });
        true
    }

    /// Without any choice: what is known is known for good.
    fn settle(&mut self) {
        for raise in self.trail.drain(..) {
            self.log.rests_on(raise.reason, &self.rules);
            self.ground[raise.side] = raise.new;
            self.last[raise.side] = NOWHERE;
        }
        self.seen = 0;
    }

    /// Takes back choices until so many are left.
    fn take_back(&mut self, choices: usize) {
        if self.choices.len() <= choices {
            return;
        }
        let from = self.choices[choices];
        for raise in self.trail[from..].iter().rev() {
            let number = raise.side / 2;
            if self.least[2 * number] == -self.least[2 * number + 1] {
                self.order.keep(number, self.least[2 * number]);
            }
            self.least[raise.side] = raise.old;
            self.last[raise.side] = raise.before;
            self.order.put_back(number);
        }
        self.trail.truncate(from);
        self.choices.truncate(choices);
        self.seen = self.seen.min(from);
    }

    /// The next choice; none when every number has its value.
    fn choose(&mut self) -> Option<Fact> {
        loop {
            let number = self.order.take()?;
            let (low, high) = (self.least[2 * number], -self.least[2 * number + 1]);
            if low == high {
                continue;
            }
            let wanted = self.order.wanted(number);
            self.order.put_back(number);
            let number = Number { at: number, plus: 0 };
            return Some(if wanted >= high {
                number.at_least(high)
            } else {
                number.at_most(wanted.max(low))
            });
        }
    }

    fn restart(&mut self) {
        self.take_back(0);
        self.restarts += 1;
        self.restart_at = self.dead_ends + RESTART * luby(self.restarts + 1);
        if self.rules.learned() > self.kept {
            self.kept += KEPT_MORE;
            self.rules.clear_out(&self.ground);
        }
    }
}

/// The sequence 1, 1, 2, 1, 1, 2, 4, ... (Luby, Sinclair and Zuckerman, "Optimal speedup of Las Vegas algorithms",
/// Information Processing Letters 47 (1993)), from 1.
fn luby(at: u64) -> u64 {
    let mut at = at.max(1);
    loop {
        let half = 1 << at.ilog2();
        if at + 1 == 2 * half {
            return half;
        }
        at -= half - 1;
    }
}

#[cfg(test)]
mod tests;
