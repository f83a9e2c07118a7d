//! What jobs share: resources that serve one step at a time, and places that one job at a time holds.

use super::{JobCode, Model, StepCode, no, yes};
use crate::referee::certificate::rules::Bound;

pub(super) fn write(model: &mut Model<'_>, jobs: &[JobCode]) {
    for (at, one) in jobs.iter().enumerate() {
        for (with, other) in jobs[..at].iter().enumerate() {
            for (a, first) in one.steps.iter().enumerate() {
                for (b, second) in other.steps.iter().enumerate() {
                    pair(model, ([at, a], first), ([with, b], second));
                }
            }
        }
    }
}

/// A step and its positions.
type Named<'s> = ([usize; 2], &'s StepCode);

fn pair(model: &mut Model<'_>, one: Named<'_>, other: Named<'_>) {
    let day = model.day;
    let mut meeting = Vec::new();
    for (place, (here, _)) in &one.1.at {
        for (rival, (there, _)) in &other.1.at {
            let meet = place.zip(*rival).is_some_and(|(place, rival)| day.meet(place, rival));
            meeting.extend(meet.then_some((*here, *there)));
        }
    }
    if one.1.fixed && other.1.fixed {
        if !meeting.is_empty() {
            waits_of_fixed(model, one.1, other.1);
        }
        return;
    }
    let ends = order(model, "ends-before", [one, other], [one.1.end, other.1.end]);
    let gone = order(model, "gone-before", [one, other], [one.1.hold, other.1.hold]);
    for (gone, ends) in gone.into_iter().zip(ends) {
        model.rules.one_of(&[no(gone), yes(ends)]);
    }
    for ((_, used), fact) in &one.1.uses {
        for ((_, with), rival) in &other.1.uses {
            if used == with {
                model.rules.one_of(&[no(*fact), no(*rival), yes(ends[0]), yes(ends[1])]);
            }
        }
    }
    for (here, there) in meeting {
        model.rules.one_of(&[no(here), no(there), yes(gone[0]), yes(gone[1])]);
    }
}

/// Facts for either step first: up to where it goes, the other does not start.
fn order(
    model: &mut Model<'_>,
    word: &str,
    [one, other]: [Named<'_>; 2],
    until: [usize; 2],
) -> [usize; 2] {
    let mut fact = |first: &Named<'_>, until: usize, second: &Named<'_>| {
        let ([job, step], [with, then]) = (first.0, second.0);
        let fact = model.fact(format!("{word} {job} {step} {with} {then}"));
        model.rules.gap(yes(fact), until, 0, second.1.start);
        fact
    };
    let facts = [fact(&one, until[0], &other), fact(&other, until[1], &one)];
    // Every step takes a minute or more.
    model.rules.one_of(&[no(facts[0]), no(facts[1])]);
    facts
}

/// Fixed steps may share their minutes, but waits after them must not.
fn waits_of_fixed(model: &mut Model<'_>, one: &StepCode, other: &StepCode) {
    let end = model.rules.low(one.end).max(model.rules.low(other.end));
    model.rules.one_of(&[Bound::AtMost(one.hold, end), Bound::AtMost(other.hold, end)]);
}
