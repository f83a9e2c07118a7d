//! Closes small days: a search over what two jobs cannot both have, each branch bounded by prices.
//!
//! Where the jobs' cheapest ways against the prices clash in a minute of some unit, one of the two
//! jobs does without that minute: two branches, and no plan is lost. A branch is cut when its bound
//! reaches the cost of the best plan known; when all are cut, that plan is proved best. Which clash is
//! branched on is decided by trying both sides of a few (Land and Doig, Econometrica 28 (1960), for
//! branch and bound; Fisher (1981) for Lagrangian bounds in it). Effort is counted, never timed.

mod branch;
mod cut;

use super::board::Standing;
use super::bound::ascent::{Ascent, Bids, Market, Room, charged};
use super::bound::domain::Domain;
use super::bound::prices::Prices;
use super::shop::Shop;
use branch::Branch;
use cut::Cut;
use std::sync::Arc;

/// The most jobs, and the most cells of one pass, of a problem that is searched.
const JOBS_MAX: usize = 14;
const CELLS_MAX: u64 = 1_500_000;
/// The most branches looked into before the search gives up.
const BRANCHES_MAX: u64 = 20_000;
/// Passes over the prices in each branch, and in one where no jobs clash.
const PASSES: u32 = 6;
const PASSES_WITHOUT_CLASH: u32 = 30;
/// The step with which prices move in a branch.
const STEP: f64 = 0.3;

/// A search under way.
#[derive(Debug)]
pub(super) struct Exact {
    domains: Vec<Domain>,
    open: Vec<Node>,
    /// Branches looked into.
    pub(super) branches: u64,
    room: Room,
    /// The last plan found that is better than what was known.
    found: Option<(i64, Vec<Standing>)>,
}

/// A part of all plans.
#[derive(Debug, Clone)]
struct Node {
    cuts: Vec<Cut>,
    prices: Arc<Prices>,
    /// Scaled; no plan of this part costs less.
    bound: i64,
    /// No plan of this part has its last finish earlier.
    last: i64,
}

/// One side of a branch before it is looked into.
struct Side {
    cut: Option<Cut>,
    bound: i64,
    last: i64,
}

impl Exact {
    /// None where the problem is too large to be closed.
    pub(super) fn new(
        market: &Market<'_>,
        shop: &Shop<'_>,
        prices: &Prices,
        last: i64,
    ) -> Option<Self> {
        let exact = market.nets.iter().all(|net| !net.loose_crew);
        let waits = (0..market.nets.len()).any(|job| waits_between_fixed(market, shop, job));
        if market.nets.len() > JOBS_MAX || market.cells > CELLS_MAX || !exact || waits {
            return None;
        }
        let root = Node { cuts: Vec::new(), prices: Arc::new(prices.clone()), bound: 0, last };
        Some(Self {
            domains: market.domains(shop),
            open: vec![root],
            branches: 0,
            room: Room::default(),
            found: None,
        })
    }

    /// What is proved: no plan costs less than this, or than `upper`.
    pub(super) fn bound(&self, market: &Market<'_>, upper: i64) -> i64 {
        let open = self.open.iter().map(|node| market.unscaled(node.bound)).min();
        open.map_or(upper, |open| open.min(upper))
    }

    /// Looks into some branches, given the cost of the best plan known; gives a better plan if
    /// one comes up.
    pub(super) fn epoch(
        &mut self,
        market: &Market<'_>,
        shop: &Shop<'_>,
        branches: u64,
        upper: i64,
    ) -> Option<(i64, Vec<Standing>)> {
        let mut upper = upper;
        for _ in 0..branches {
            if self.branches >= BRANCHES_MAX {
                break;
            }
            let Some(node) = self.open.pop() else { break };
            if market.unscaled(node.bound) < upper {
                self.branches += 1;
                self.look_into(market, shop, &node, upper);
                upper = upper.min(self.found.as_ref().map_or(upper, |(cost, _)| *cost));
            }
        }
        self.found.take()
    }

    fn look_into(&mut self, market: &Market<'_>, shop: &Shop<'_>, node: &Node, upper: i64) {
        let mut domains = self.domains.clone();
        node.cuts.iter().for_each(|cut| cut.apply(market, &mut domains));
        let mut prices = Prices::clone(&node.prices);
        node.cuts.iter().for_each(|cut| cut.free(market, &node.cuts, &mut prices));
        let mut ascent = Ascent::with_step(market, prices, STEP);
        let spanned = market.problem.cost.makespan * market.scale * node.last;
        let mut best: Option<Bids> = None;
        let mut passes = PASSES;
        while ascent.passes < u64::from(passes) {
            let before = ascent.bound;
            let target = upper.saturating_mul(market.scale) - spanned;
            let bids = ascent.pass(market, &domains, &mut self.room, target);
            self.keep_plan(market, shop, &bids, upper);
            if ascent.bound > before || best.is_none() {
                best = Some(bids);
            }
            if market.unscaled(ascent.bound.saturating_add(spanned)) >= upper {
                return;
            }
            let clash = best.as_ref().is_some_and(|bids| branch::clashes(market, bids));
            if ascent.passes == u64::from(passes) && !clash && passes == PASSES {
                passes = PASSES_WITHOUT_CLASH;
            }
        }
        let Some(bids) = best else { return };
        let upper = self.found.as_ref().map_or(upper, |(cost, _)| upper.min(*cost));
        let bound = ascent.bound.saturating_add(spanned).max(node.bound);
        self.room.tariff.set(&market.units, &ascent.best);
        let branch =
            Branch { market, shop, domains: &domains, bids: &bids, bound, last: node.last };
        let sides = branch.sides(&node.cuts, &ascent.best, &mut self.room);
        let prices = Arc::new(ascent.best);
        for side in sides {
            if market.unscaled(side.bound) >= upper {
                continue;
            }
            let mut cuts = node.cuts.clone();
            cuts.extend(side.cut);
            let prices = Arc::clone(&prices);
            self.open.push(Node { cuts, prices, bound: side.bound, last: side.last });
        }
    }

    /// Keeps the jobs' ways as a plan where they keep every rule together and cost less.
    fn keep_plan(&mut self, market: &Market<'_>, shop: &Shop<'_>, bids: &Bids, upper: i64) {
        let upper = self.found.as_ref().map_or(upper, |(cost, _)| upper.min(*cost));
        if branch::clashes(market, bids) || branch::broken_wait(shop, bids).is_some() {
            return;
        }
        let Some(standing) = bids.standing(market) else { return };
        let cost = branch::cost(market, bids);
        if cost < upper {
            self.found = Some((cost, standing));
        }
    }
}

/// Whether a vehicle may wait at a place between two fixed steps: prices do not cover that wait, so
/// ways without a clash might still not be a plan.
fn waits_between_fixed(market: &Market<'_>, shop: &Shop<'_>, job: usize) -> bool {
    let steps = &market.problem.jobs[job].steps;
    shop.jobs[job].fixed.windows(2).any(|pair| {
        let stands = |step: usize| {
            let fixed = steps[step].fixed.as_ref()?;
            let place = steps[step].options[fixed.option].place?;
            Some((place, fixed.start, fixed.start + fixed.minutes))
        };
        stands(pair[0])
            .zip(stands(pair[1]))
            .is_some_and(|((place, _, end), (next, start, _))| place == next && end < start)
    })
}
