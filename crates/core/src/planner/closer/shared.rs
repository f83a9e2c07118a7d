//! What jobs share: resources that serve one step at a time, and places that one job at a time holds.

use super::Shop;
use super::encode::{JobCode, StepCode};
use super::engine::{Engine, Fact, NEVER, Number, SURE};
use super::name::Name;

/// Which of two spans comes first.
type Order = [Fact; 2];

pub(super) fn write(engine: &mut Engine, jobs: &[JobCode], shop: &Shop<'_>) {
    for (at, one) in jobs.iter().enumerate() {
        for other in &jobs[..at] {
            for a in &one.steps {
                for b in &other.steps {
                    pair(engine, shop, a, b);
                }
            }
        }
    }
}

fn pair(engine: &mut Engine, shop: &Shop<'_>, one: &StepCode, other: &StepCode) {
    let meeting = meeting_places(shop, one, other);
    if one.fixed && other.fixed {
        if !meeting.is_empty() {
            fixed_pair(engine, one, other);
        }
        return;
    }
    let common: Vec<(Fact, Fact)> = one
        .uses
        .iter()
        .flatten()
        .flat_map(|(fact, used)| {
            let same = other.uses.iter().flatten().filter(move |(_, with)| with == used);
            same.map(move |(with, _)| (*fact, *with))
        })
        .collect();
    let plain = one.hold == one.end && other.hold == other.end;
    let sure = |pairs: &[(Fact, Fact)]| pairs.contains(&(SURE, SURE));
    let mut steps: Option<Order> = None;
    if !common.is_empty() || (plain && !meeting.is_empty()) {
        let always = sure(&common) || (plain && sure(&meeting));
        let order = order(engine, ("ends-before", [one, other]), [one.end, other.end], always);
        for (fact, with) in &common {
            engine.any_of(&[!*fact, !*with, order[0], order[1]]);
        }
        steps = Some(order);
    }
    if meeting.is_empty() {
        return;
    }
    let holds = match steps {
        Some(steps) if plain => steps,
        Some(_) | None => {
            let by = ("gone-before", [one, other]);
            let holds = order(engine, by, [one.hold, other.hold], sure(&meeting));
            if let Some(steps) = steps {
                engine.any_of(&[!holds[0], steps[0]]);
                engine.any_of(&[!holds[1], steps[1]]);
            }
            holds
        }
    };
    for (fact, with) in &meeting {
        engine.any_of(&[!*fact, !*with, holds[0], holds[1]]);
    }
}

/// Facts for either step first: up to where it goes, the other does not start.
fn order(
    engine: &mut Engine,
    (word, [one, other]): (&'static str, [&StepCode; 2]),
    until: [Number; 2],
    always: bool,
) -> Order {
    let name = |one: &StepCode, other: &StepCode| {
        Name::of(word, [one.id[0], one.id[1], other.id[0], other.id[1]])
    };
    let (there, back) = (name(one, other), name(other, one));
    let ways = [(until[0], other.start), (until[1], one.start)];
    let known = ways.map(|(end, start)| {
        if engine.high(end) <= engine.low(start) {
            Some(SURE)
        } else if engine.low(end) > engine.high(start) {
            Some(NEVER)
        } else {
            None
        }
    });
    let facts = match known {
        [Some(first), Some(second)] => [first, second],
        [Some(first), None] => [first, engine.fact(back)],
        [None, Some(second)] => [engine.fact(there), second],
        [None, None] => {
            let fact = engine.fact(there);
            [fact, if always { !fact } else { engine.fact(back) }]
        }
    };
    for ((end, start), fact) in ways.into_iter().zip(facts) {
        if fact != SURE && fact != NEVER {
            engine.gap(fact, end, 0, start);
        }
    }
    facts
}

/// Where two steps of different jobs would be in each other's way.
fn meeting_places(shop: &Shop<'_>, one: &StepCode, other: &StepCode) -> Vec<(Fact, Fact)> {
    let mut meeting = Vec::new();
    for (place, here) in &one.at {
        for (rival, there) in &other.at {
            let (Some(place), Some(rival)) = (place, rival) else { continue };
            if place == rival || shop.clashing[*place].contains(rival) {
                meeting.push((*here, *there));
            }
        }
    }
    meeting
}

/// Fixed steps may overlap, but waits after them must not.
fn fixed_pair(engine: &mut Engine, one: &StepCode, other: &StepCode) {
    if one.hold == one.end && other.hold == other.end {
        return;
    }
    let (first, second) = (engine.low(one.end), engine.low(other.end));
    engine.any_of(&[one.hold.at_most(first.max(second)), other.hold.at_most(first.max(second))]);
}
