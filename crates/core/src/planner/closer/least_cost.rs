//! The least cost of any plan by the rules alone, so that they can be checked by themselves.

use super::{Closer, Closing, Market, Shop};
use crate::planner::problem::Problem;

/// What plans of a problem cost at least.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeastCost {
    /// Some plan costs this and none less.
    Proved(i64),
    /// No plan keeps every rule.
    NoPlan,
    /// The problem is not a small one, or has something that the rules do not cover.
    NotCovered,
    /// The effort did not do.
    Open,
}

/// The most that a plan may cost here.
const UPPER: i64 = 1 << 32;
const EFFORT_AT_ONCE: u64 = 1_000_000;

/// The least cost of any plan of a small problem, without prices and without any other search: a check of the proof of
/// [`solve`](crate::planner::solve) by itself, much slower than that.
///
/// # Units
/// The effort is in looks at rules, about 10^8 a second.
pub fn least_cost(problem: &Problem, effort: u64) -> LeastCost {
    let shop = Shop::new(problem);
    let Some(market) = Market::new(&shop) else { return LeastCost::NotCovered };
    let domains = market.domains(&shop);
    let Some(mut closer) = Closer::new(&market, &shop, &domains, (UPPER, 0)) else {
        return LeastCost::NotCovered;
    };
    let mut least = None;
    while closer.work() < effort && !closer.is_broken() {
        match closer.epoch(&shop, EFFORT_AT_ONCE, least.unwrap_or(UPPER)) {
            Closing::Closed(_) => return least.map_or(LeastCost::NoPlan, LeastCost::Proved),
            Closing::Better(cost, _) => least = Some(cost),
            Closing::Open => {}
        }
    }
    LeastCost::Open
}
