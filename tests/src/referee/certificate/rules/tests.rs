//! Random small systems of rules against all values: what is said to follow holds in every one that keeps the rules.

use super::{ALWAYS, Bound, Rules};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

/// The numbers of a system, each from 0 to this.
const NUMBERS: usize = 4;
const HIGHEST: i64 = 3;

enum Rule {
    OneOf(Vec<Bound>),
    Gap(Bound, usize, i64, usize),
    Sum(Bound, Vec<(i128, usize)>, i128),
}

fn bound(random: &mut ChaCha8Rng) -> Bound {
    // The first number is the one that is always 1.
    let number = random.random_range(1..=NUMBERS);
    if random.random_range(0..2) == 0 {
        Bound::AtLeast(number, random.random_range(1..=HIGHEST))
    } else {
        Bound::AtMost(number, random.random_range(0..HIGHEST))
    }
}

fn bounds(random: &mut ChaCha8Rng) -> Vec<Bound> {
    (0..random.random_range(1..=3)).map(|_| bound(random)).collect()
}

fn rule(random: &mut ChaCha8Rng) -> Rule {
    let when = if random.random_range(0..2) == 0 { ALWAYS } else { bound(random) };
    match random.random_range(0..4) {
        0 | 1 => Rule::OneOf(bounds(random)),
        2 => {
            let from = random.random_range(1..=NUMBERS);
            let to = (from + random.random_range(0..NUMBERS - 1)) % NUMBERS + 1;
            Rule::Gap(when, from, random.random_range(-1..=2), to)
        }
        _ => {
            let term = |number| (random.random_range(-2..=2), number);
            let terms = (1..=NUMBERS).map(term).collect();
            Rule::Sum(when, terms, random.random_range(-3..=4))
        }
    }
}

fn holds(bound: Bound, values: &[i64]) -> bool {
    match bound {
        Bound::AtLeast(number, least) => values[number] >= least,
        Bound::AtMost(number, most) => values[number] <= most,
    }
}

fn kept(rule: &Rule, values: &[i64]) -> bool {
    match rule {
        Rule::OneOf(bounds) => bounds.iter().any(|bound| holds(*bound, values)),
        Rule::Gap(when, from, plus, to) => {
            !holds(*when, values) || values[*to] >= values[*from] + plus
        }
        Rule::Sum(when, terms, most) => {
            let sum = terms.iter().map(|(factor, number)| factor * i128::from(values[*number]));
            !holds(*when, values) || sum.sum::<i128>() <= *most
        }
    }
}

/// All values of the numbers that keep the rules.
fn all_kept(rules: &[Rule]) -> Vec<Vec<i64>> {
    let mut all = vec![vec![1]];
    for _ in 0..NUMBERS {
        let longer = |values: Vec<i64>| {
            (0..=HIGHEST).map(move |value| values.iter().copied().chain([value]).collect())
        };
        all = all.into_iter().flat_map(longer).collect();
    }
    all.retain(|values: &Vec<i64>| rules.iter().all(|rule| kept(rule, values)));
    all
}

#[test]
fn what_follows_holds_wherever_the_rules_are_kept() {
    let (mut followed, mut impossible) = (0, 0);
    for seed in 0..3_000 {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let count = random.random_range(2..=7);
        let given: Vec<Rule> = (0..count).map(|_| rule(&mut random)).collect();
        let mut rules = Rules::new();
        for _ in 0..NUMBERS {
            rules.number(0, HIGHEST);
        }
        for rule in &given {
            match rule {
                Rule::OneOf(bounds) => rules.one_of(bounds),
                Rule::Gap(when, from, plus, to) => rules.gap(*when, *from, *plus, *to),
                Rule::Sum(when, terms, most) => rules.sum(*when, terms, *most),
            }
        }
        rules.settle();
        let all = all_kept(&given);
        for _ in 0..10 {
            let clause = bounds(&mut random);
            if rules.follows(&clause) {
                let held = all.iter().all(|v| clause.iter().any(|bound| holds(*bound, v)));
                assert!(held, "{seed}: {clause:?}");
                followed += usize::from(!all.is_empty());
            }
        }
        if rules.impossible {
            assert_eq!(all, Vec::<Vec<i64>>::new(), "{seed}");
            impossible += 1;
        }
        for number in 1..=NUMBERS {
            let inside =
                |v: &Vec<i64>| rules.low(number) <= v[number] && v[number] <= rules.high(number);
            assert!(all.iter().all(inside), "{seed}: {number}");
        }
    }
    assert!(followed > 1_000 && impossible > 100, "{followed} {impossible}");
}
