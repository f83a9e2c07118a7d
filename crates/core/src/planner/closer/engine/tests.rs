//! Random small systems of rules, against trying all values.

use super::{Engine, Fact, Name, Number, Outcome, SURE};
use crate::planner::seeded::Seeded;

/// The numbers of a system run from 0 to this.
const HIGHEST: i64 = 3;

/// A rule as it is given; numbers by position.
#[derive(Debug)]
enum Rule {
    AnyOf(Vec<Bound>),
    Gap(Bound, usize, i64, usize),
    Sum(Bound, Vec<(i64, usize)>, i64),
}

/// A number is at least so much, or at most.
#[derive(Debug, Clone, Copy)]
struct Bound {
    number: usize,
    at_least: bool,
    limit: i64,
}

impl Bound {
    fn random(random: &mut Seeded, numbers: usize) -> Self {
        let at_least = random.below(2) == 0;
        let limit = i64::try_from(random.below(4)).unwrap() + i64::from(at_least) - 1;
        Self { number: random.below(numbers), at_least, limit: limit.max(0) }
    }

    fn holds(self, values: &[i64]) -> bool {
        let value = values[self.number];
        if self.at_least { value >= self.limit } else { value <= self.limit }
    }

    fn fact(self, numbers: &[Number]) -> Fact {
        let number = numbers[self.number];
        if self.at_least { number.at_least(self.limit) } else { number.at_most(self.limit) }
    }
}

impl Rule {
    fn random(random: &mut Seeded, numbers: usize) -> Self {
        let some = |random: &mut Seeded| i64::try_from(random.below(4)).unwrap();
        let when = Bound::random(random, numbers);
        match random.below(4) {
            0 | 1 => {
                let count = 1 + random.below(4);
                Self::AnyOf((0..count).map(|_| Bound::random(random, numbers)).collect())
            }
            2 => {
                let from = random.below(numbers);
                let to = (from + 1 + random.below(numbers - 1)) % numbers;
                Self::Gap(when, from, some(random) - 1, to)
            }
            _ => {
                let mut terms = Vec::new();
                for number in 0..numbers {
                    if random.below(2) == 0 {
                        terms.push((some(random) * 2 - 3, number));
                    }
                }
                Self::Sum(when, terms, some(random) * 2 - 2)
            }
        }
    }

    fn holds(&self, values: &[i64]) -> bool {
        match self {
            Self::AnyOf(bounds) => bounds.iter().any(|bound| bound.holds(values)),
            Self::Gap(when, from, plus, to) => {
                !when.holds(values) || values[*to] >= values[*from] + plus
            }
            Self::Sum(when, terms, most) => {
                let sum: i64 = terms.iter().map(|(factor, number)| factor * values[*number]).sum();
                !when.holds(values) || sum <= *most
            }
        }
    }

    fn write(&self, engine: &mut Engine, numbers: &[Number]) {
        match self {
            Self::AnyOf(bounds) => {
                let facts: Vec<Fact> = bounds.iter().map(|bound| bound.fact(numbers)).collect();
                engine.any_of(&facts);
            }
            Self::Gap(when, from, plus, to) => {
                engine.gap(when.fact(numbers), numbers[*from], *plus, numbers[*to]);
            }
            Self::Sum(when, terms, most) => {
                let terms: Vec<(i64, Number)> =
                    terms.iter().map(|(factor, number)| (*factor, numbers[*number])).collect();
                engine.sum(when.fact(numbers), &terms, *most);
            }
        }
    }
}

/// The least that the values may add up to, the second number counted twice.
fn least(rules: &[Rule], numbers: usize) -> Option<i64> {
    let mut least = None;
    let base = usize::try_from(HIGHEST + 1).unwrap();
    for number in 0..base.pow(u32::try_from(numbers).unwrap()) {
        let digit = |at: usize| number / base.pow(u32::try_from(at).unwrap()) % base;
        let values: Vec<i64> = (0..numbers).map(|at| i64::try_from(digit(at)).unwrap()).collect();
        if rules.iter().all(|rule| rule.holds(&values)) {
            let sum = values.iter().sum::<i64>() + values[1];
            least = Some(least.map_or(sum, |known: i64| known.min(sum)));
        }
    }
    least
}

#[test]
fn the_least_sum_is_found_and_proved_in_systems_of_every_kind() {
    let (mut with, mut without, mut dead_ends) = (0, 0, 0);
    for seed in 0..3_000 {
        let random = &mut Seeded::new(seed, 0);
        let count = 3 + random.below(4);
        let rules: Vec<Rule> =
            (0..2 + random.below(4 * count)).map(|_| Rule::random(random, count)).collect();
        let mut engine = Engine::new();
        // Some numbers lead the search, and one counts from elsewhere.
        let numbers: Vec<Number> = (0..count)
            .map(|at| engine.add(Name::NONE, (-7, HIGHEST - 7), at % 2 == 0).plus(7))
            .collect();
        for rule in &rules {
            rule.write(&mut engine, &numbers);
        }
        let mut terms: Vec<(i64, Number)> = numbers.iter().map(|number| (1, *number)).collect();
        terms[1].0 = 2;
        let sum = engine.sum(SURE, &terms, 100);
        let mut found = None;
        loop {
            match engine.search(1) {
                Outcome::Open => assert!(!engine.broken, "{seed}"),
                Outcome::None => break,
                Outcome::Found => {
                    let values: Vec<i64> = numbers.iter().map(|n| engine.low(*n)).collect();
                    assert!(rules.iter().all(|rule| rule.holds(&values)), "{seed}: {values:?}");
                    let cost = values.iter().sum::<i64>() + values[1];
                    assert!(found.is_none_or(|known| cost < known), "{seed}");
                    found = Some(cost);
                    engine.lower(sum, cost - 1);
                }
            }
        }
        assert_eq!(found, least(&rules, count), "{seed}: {rules:#?}");
        with += u32::from(found.is_some());
        without += u32::from(found.is_none());
        dead_ends += engine.dead_ends;
    }
    assert!(with > 500 && without > 300 && dead_ends > 1_000, "{with} {without} {dead_ends}");
}

#[test]
fn restarts_follow_the_sequence_of_luby() {
    // Luby, Sinclair and Zuckerman (1993), the sequence's first terms.
    let first: Vec<u64> = (1..=15).map(super::luby).collect();
    assert_eq!(first, [1, 1, 2, 1, 1, 2, 4, 1, 1, 2, 1, 1, 2, 4, 8]);
}
