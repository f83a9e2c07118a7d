//! Raises the bound by prices: jobs bid for places and resources, prices rise where too many want
//! them and fall where nobody does.
//!
//! Against any prices of 0 or more, the jobs' least costs less the sum of all prices is a lower bound
//! (Lagrangian relaxation; Fisher, "The Lagrangian relaxation method for solving integer programming
//! problems", Management Science 27 (1981)). The prices follow a deflected subgradient (Camerini,
//! Fratta and Maffioli, Mathematical Programming Study 3 (1975)). Prices are whole numbers, so that the bound is exact.

use super::domain::Domain;
use super::net::Net;
use super::prices::{Prices, Tariff};
use super::sweep::{NEVER, Question, Sweep};
use super::units::Units;
use crate::planner::placement::{Placed, Placement};
use crate::planner::problem::Problem;
use crate::planner::shop::Shop;
use crate::planner::span::Span;

/// Parts of the cost's unit in which prices are counted, where the costs are small enough.
const SCALE: i64 = 64;
/// The most that costs may come to, scaled.
const SCALED_MAX: i128 = 1 << 58;
/// The most cells of one pass; beyond, jobs get no prices.
const CELLS_MAX: u64 = 400_000_000;
/// How much of the last direction stays in the next.
const DEFLECTION: f64 = 0.9;
/// Passes without a better bound after which the step is cut.
const PATIENCE: u32 = 12;
/// A gain of this share of the bound counts as a better one.
const WORTH_WHILE: f64 = 0.000_05;
/// The target lies at most the bound's share of one in so many above it.
const REACH: i64 = 10;
/// The step at which the prices count as settled.
const STEP_MIN: f64 = 0.002;

/// What prices are raised over; it does not change.
#[derive(Debug)]
pub(in crate::planner) struct Market<'m> {
    pub(in crate::planner) problem: &'m Problem,
    pub(in crate::planner) units: Units,
    pub(in crate::planner) nets: Vec<Net>,
    pub(in crate::planner) scale: i64,
    pub(in crate::planner) origin: i64,
    pub(in crate::planner) len: usize,
    /// Numbers that one pass computes, about.
    pub(in crate::planner) cells: u64,
}

impl<'m> Market<'m> {
    /// None where the problem is too large or its costs leave no room for prices.
    pub(in crate::planner) fn new(shop: &Shop<'m>) -> Option<Self> {
        let problem = shop.problem;
        let scale = scale_of(problem)?;
        let mut cells = 0_u64;
        let mut nets = Vec::with_capacity(problem.jobs.len());
        for job in 0..problem.jobs.len() {
            let net = Net::new(shop, job, scale)?;
            cells = cells.saturating_add(net.cells());
            if cells > CELLS_MAX {
                return None;
            }
            nets.push(net);
        }
        let origin = nets.iter().map(|net| net.base).min()?;
        let len = super::net::index(problem.horizon - origin);
        Some(Self { problem, units: Units::new(problem), nets, scale, origin, len, cells })
    }

    pub(in crate::planner) fn domains(&self, shop: &Shop<'_>) -> Vec<Domain> {
        self.nets.iter().map(|net| Domain::new(shop, net)).collect()
    }

    pub(in crate::planner) fn question<'q>(
        &'q self,
        job: usize,
        domain: &'q Domain,
        tariff: &'q Tariff,
    ) -> Question<'q> {
        Question { job: &self.problem.jobs[job], net: &self.nets[job], domain, tariff }
    }

    /// A scaled bound as a whole cost.
    pub(in crate::planner) fn unscaled(&self, bound: i64) -> i64 {
        bound.div_euclid(self.scale) + i64::from(bound.rem_euclid(self.scale) > 0)
    }
}

/// The largest scale that the costs leave room for.
fn scale_of(problem: &Problem) -> Option<i64> {
    let cost = problem.cost;
    let mut worst = 0_i128;
    for job in &problem.jobs {
        let wide = |number: i64| i128::from(number);
        let last = super::super::limits::MINUTE_MAX + super::super::limits::HORIZON_MAX;
        let late = wide(cost.lateness)
            * wide(job.weight)
            * wide(last.saturating_add(job.due.map_or(0, i64::abs)));
        let steps = job.steps.len() as i128;
        worst += late
            + wide(cost.finish) * wide(last)
            + (wide(cost.place_change) + wide(cost.change)) * steps
            + wide(job.leave_out_cost.unwrap_or(0));
    }
    let mut scale = SCALE;
    while scale > 0 && worst * i128::from(scale) > SCALED_MAX {
        scale /= 2;
    }
    (scale > 0).then_some(scale)
}

/// How each job stands against some prices.
#[derive(Debug, Clone)]
pub(in crate::planner) struct Bids {
    /// Scaled, per job the least.
    pub(in crate::planner) least: Vec<i64>,
    /// Per job its cheapest way; none when that is to leave it out.
    pub(in crate::planner) ways: Vec<Option<Placement>>,
}

/// Prices under way.
#[derive(Debug)]
pub(in crate::planner) struct Ascent {
    pub(in crate::planner) prices: Prices,
    /// The prices that gave the best bound, and that bound, scaled.
    pub(in crate::planner) best: Prices,
    pub(in crate::planner) bound: i64,
    direction: Vec<f64>,
    step: f64,
    stale: u32,
    pub(in crate::planner) passes: u64,
}

impl Ascent {
    pub(in crate::planner) fn with_step(market: &Market<'_>, prices: Prices, step: f64) -> Self {
        Self {
            best: prices.clone(),
            bound: i64::MIN,
            direction: vec![0.0; market.units.count() * market.len],
            step,
            stale: 0,
            passes: 0,
            prices,
        }
    }

    /// Whether more passes bring next to nothing.
    pub(in crate::planner) fn settled(&self) -> bool {
        self.step < STEP_MIN
    }

    /// Takes up larger steps again.
    pub(in crate::planner) fn wake(&mut self) {
        self.step = 0.5;
        self.stale = 0;
    }

    /// One pass: asks every job, then moves the prices. `target` is a cost that some plan has,
    /// scaled. Gives the jobs' ways against the prices as they were before.
    pub(in crate::planner) fn pass(
        &mut self,
        market: &Market<'_>,
        domains: &[Domain],
        room: &mut Room,
        target: i64,
    ) -> Bids {
        self.passes += 1;
        room.tariff.set(&market.units, &self.prices);
        let bids = room.bids(market, domains);
        let sum = bids.least.iter().fold(0_i64, |sum, least| sum.saturating_add(*least));
        let value = sum.saturating_sub(self.prices.total());
        if value > self.bound {
            let gained = real(value) - real(self.bound.max(0));
            if gained > real(value.max(0)) * WORTH_WHILE {
                self.stale = 0;
            }
            self.bound = value;
            self.best.of.clone_from(&self.prices.of);
        }
        self.stale += 1;
        if self.stale > PATIENCE {
            self.stale = 0;
            self.step *= 0.6;
            self.prices.of.clone_from(&self.best.of);
            self.direction.fill(0.0);
        }
        // Far above the bound there is nothing to aim at: a tenth more is aimed for at a time.
        let near = self.bound.saturating_add((self.bound / REACH).max(market.scale));
        self.walk(market, &bids, real(target.min(near)) - real(value), room);
        bids
    }

    fn walk(&mut self, market: &Market<'_>, bids: &Bids, gap: f64, room: &mut Room) {
        room.wanted.clear();
        room.wanted.resize(self.prices.of.len(), -1);
        for (job, way) in bids.ways.iter().enumerate() {
            let Some(way) = way else { continue };
            charged(market, job, way, &mut |unit, span| {
                let range = self.prices.within(span);
                let row = unit * self.prices.len;
                room.wanted[row + range.start..row + range.end].iter_mut().for_each(|w| *w += 1);
            });
        }
        let mut square = 0.0;
        for ((wanted, direction), price) in
            room.wanted.iter().zip(&mut self.direction).zip(&self.prices.of)
        {
            // Nobody wants it and it is free already.
            let pull = if *wanted < 0 && *price == 0 { 0.0 } else { f64::from(*wanted) };
            *direction = *direction * DEFLECTION + pull * (1.0 - DEFLECTION);
            if *price == 0 && *direction < 0.0 {
                *direction = 0.0;
            }
            square += *direction * *direction;
        }
        if square <= 0.0 {
            return;
        }
        let length = self.step * gap.max(0.0) / square * (1.0 - DEFLECTION);
        for (price, direction) in self.prices.of.iter_mut().zip(&self.direction) {
            if *direction != 0.0 {
                *price = price.saturating_add(whole(length * direction)).clamp(0, NEVER >> 24);
            }
        }
    }
}

/// Room that passes use again.
#[derive(Debug, Default)]
pub(in crate::planner) struct Room {
    pub(in crate::planner) sweep: Sweep,
    pub(in crate::planner) tariff: Tariff,
    wanted: Vec<i32>,
}

impl Room {
    /// Every job's cheapest way against the tariff.
    fn bids(&mut self, market: &Market<'_>, domains: &[Domain]) -> Bids {
        let mut bids = Bids { least: Vec::new(), ways: Vec::new() };
        for (job, domain) in domains.iter().enumerate() {
            let (least, way) = self.bid(market, job, domain);
            bids.least.push(least);
            bids.ways.push(way);
        }
        bids
    }

    /// Strikes out the starts of a job over which every way costs more than `limit` against the tariff.
    pub(in crate::planner) fn prune(
        &mut self,
        market: &Market<'_>,
        job: usize,
        domain: &mut Domain,
        limit: i64,
    ) {
        let ask = market.question(job, domain, &self.tariff);
        self.sweep.least(ask);
        if let Some(pruned) = self.sweep.pruned(ask, limit) {
            *domain = pruned;
        }
    }

    /// One job's cheapest way against the tariff.
    pub(in crate::planner) fn bid(
        &mut self,
        market: &Market<'_>,
        job: usize,
        domain: &Domain,
    ) -> (i64, Option<Placement>) {
        let ask = market.question(job, domain, &self.tariff);
        let least = self.sweep.least(ask);
        let way: Option<Vec<Placed>> = self.sweep.way(ask);
        (least, way.map(|way| Placement::new(market.problem.cost, ask.job, way)))
    }
}

/// Tells every unit and span that a job's way pays for: what its steps that are not fixed use and
/// hold, and the waits beside them.
pub(in crate::planner) fn charged(
    market: &Market<'_>,
    job: usize,
    way: &Placement,
    tell: &mut dyn FnMut(usize, Span),
) {
    let spec = &market.problem.jobs[job];
    for placed in way.steps.iter().filter(|placed| !spec.steps[placed.step].is_fixed()) {
        let span = Span { start: placed.start, end: placed.end };
        placed.uses.iter().for_each(|used| tell(*used, span));
    }
    for hold in way.holds(spec).filter(|hold| !hold.fixed) {
        market.units.of_place[hold.place].iter().for_each(|unit| tell(*unit, hold.span));
    }
}

#[expect(clippy::cast_precision_loss, reason = "steps need no exact figures")]
pub(in crate::planner) fn real(value: i64) -> f64 {
    value as f64
}

#[expect(clippy::cast_possible_truncation, reason = "a cast from a real number saturates")]
fn whole(value: f64) -> i64 {
    value.round() as i64
}
