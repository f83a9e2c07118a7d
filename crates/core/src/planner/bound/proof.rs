//! What is proved while a search goes on: prices are raised in step with its epochs, then small days
//! are closed. Effort is counted in cells and looks at rules, never timed.

mod told;

use super::Alone;
use super::ascent::{Ascent, Market, Room, real};
use super::domain::Domain;
use super::prices::Prices;
use crate::planner::board::{Standing, Worth};
use crate::planner::closer::{Closer, Closing};
use crate::planner::placement::left_out_cost;
use crate::planner::problem::Problem;
use crate::planner::shop::Shop;

/// The cells that passes may compute for each epoch of the search, and the most passes in one.
const CELLS_PER_EPOCH: u64 = 6_000_000;
const PASSES_PER_EPOCH: u64 = 16;
/// The first epochs are for plans: of problems with more than [`SMALL_JOBS`] jobs, passes get an eighth of that.
const EPOCHS_FOR_PLANS: u64 = 150;
/// More epochs are, and passes get a part in 32, while the best plan lies above the bound by more than one part in
/// [`FAR`] of what it costs.
const EPOCHS_FOR_FAR_PLANS: u64 = 900;
const FAR: i64 = 4;
pub(in crate::planner) const SMALL_JOBS: usize = 14;
/// The passes after which a problem gets no more of them.
const PASSES_MAX: u64 = 1_500;
/// Passes after which a problem with at most [`SMALL_JOBS`] jobs is closed, though more would raise the bound.
const PASSES_OF_SMALL: u64 = 100;
/// Looks at rules for each epoch, and after how many a problem stays open.
const WORK_PER_EPOCH: u64 = 4_000_000;
const WORK_MAX: u64 = 4_000_000_000;
/// The largest number of runs that a certificate has.
const RUNS_MAX: usize = 60_000;

/// A proof under way.
#[derive(Debug)]
pub(in crate::planner) struct Proof<'s> {
    shop: &'s Shop<'s>,
    bound: i64,
    /// What the jobs alone prove, and the earliest last finish that a reader of the prices derives too.
    alone: i64,
    last: i64,
    prices: Option<Priced<'s>>,
}

#[derive(Debug)]
struct Priced<'s> {
    market: Market<'s>,
    domains: Vec<Domain>,
    ascent: Ascent,
    room: Room,
    credit: u64,
    /// Epochs in which prices were raised.
    epochs: u64,
    /// The best plan's cost when the prices settled.
    settled_for: Option<i64>,
    /// What the prices prove by themselves.
    bound: i64,
    closing: Option<Close>,
    /// The best plan's cost that it was last told.
    upper: i64,
    /// Whether it cannot be closed.
    open: bool,
    /// The jobs in the order in which they would finish against the last prices.
    pub(super) order: Vec<usize>,
}

/// A closer at work.
#[derive(Debug)]
struct Close {
    closer: Closer,
    /// The prices that struck out starts for it, and what they prove by themselves.
    prices: Prices,
    bound: i64,
    /// How far the best plan's cost lay above what the prices prove when it began.
    gap: i64,
    /// Looks at rules, and dead ends, of those before.
    work: u64,
    dead_ends: u64,
}

impl<'s> Proof<'s> {
    pub(in crate::planner) fn new(shop: &'s Shop<'s>, alone: &Alone) -> Self {
        let prices = Market::new(shop).map(|market| {
            let none = Prices::none(&market.units, market.origin, market.len);
            Priced {
                domains: market.domains(shop),
                ascent: Ascent::with_step(&market, none, 1.0),
                room: Room::default(),
                credit: 0,
                epochs: 0,
                settled_for: None,
                bound: i64::MIN,
                closing: None,
                upper: i64::MAX,
                open: false,
                order: Vec::new(),
                market,
            }
        });
        let last = if prices.is_some() { earliest_last(shop.problem) } else { 0 };
        Self { shop, bound: alone.bound, alone: alone.bound, last, prices }
    }

    /// The jobs in the order in which they would finish against the last prices; empty before.
    pub(in crate::planner) fn order(&self) -> &[usize] {
        self.prices.as_ref().map_or(&[], |priced| &priced.order)
    }

    /// No plan costs less.
    pub(in crate::planner) fn bound(&self) -> i64 {
        self.bound
    }

    /// Goes on for the time of one epoch, given the best plan; gives a better one if it comes up.
    pub(in crate::planner) fn epoch(&mut self, best: Worth) -> Option<(Worth, Vec<Standing>)> {
        let priced = self.prices.as_mut().filter(|_| best.missing == 0)?;
        let upper = best.cost;
        if priced.is_closing() || priced.settled(upper) {
            if let Some(closing) = priced.close(self.shop, upper, self.last) {
                return self.after(closing);
            }
        } else {
            priced.raise(upper, self.last);
            self.bound = self.bound.max(priced.bound.min(upper));
        }
        None
    }

    /// Whether the problem is being closed.
    pub(in crate::planner) fn is_closing(&self) -> bool {
        self.prices.as_ref().is_some_and(Priced::is_closing)
    }

    fn after(&mut self, closing: Closing) -> Option<(Worth, Vec<Standing>)> {
        let priced = self.prices.as_ref()?;
        match closing {
            Closing::Closed(cost) => self.bound = self.bound.max(cost),
            Closing::Better(cost, standing) => {
                self.bound = self.bound.max(priced.bound.min(cost));
                return Some((Worth { missing: 0, cost }, standing));
            }
            Closing::Open => self.bound = self.bound.max(priced.bound.min(priced.upper)),
        }
        None
    }
}

impl Close {
    fn work(&self) -> u64 {
        self.work + self.closer.work()
    }

    fn dead_ends(&self) -> u64 {
        self.dead_ends + self.closer.dead_ends()
    }
}

/// The earliest that the last finish can be, each job taken as the prices take it: a wait that other
/// steps come between counts less than for the jobs alone, so that the certificate states no more than it proves.
fn earliest_last(problem: &Problem) -> i64 {
    if problem.cost.makespan == 0 {
        return 0;
    }
    let quiet = problem.finish_only();
    let shop = Shop::new(&quiet);
    let Some(market) = Market::new(&shop) else { return 0 };
    let domains = market.domains(&shop);
    let mut room = Room::default();
    room.tariff.set(&market.units, &Prices::none(&market.units, market.origin, market.len));
    let must = |job: &usize| left_out_cost(problem.cost, &problem.jobs[*job]).is_none();
    let finish = |job: usize| market.unscaled(room.bid(&market, job, &domains[job]).0);
    (0..problem.jobs.len()).filter(must).map(finish).max().unwrap_or(0).max(0)
}

impl Priced<'_> {
    /// Whether passes are at their end; much better plans make them worth while again.
    fn settled(&mut self, upper: i64) -> bool {
        let small = self.domains.len() <= SMALL_JOBS && !self.open;
        let most = if small { PASSES_OF_SMALL } else { PASSES_MAX };
        if self.ascent.passes >= most {
            return true;
        }
        if !self.ascent.settled() {
            return false;
        }
        let before = *self.settled_for.get_or_insert(upper);
        if real(upper.saturating_sub(self.bound)) < real(before.saturating_sub(self.bound)) * 0.7 {
            self.settled_for = None;
            self.ascent.wake();
            return false;
        }
        true
    }

    fn is_closing(&self) -> bool {
        self.closing.is_some() && !self.open
    }

    /// Tries to close the problem; none where that cannot be done.
    fn close(&mut self, shop: &Shop<'_>, upper: i64, last: i64) -> Option<Closing> {
        if self.open || self.domains.len() > SMALL_JOBS {
            return None;
        }
        self.upper = upper;
        if self.ascent.passes < PASSES_MAX && !self.ascent.settled() {
            self.raise(upper, last);
        }
        let gap = upper.saturating_sub(self.bound);
        // With much less between them prices strike out much more, and it pays to begin anew.
        if self.closing.as_ref().is_none_or(|close| gap < close.gap / 2) {
            let domains = self.pruned(upper, last);
            let (work, dead_ends) =
                self.closing.as_ref().map_or((0, 0), |close| (close.work(), close.dead_ends()));
            let closer = Closer::new(&self.market, shop, &domains, (upper, last));
            let (prices, bound) = (self.ascent.best.clone(), self.bound);
            self.closing = closer.map(|c| Close { closer: c, prices, bound, gap, work, dead_ends });
        }
        let outcome =
            self.closing.as_mut().map(|close| close.closer.epoch(shop, WORK_PER_EPOCH, upper));
        let close = self.closing.as_ref();
        self.open = close.is_none_or(|close| close.closer.is_broken() || close.work() > WORK_MAX);
        outcome
    }

    /// What is left of each job's minutes in plans that cost less than `upper`.
    fn pruned(&mut self, upper: i64, last: i64) -> Vec<Domain> {
        let market = &self.market;
        let mut domains = self.domains.clone();
        let spanned = market.problem.cost.makespan * market.scale * last;
        let below = (upper - 1).saturating_mul(market.scale);
        let slack = below.saturating_sub(spanned).saturating_sub(self.ascent.bound);
        self.room.tariff.set(&market.units, &self.ascent.best);
        for (job, domain) in domains.iter_mut().enumerate() {
            let (least, _) = self.room.bid(market, job, domain);
            self.room.prune(market, job, domain, least.saturating_add(slack));
        }
        domains
    }

    fn raise(&mut self, upper: i64, last: i64) {
        // Where plans can still become much better, they come first.
        self.epochs += 1;
        let far = upper.saturating_sub(self.bound) > upper / FAR;
        let most = if far { EPOCHS_FOR_FAR_PLANS } else { EPOCHS_FOR_PLANS };
        let hurried = self.epochs <= most && self.domains.len() > SMALL_JOBS;
        let cells = match (hurried, far) {
            (false, _) if self.is_closing() => CELLS_PER_EPOCH / 4,
            (false, _) => CELLS_PER_EPOCH,
            (true, false) => CELLS_PER_EPOCH / 8,
            (true, true) => CELLS_PER_EPOCH / 32,
        };
        let market = &self.market;
        let spanned = market.problem.cost.makespan * market.scale * last;
        let target = upper.saturating_mul(market.scale).saturating_sub(spanned);
        self.credit += cells;
        let mut passes = 0;
        while self.credit >= market.cells && passes < PASSES_PER_EPOCH && !self.ascent.settled() {
            self.credit -= market.cells;
            passes += 1;
            let bids = self.ascent.pass(market, &self.domains, &mut self.room, target);
            let finish = |job: &usize| bids.ways[*job].as_ref().map_or(i64::MAX, |way| way.finish);
            self.order = (0..bids.ways.len()).collect();
            self.order
                .sort_by_cached_key(|job| (!market.problem.jobs[*job].has_fixed(), finish(job)));
            let bound = market.unscaled(self.ascent.bound.saturating_add(spanned));
            self.bound = self.bound.max(bound);
            if self.bound >= upper {
                break;
            }
        }
        self.credit = self.credit.min(market.cells);
    }
}
