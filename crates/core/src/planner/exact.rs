//! Closes small days: a search over what two jobs cannot both have, each branch bounded by prices.
//!
//! Where the jobs' cheapest ways against the prices clash in a minute of some unit, one of the two
//! jobs does without that minute: two branches, and no plan is lost. A branch is cut when its bound
//! reaches the cost of the best plan known; when all are cut, that plan is proved best. Which clash is
//! branched on is decided by trying both sides of a few (Land and Doig, Econometrica 28 (1960), for
//! branch and bound; Fisher (1981) for Lagrangian bounds in it). Effort is counted, never timed.

mod branch;
mod cut;
mod order;

use super::board::Standing;
use super::bound::ascent::{Ascent, Bids, Market, Room, charged};
use super::bound::domain::Domain;
use super::bound::prices::Prices;
use super::shop::Shop;
use branch::Branch;
use cut::Cut;
use order::Orders;
use std::sync::Arc;

/// The most jobs, and the most cells of one pass, of a problem that is searched.
const JOBS_MAX: usize = 14;
const CELLS_MAX: u64 = 1_500_000;
/// The most branches looked into before the search gives up.
const BRANCHES_MAX: u64 = 20_000;
/// Passes over the prices between two prunings in each branch, and in one where no jobs clash.
const PASSES: u64 = 6;
const PASSES_WITHOUT_CLASH: u64 = 30;
/// Prunings in a branch, and in the first part, which is all plans.
const ROUNDS: u32 = 2;
const ROUNDS_FIRST: u32 = 24;
/// The step with which prices move in a branch.
const STEP: f64 = 0.3;

/// A search under way.
#[derive(Debug)]
pub(super) struct Exact {
    /// All plans, and the parts that are not closed.
    root: Node,
    open: Vec<Node>,
    /// The cost of the best plan when the search began anew.
    upper: i64,
    /// Branches looked into.
    pub(super) branches: u64,
    /// Numbers computed in passes and prunings, about.
    work: u64,
    orders: Orders,
    room: Room,
    /// The last plan found that is better than what was known.
    found: Option<(i64, Vec<Standing>)>,
}

/// A part of all plans.
#[derive(Debug, Clone)]
struct Node {
    /// What is left of each job's minutes before the newest cut.
    domains: Arc<[Domain]>,
    cuts: Vec<Cut>,
    /// Whether the last of the cuts is not in the domains yet.
    fresh: bool,
    prices: Arc<Prices>,
    /// Scaled; no plan of this part costs less.
    bound: i64,
    /// No plan of this part has its last finish earlier.
    last: i64,
}

/// A part while it is looked into.
struct Part {
    domains: Vec<Domain>,
    ascent: Ascent,
    /// The jobs' ways against the best prices.
    bids: Option<Bids>,
    /// The cost of the best plan known.
    upper: i64,
    /// Scaled: what the last finish costs at least.
    spanned: i64,
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
        let root = Node {
            domains: market.domains(shop).into(),
            cuts: Vec::new(),
            fresh: false,
            prices: Arc::new(prices.clone()),
            bound: 0,
            last,
        };
        Some(Self {
            open: vec![root.clone()],
            root,
            upper: i64::MAX,
            work: 0,
            orders: Orders::new(market),
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

    /// Looks into branches for some work, given the cost of the best plan known; gives a better plan if
    /// one comes up.
    pub(super) fn epoch(
        &mut self,
        market: &Market<'_>,
        shop: &Shop<'_>,
        work: u64,
        upper: i64,
    ) -> Option<(i64, Vec<Standing>)> {
        let mut upper = upper;
        if upper < self.upper {
            // Much more can be struck out for a better plan, from the beginning.
            self.upper = upper;
            self.open = vec![self.root.clone()];
        }
        let until = self.work + work;
        while self.work < until && self.branches < BRANCHES_MAX {
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
        let mut domains = node.domains.to_vec();
        if let Some(cut) = node.cuts.last().filter(|_| node.fresh) {
            cut.apply(market, &mut domains);
        }
        if self.orders.narrow(market, &node.cuts, &mut domains).is_none() {
            return;
        }
        let mut prices = Prices::clone(&node.prices);
        node.cuts.iter().for_each(|cut| cut.free(market, &node.cuts, &mut prices));
        let ascent = Ascent::with_step(market, prices, STEP);
        let spanned = market.problem.cost.makespan * market.scale * node.last;
        let mut part = Part { domains, ascent, bids: None, upper, spanned };
        for _ in 0..if self.is_all(node) { ROUNDS_FIRST } else { ROUNDS } {
            let before = part.ascent.bound;
            if self.raise(market, shop, &mut part) || self.strike(market, node, &mut part).is_none()
            {
                return;
            }
            if part.ascent.bound <= before {
                break;
            }
        }
        self.split(market, shop, node, part);
    }

    /// Whether a node is all plans.
    fn is_all(&self, node: &Node) -> bool {
        node.cuts.is_empty() && node.last == self.root.last
    }

    /// Some passes over the prices; says whether they close the part.
    fn raise(&mut self, market: &Market<'_>, shop: &Shop<'_>, part: &mut Part) -> bool {
        let mut until = part.ascent.passes + PASSES;
        while part.ascent.passes < until {
            let before = part.ascent.bound;
            let target = part.upper.saturating_mul(market.scale) - part.spanned;
            let bids = part.ascent.pass(market, &part.domains, &mut self.room, target);
            self.work += market.work(&part.domains);
            self.keep_plan(market, shop, &bids, part.upper);
            let found = self.found.as_ref();
            part.upper = found.map_or(part.upper, |(cost, _)| part.upper.min(*cost));
            if part.ascent.bound > before || part.bids.is_none() {
                part.bids = Some(bids);
            }
            if market.unscaled(part.ascent.bound.saturating_add(part.spanned)) >= part.upper {
                return true;
            }
            let clash = part.bids.as_ref().is_some_and(|bids| branch::clashes(market, bids));
            if part.ascent.passes == until && !clash {
                until = until.max(PASSES_WITHOUT_CLASH);
            }
        }
        false
    }

    /// Strikes out what no better plan has; none when nothing is left of the part.
    fn strike(&mut self, market: &Market<'_>, node: &Node, part: &mut Part) -> Option<()> {
        let bids = part.bids.as_ref()?;
        self.room.tariff.set(&market.units, &part.ascent.best);
        let below = (part.upper - 1).saturating_mul(market.scale);
        let slack = below - part.spanned - part.ascent.bound;
        let all = self.is_all(node);
        for (job, domain) in part.domains.iter_mut().enumerate() {
            let limit = bids.least[job].saturating_add(slack);
            self.room.prune(market, job, domain, limit);
            let planned = market.nets[job].left_out.is_none_or(|price| price > limit);
            self.orders.planned[job] |= planned && all;
        }
        self.work += 2 * market.work(&part.domains);
        self.orders.narrow(market, &node.cuts, &mut part.domains)
    }

    /// Opens the sides of a part that is not closed.
    fn split(&mut self, market: &Market<'_>, shop: &Shop<'_>, node: &Node, part: Part) {
        let Part { domains, ascent, bids: Some(bids), upper, spanned } = part else { return };
        let bound = ascent.bound.saturating_add(spanned).max(node.bound);
        self.room.tariff.set(&market.units, &ascent.best);
        let (orders, last) = (&self.orders, node.last);
        let branch = Branch { market, shop, orders, domains: &domains, bids: &bids, bound, last };
        let sides = branch.sides(&node.cuts, &ascent.best, &mut self.room);
        let (prices, domains) = (Arc::new(ascent.best), Arc::from(domains));
        for side in sides {
            if market.unscaled(side.bound) >= upper {
                continue;
            }
            let mut cuts = node.cuts.clone();
            cuts.extend(side.cut);
            let (prices, domains) = (Arc::clone(&prices), Arc::clone(&domains));
            let fresh = side.cut.is_some();
            let (bound, last) = (side.bound, side.last);
            self.open.push(Node { domains, cuts, fresh, prices, bound, last });
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
