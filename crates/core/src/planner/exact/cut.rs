//! What one branch forbids.

use crate::planner::bound::ascent::Market;
use crate::planner::bound::domain::Domain;
use crate::planner::bound::prices::Prices;
use crate::planner::span::Span;

/// A rule that holds in one part of all plans.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cut {
    /// The job does without a unit in a minute.
    Without { job: usize, unit: usize, minute: i64 },
    /// All other jobs do.
    Only { job: usize, unit: usize, minute: i64 },
    /// The step starts at that minute or later.
    From { job: usize, step: usize, minute: i64 },
    /// The step starts before that minute.
    Before { job: usize, step: usize, minute: i64 },
    /// The step does not start in that minute in that option.
    Not { job: usize, step: usize, option: usize, minute: i64 },
    /// Every job finishes by that minute.
    FinishBy(i64),
    /// One job's step ends before another's starts.
    Order { first: (usize, usize), then: (usize, usize) },
}

impl Cut {
    pub(super) fn apply(self, market: &Market<'_>, domains: &mut [Domain]) {
        match self {
            Self::Without { job, unit, minute } => without(market, domains, job, unit, minute),
            Self::Only { job, unit, minute } => {
                for other in (0..domains.len()).filter(|other| *other != job) {
                    without(market, domains, other, unit, minute);
                }
            }
            Self::From { job, step, minute } => {
                domains[job].within(&market.nets[job], step, minute, i64::MAX);
            }
            Self::Before { job, step, minute } => {
                domains[job].within(&market.nets[job], step, i64::MIN, minute);
            }
            Self::Not { job, step, option, minute } => {
                domains[job].without_start(&market.nets[job], step, option, minute);
            }
            // All orders are gone through together.
            Self::Order { .. } => {}
            Self::FinishBy(minute) => {
                for (domain, net) in domains.iter_mut().zip(&market.nets) {
                    domain.finish_by(net, minute);
                }
            }
        }
    }

    /// Drops the price of a minute that only one job is left to use.
    pub(super) fn free(self, market: &Market<'_>, cuts: &[Self], prices: &mut Prices) {
        let (unit, minute, alone) = match self {
            Self::Only { unit, minute, .. } => (unit, minute, true),
            Self::Without { unit, minute, .. } => {
                let mut jobs: Vec<usize> =
                    cuts.iter().filter_map(|cut| cut.at(unit, minute)).collect();
                jobs.sort_unstable();
                jobs.dedup();
                (unit, minute, jobs.len() + 1 >= market.nets.len())
            }
            Self::From { .. }
            | Self::Before { .. }
            | Self::Not { .. }
            | Self::FinishBy(_)
            | Self::Order { .. } => {
                return;
            }
        };
        if alone {
            let row = unit * prices.len;
            for at in prices.within(Span { start: minute, end: minute + 1 }) {
                prices.of[row + at] = 0;
            }
        }
    }

    /// Whether it puts two steps in order, either way.
    pub(super) fn orders(self, one: (usize, usize), other: (usize, usize)) -> bool {
        matches!(self, Self::Order { first, then } if (first, then) == (one, other) || (first, then) == (other, one))
    }

    /// The job that does without this unit in this minute.
    pub(super) fn at(self, unit: usize, minute: i64) -> Option<usize> {
        match self {
            Self::Without { job, unit: of, minute: then } => {
                (of == unit && then == minute).then_some(job)
            }
            Self::Only { .. }
            | Self::From { .. }
            | Self::Before { .. }
            | Self::Not { .. }
            | Self::FinishBy(_)
            | Self::Order { .. } => None,
        }
    }
}

fn without(market: &Market<'_>, domains: &mut [Domain], job: usize, unit: usize, minute: i64) {
    let (net, domain) = (&market.nets[job], &mut domains[job]);
    match unit.checked_sub(market.units.resources) {
        None => domain.without_resource(net, unit, minute),
        Some(group) => domain.without_places(net, &market.units.groups[group], minute),
    }
}
