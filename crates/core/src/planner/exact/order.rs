//! Which of two steps goes first, where both surely use the same unit.
//!
//! Steps that have no choice but one unit exclude each other there, so one of them ends before the other
//! starts. Either order narrows the starts of both; an order that the starts left do not
//! allow leaves the other one (the disjunctive pairs of Carlier and Pinson, "An algorithm for
//! solving the job-shop problem", Management Science 35 (1989)).

use super::Domain;
use super::cut::Cut;
use crate::planner::bound::ascent::Market;

/// A job's step.
pub(super) type Part = (usize, usize);

/// How often the orders are gone through at most in one branch.
const ROUNDS_MAX: usize = 4;

/// Per unit, the steps that surely use it.
#[derive(Debug)]
pub(super) struct Orders {
    units: Vec<Vec<Part>>,
    /// Per job, whether it is planned in every plan that is looked for.
    pub(super) planned: Vec<bool>,
}

impl Orders {
    pub(super) fn new(market: &Market<'_>) -> Self {
        let problem = market.problem;
        let mut units = vec![Vec::new(); market.units.count()];
        for (job, spec) in problem.jobs.iter().enumerate() {
            for (step, spec) in spec.steps.iter().enumerate().filter(|(_, step)| !step.is_fixed()) {
                for (unit, parts) in units.iter_mut().enumerate() {
                    let surely = spec.options.iter().all(|option| {
                        if unit < market.units.resources {
                            option.needs.iter().any(|group| group.as_slice() == [unit])
                        } else {
                            let units = |place: usize| market.units.of_place[place].contains(&unit);
                            option.place.is_some_and(units)
                        }
                    });
                    if surely {
                        parts.push((job, step));
                    }
                }
            }
        }
        Self { units, planned: vec![false; problem.jobs.len()] }
    }

    /// Whether two steps both surely use a unit, and both jobs are planned.
    pub(super) fn exclude(&self, unit: usize, one: Part, other: Part) -> bool {
        let parts = &self.units[unit];
        self.planned[one.0]
            && self.planned[other.0]
            && parts.contains(&one)
            && parts.contains(&other)
    }

    /// Narrows the starts by all orders, those cut and those that follow; none when some step has no
    /// start left.
    pub(super) fn narrow(
        &self,
        market: &Market<'_>,
        cuts: &[Cut],
        domains: &mut [Domain],
    ) -> Option<()> {
        for _ in 0..ROUNDS_MAX {
            let mut changed = false;
            for cut in cuts {
                if let Cut::Order { first, then } = *cut {
                    changed |= put_in_order(market, domains, first, then)?;
                }
            }
            for parts in &self.units {
                let parts = parts.iter().copied().filter(|part| self.planned[part.0]);
                let parts: Vec<Part> = parts.collect();
                for (at, one) in parts.iter().enumerate() {
                    for other in parts[at + 1..].iter().filter(|other| other.0 != one.0) {
                        changed |= follow(market, domains, *one, *other)?;
                    }
                }
            }
            if !changed {
                break;
            }
        }
        Some(())
    }
}

/// Puts two steps in the only order that their starts allow.
fn follow(market: &Market<'_>, domains: &mut [Domain], one: Part, other: Part) -> Option<bool> {
    match (may_precede(market, domains, one, other)?, may_precede(market, domains, other, one)?) {
        (true, true) => Some(false),
        (true, false) => put_in_order(market, domains, one, other),
        (false, true) => put_in_order(market, domains, other, one),
        (false, false) => None,
    }
}

/// Whether the starts left allow one step to end before another starts; none when a step has no start.
pub(super) fn may_precede(
    market: &Market<'_>,
    domains: &[Domain],
    first: Part,
    then: Part,
) -> Option<bool> {
    let (end, _) = domains[first.0].reach(&market.nets[first.0], first.1)?;
    let (_, start) = domains[then.0].reach(&market.nets[then.0], then.1)?;
    Some(end <= start)
}

/// Narrows the starts of two steps by their order; says whether anything changed, none when a step has
/// no start left.
pub(super) fn put_in_order(
    market: &Market<'_>,
    domains: &mut [Domain],
    first: Part,
    then: Part,
) -> Option<bool> {
    let (first_net, then_net) = (&market.nets[first.0], &market.nets[then.0]);
    let (end, _) = domains[first.0].reach(first_net, first.1)?;
    let (_, start) = domains[then.0].reach(then_net, then.1)?;
    let before = domains[first.0].ends_by(first_net, first.1, start);
    let after = domains[then.0].within(then_net, then.1, end, i64::MAX);
    domains[first.0].reach(first_net, first.1)?;
    domains[then.0].reach(then_net, then.1)?;
    Some(before || after)
}
