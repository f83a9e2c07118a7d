//! Closes small days: the whole problem as rules over whole numbers, within the starts that prices leave, solved by
//! a search that learns from every dead end.
//!
//! It looks for plans that cost less than the best one known and, where there are none, has proved that one best. A
//! plan that it finds is checked against every rule before anybody sees it. Effort is counted, never timed.

mod encode;
mod engine;
mod least_cost;
mod name;
mod proof;
mod shared;

use super::board::{Board, Standing};
use super::bound::ascent::{Market, Room};
use super::bound::certificate::ClosingProof;
use super::bound::domain::Domain;
use super::bound::prices::Prices;
use super::plan::{Plan, PlanStatus};
use super::shop::Shop;
use super::stood;
use encode::{Encoding, Known};
use engine::Outcome;
pub use least_cost::{LeastCost, least_cost};

/// A proof under way.
#[derive(Debug)]
pub(super) struct Closer {
    encoding: Encoding,
    /// The cost of the best plan known.
    upper: i64,
}

/// What some effort brought.
#[derive(Debug)]
pub(super) enum Closing {
    /// No plan costs less than this, which is what the best one known costs.
    Closed(i64),
    /// A better plan, and what it costs.
    Better(i64, Vec<Standing>),
    /// Nothing yet.
    Open,
}

impl Closer {
    /// Begins with what is left of each job's minutes in plans that cost less than `upper`, and no last finish before
    /// `last`. None where the problem is too large or has something that is not covered.
    pub(super) fn new(
        market: &Market<'_>,
        shop: &Shop<'_>,
        domains: &[Domain],
        (upper, last): (i64, i64),
    ) -> Option<Self> {
        let mut room = Room::default();
        room.tariff.set(&market.units, &Prices::none(&market.units, market.origin, market.len));
        let least = domains.iter().enumerate().map(|(job, domain)| {
            // Where a job has no way left, no plan is cheap enough.
            let least = room.bid(market, job, domain).0.min(super::bound::NEVER);
            market.unscaled(least).min(upper)
        });
        let least: Vec<i64> = least.collect();
        let known = Known { domains, least: &least, last, most: upper - 1 };
        Some(Self { encoding: Encoding::new(market, shop, known)?, upper })
    }

    /// Dead ends met so far.
    pub(super) fn dead_ends(&self) -> u64 {
        self.encoding.engine.dead_ends
    }

    /// Looks at rules so far.
    pub(super) fn work(&self) -> u64 {
        self.encoding.engine.work
    }

    /// Whether something came up that cannot be; then nothing more is to be had here.
    pub(super) fn is_broken(&self) -> bool {
        self.encoding.engine.broken
    }

    /// Why no plan costs less than the best one known, told step by step; none while that is not proved, or where it
    /// would be too long.
    pub(super) fn proof(&self) -> Option<ClosingProof> {
        proof::tell(&self.encoding.engine, self.upper)
    }

    /// Goes on for some effort, given the cost of the best plan known.
    pub(super) fn epoch(&mut self, shop: &Shop<'_>, work: u64, upper: i64) -> Closing {
        if upper < self.upper {
            self.upper = upper;
            self.encoding.lower(upper - 1);
        }
        match self.encoding.engine.search(work) {
            Outcome::None => Closing::Closed(self.upper),
            Outcome::Open => Closing::Open,
            Outcome::Found => {
                let standing = self.encoding.standing(shop);
                let Some(cost) = checked(shop, &standing).filter(|cost| *cost < self.upper) else {
                    self.encoding.engine.broken = true;
                    return Closing::Open;
                };
                self.upper = cost;
                self.encoding.lower(cost - 1);
                Closing::Better(cost, standing)
            }
        }
    }
}

/// What a plan costs; none where it breaks a rule.
fn checked(shop: &Shop<'_>, standing: &[Standing]) -> Option<i64> {
    let planned = Board::with(shop, standing).planned_jobs();
    let plan = Plan::new(PlanStatus::Feasible, planned);
    let standing = stood::standings(shop.problem, &plan).ok()?;
    Some(Board::with(shop, &standing).worth().cost)
}
