//! Splits a part of all plans in two (or a few) that together lose none.

use super::cut::Cut;
use super::order::{Orders, Part, may_precede, put_in_order};
use super::{Bids, Domain, Market, Prices, Room, Shop, Side, charged};
use crate::planner::bound::NEVER;
use crate::planner::span::Span;

/// How many clashes are tried before one is branched on.
const TRIED_MAX: usize = 8;

/// The smaller and the larger raise of two sides, and the sides.
type Tried = ((i64, i64), [(Cut, i64); 2]);

/// A part that is not closed, with the jobs' ways against its best prices.
pub(super) struct Branch<'b> {
    pub(super) market: &'b Market<'b>,
    pub(super) shop: &'b Shop<'b>,
    pub(super) orders: &'b Orders,
    pub(super) domains: &'b [Domain],
    pub(super) bids: &'b Bids,
    /// Scaled, with the part for the last finish.
    pub(super) bound: i64,
    pub(super) last: i64,
}

/// Two jobs that both want a unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Clash {
    unit: usize,
    one: usize,
    other: usize,
    from: i64,
    until: i64,
}

impl Branch<'_> {
    /// The sides; the more promising one last. `room` holds the tariff of the best prices.
    pub(super) fn sides(&self, cuts: &[Cut], prices: &Prices, room: &mut Room) -> Vec<Side> {
        if let Some(sides) = self.by_last_finish() {
            return sides;
        }
        let clashes = list(self.market, self.bids);
        let ordered = self.by_order(cuts, &clashes, room);
        let parted = self.by_clash(&clashes, room);
        // What raises the bound more on its weaker side; of equals the order.
        let best = match (ordered, parted) {
            (Some(ordered), Some(parted)) if parted.0 > ordered.0 => Some(parted),
            (Some(tried), _) | (None, Some(tried)) => Some(tried),
            (None, None) => None,
        };
        if let Some((_, mut sides)) = best {
            sides.sort_by_key(|(_, raise)| -raise);
            return sides.map(|(cut, raise)| self.side(cut, raise)).into();
        }
        if let Some((job, earlier, later, gap)) = broken_wait(self.shop, self.bids) {
            return self.by_wait(job, earlier, later, gap);
        }
        self.by_price(cuts, prices)
    }

    fn side(&self, cut: Cut, more: i64) -> Side {
        Side { cut: Some(cut), bound: self.bound.saturating_add(more), last: self.last }
    }

    /// Either all finish earlier than now, or the last finish is then or later.
    fn by_last_finish(&self) -> Option<Vec<Side>> {
        let makespan = self.market.problem.cost.makespan * self.market.scale;
        let last = last_finish(self.bids);
        if makespan == 0 || last <= self.last {
            return None;
        }
        let later = self.bound.saturating_add(makespan * (last - self.last));
        Some(vec![Side { cut: None, bound: later, last }, self.side(Cut::FinishBy(last - 1), 0)])
    }

    /// Either one step goes first or the other, where two that clash surely use the same unit.
    fn by_order(&self, cuts: &[Cut], clashes: &[Clash], room: &mut Room) -> Option<Tried> {
        let mut best: Option<Tried> = None;
        let mut pairs: Vec<(Part, Part)> = Vec::new();
        for clash in clashes {
            let (Some(one), Some(other)) =
                (self.step_at(clash.one, clash), self.step_at(clash.other, clash))
            else {
                continue;
            };
            let open =
                |first, then| may_precede(self.market, self.domains, first, then) == Some(true);
            let known = cuts.iter().any(|cut| cut.orders(one, other));
            if known
                || pairs.contains(&(one, other))
                || !self.orders.exclude(clash.unit, one, other)
                || !open(one, other)
                || !open(other, one)
            {
                continue;
            }
            pairs.push((one, other));
            let sides = [(one, other), (other, one)].map(|(first, then)| {
                let cut = Cut::Order { first, then };
                (cut, self.raise_in_order(first, then, room))
            });
            let raises = (sides[0].1.min(sides[1].1), sides[0].1.max(sides[1].1));
            if best.as_ref().is_none_or(|(least, _)| raises > *least) {
                best = Some((raises, sides));
            }
            if pairs.len() >= TRIED_MAX {
                break;
            }
        }
        best
    }

    /// The step with which a job's way uses a unit when it clashes.
    fn step_at(&self, job: usize, clash: &Clash) -> Option<Part> {
        let way = self.bids.ways[job].as_ref()?;
        let at = way.steps.iter().find(|p| p.start < clash.until && clash.from < p.end)?;
        Some((job, at.step))
    }

    /// By how much an order raises the two jobs' least costs.
    fn raise_in_order(&self, first: Part, then: Part, room: &mut Room) -> i64 {
        let mut domains = self.domains.to_vec();
        if put_in_order(self.market, &mut domains, first, then).is_none() {
            return NEVER;
        }
        let mut raise = 0;
        for job in [first.0, then.0] {
            let ask = self.market.question(job, &domains[job], &room.tariff);
            raise += room.sweep.least(ask).min(NEVER / 4) - self.bids.least[job];
        }
        raise
    }

    /// Either one job or the other does without the minute.
    fn by_clash(&self, clashes: &[Clash], room: &mut Room) -> Option<Tried> {
        let mut best: Option<Tried> = None;
        for clash in clashes.iter().take(TRIED_MAX) {
            for minute in [clash.until - 1, clash.from] {
                let (unit, one, other) = (clash.unit, clash.one, clash.other);
                let sides = [one, other].map(|job| {
                    let cut = Cut::Without { job, unit, minute };
                    (cut, self.raise(job, cut, room))
                });
                let raises = (sides[0].1.min(sides[1].1), sides[0].1.max(sides[1].1));
                if best.as_ref().is_none_or(|(least, _)| raises > *least) {
                    best = Some((raises, sides));
                }
            }
        }
        best
    }

    /// By how much a cut raises a job's least cost.
    fn raise(&self, job: usize, cut: Cut, room: &mut Room) -> i64 {
        let mut domain = self.domains[job].clone();
        let net = &self.market.nets[job];
        if let Cut::Without { unit, minute, .. } = cut {
            match unit.checked_sub(self.market.units.resources) {
                None => domain.without_resource(net, unit, minute),
                Some(group) => domain.without_places(net, &self.market.units.groups[group], minute),
            }
        }
        let least = room.sweep.least(self.market.question(job, &domain, &room.tariff));
        least - self.bids.least[job]
    }

    /// Either the earlier step starts so early that the wait is kept, or the later one starts later.
    fn by_wait(&self, job: usize, earlier: usize, later: usize, gap: i64) -> Vec<Side> {
        let Some(way) = &self.bids.ways[job] else { return Vec::new() };
        let at = |step: usize| way.steps.iter().find(|placed| placed.step == step);
        let (Some(first), Some(then)) = (at(earlier), at(later)) else { return Vec::new() };
        // Options differ in length, so the earlier side asks only for what the shortest needs.
        let spec = &self.market.problem.jobs[job];
        let options = spec.steps[earlier].options.iter();
        let shortest = options.map(|way| way.minutes).min().unwrap_or(1);
        let before = then.start - gap - shortest + 1;
        let earlier_side = if before <= first.start {
            Cut::Before { job, step: earlier, minute: before }
        } else {
            Cut::Not { job, step: earlier, option: first.option, minute: first.start }
        };
        let mut sides = vec![self.side(earlier_side, 0)];
        if !spec.steps[later].is_fixed() {
            sides.push(self.side(Cut::From { job, step: later, minute: then.start + 1 }, 0));
        }
        sides
    }

    /// No clash, but a price is paid by nobody: the dearest such minute is kept for one job, or
    /// that job does without it.
    fn by_price(&self, cuts: &[Cut], prices: &Prices) -> Vec<Side> {
        let mut used = vec![false; prices.of.len()];
        for (job, way) in self.bids.ways.iter().enumerate() {
            let Some(way) = way else { continue };
            charged(self.market, job, way, &mut |unit, span| {
                let row = unit * prices.len;
                let range = prices.within(span);
                used[row + range.start..row + range.end].fill(true);
            });
        }
        let idle = (0..prices.of.len()).filter(|at| !used[*at]);
        let Some(at) = idle.max_by_key(|at| prices.of[*at]).filter(|at| prices.of[*at] > 0) else {
            // The ways are a plan, and its cost is the bound: nothing is left here.
            return Vec::new();
        };
        let (unit, minute) =
            (at / prices.len, prices.origin + super::super::check::as_i64(at % prices.len));
        let without: Vec<usize> = cuts.iter().filter_map(|cut| cut.at(unit, minute)).collect();
        let Some(job) = (0..self.domains.len()).find(|job| !without.contains(job)) else {
            // Cannot be, as nobody's minute has no price; the part is kept, so that nothing is lost.
            return vec![Side { cut: None, bound: self.bound, last: self.last }];
        };
        vec![
            self.side(Cut::Without { job, unit, minute }, 0),
            self.side(Cut::Only { job, unit, minute }, 0),
        ]
    }
}

/// Whether any two jobs want a unit in the same minute.
pub(super) fn clashes(market: &Market<'_>, bids: &Bids) -> bool {
    !list(market, bids).is_empty()
}

/// The clashes, the longest first.
fn list(market: &Market<'_>, bids: &Bids) -> Vec<Clash> {
    let mut wanted: Vec<Vec<(Span, usize)>> = vec![Vec::new(); market.units.count()];
    for (job, way) in bids.ways.iter().enumerate() {
        if let Some(way) = way {
            charged(market, job, way, &mut |unit, span| wanted[unit].push((span, job)));
        }
    }
    let mut clashes = Vec::new();
    for (unit, spans) in wanted.iter_mut().enumerate() {
        spans.sort_unstable();
        for (at, (span, one)) in spans.iter().enumerate() {
            let later = spans[at + 1..].iter().take_while(|(next, _)| next.start < span.end);
            for (next, other) in later.filter(|(_, other)| other != one) {
                let (from, until) = (next.start, span.end.min(next.end));
                clashes.push(Clash { unit, one: *one, other: *other, from, until });
            }
        }
    }
    clashes.sort_by_key(|clash| (clash.from - clash.until, *clash));
    clashes
}

/// A wait that a job's way breaks: job, earlier step, later step, minutes.
pub(super) fn broken_wait(shop: &Shop<'_>, bids: &Bids) -> Option<(usize, usize, usize, i64)> {
    bids.ways.iter().enumerate().find_map(|(job, way)| {
        let way = way.as_ref()?;
        let at = |step: usize| way.steps.iter().find(|placed| placed.step == step);
        let broken = shop.jobs[job].waits.iter().find(|(earlier, later, gap)| {
            at(*earlier).zip(at(*later)).is_some_and(|(first, then)| then.start < first.end + gap)
        });
        broken.map(|(earlier, later, gap)| (job, *earlier, *later, *gap))
    })
}

fn last_finish(bids: &Bids) -> i64 {
    bids.ways.iter().flatten().map(|way| way.finish).max().unwrap_or(0).max(0)
}

/// What the jobs' ways cost as a plan.
pub(super) fn cost(market: &Market<'_>, bids: &Bids) -> i64 {
    let jobs = bids.ways.iter().zip(&market.nets).map(|(way, net)| match way {
        Some(way) => way.cost,
        None => net.left_out.unwrap_or(0) / market.scale,
    });
    jobs.sum::<i64>() + market.problem.cost.makespan * last_finish(bids)
}
