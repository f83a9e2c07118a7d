//! Tells why no cheaper plan exists, in lessons that each follow from the problem's rules and the lessons before by
//! propagation alone (reverse unit propagation; Goldberg and Novikov, "Verification of proofs of unsatisfiability for CNF
//! formulas", DATE 2003; with bounds of numbers as facts, Flippo, Sidorov, Marijnissen, Smits and Demirovic, "A
//! multi-stage proof logging framework", CP 2024).

use super::engine::{Engine, Fact};
use super::name::Name;
use crate::planner::bound::certificate::ClosingProof;
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// The most facts in a proof that is told.
const FACTS_MAX: usize = 400_000;

/// The proof that no plan costs less than `bound`.
pub(super) fn tell(engine: &Engine, bound: i64) -> Option<ClosingProof> {
    let lessons = engine.lessons()?;
    if lessons.iter().map(|facts| facts.len()).sum::<usize>() > FACTS_MAX {
        return None;
    }
    let mut teller = Teller { engine, known: BTreeMap::new(), numbers: String::new() };
    let mut clauses = String::new();
    for facts in lessons {
        if !clauses.is_empty() {
            clauses.push(',');
        }
        for (at, fact) in facts.iter().enumerate() {
            if at > 0 {
                clauses.push(' ');
            }
            teller.fact(*fact, &mut clauses);
        }
    }
    Some(ClosingProof { bound, numbers: teller.numbers, clauses })
}

struct Teller<'e> {
    engine: &'e Engine,
    /// Numbers by their names, from 1 in the order in which they come up.
    known: BTreeMap<Name, usize>,
    numbers: String,
}

impl Teller<'_> {
    fn fact(&mut self, fact: Fact, out: &mut String) {
        let name = self.engine.name(fact);
        let next = self.known.len() + 1;
        let number = *self.known.entry(name).or_insert(next);
        if number == next {
            let comma = if next > 1 { "," } else { "" };
            // Writing to a text cannot fail.
            let _ = write!(self.numbers, "{comma}{name}");
        }
        let _ = match (fact.is_of_negative(), fact.least) {
            (false, 1) => write!(out, "{number}"),
            (true, 0) => write!(out, "-{number}"),
            (false, least) => write!(out, "{number}>{least}"),
            (true, least) => write!(out, "{number}<{}", -least),
        };
    }
}
