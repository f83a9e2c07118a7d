//! Strikes out starts that no better plan can have: variable fixing by the gap.
//!
//! Against some prices, a plan in which a step of one job begins at some start costs at least the bound plus what
//! the job's cheapest way over that start costs more than its cheapest way of all. Where that reaches the
//! cost of a plan that is known, the start can go (reduced-cost fixing; Fisher (1981)). What a way over a start
//! costs is the least up to it, swept forwards here, plus the least from it on, which the sweep has.

use super::domain::Domain;
use super::net::{Arc, Last, Layer, Start};
use super::sweep::{NEVER, Question, Sweep};
use crate::planner::check::as_i64;
use crate::planner::span::Span;
use std::ops::Range;

/// Room for the forward sweep.
#[derive(Debug, Default)]
pub(super) struct Forward {
    /// Per state and index of the last step's end, the least paid by then.
    paid: Vec<i64>,
    arrive: Vec<i64>,
    keep: Vec<bool>,
}

impl Sweep {
    /// After [`Sweep::least`]: the domain without the starts over which every way costs more than
    /// `limit`; none where steps are fixed.
    pub(in crate::planner) fn pruned(&mut self, ask: Question<'_>, limit: i64) -> Option<Domain> {
        let net = ask.net;
        let fixed =
            |layer: &Layer| layer.arcs.iter().any(|arc| matches!(arc.start, Start::Fixed(_)));
        if net.layers.iter().any(fixed) {
            return None;
        }
        let mut room = std::mem::take(&mut self.forward);
        let stride = self.stride;
        if room.paid.len() < net.states.len() * stride {
            room.paid.resize(net.states.len() * stride, NEVER);
        }
        for (state, ends) in self.reach.states.iter().enumerate() {
            room.paid[state * stride..][ends.clone()].fill(NEVER);
        }
        room.keep.clear();
        room.keep.resize(net.ways.len() * stride, false);
        if room.arrive.len() < stride {
            room.arrive.resize(stride, NEVER);
        }
        // Sets with fewer steps done come first.
        for layer in net.layers.iter().rev() {
            for arc in &layer.arcs {
                let Start::Way(way) = arc.start else { continue };
                if self.reach.is_shut(arc) {
                    continue;
                }
                let starts = self.reach.ways[way].clone();
                room.arrive[starts.clone()].fill(NEVER);
                for state in layer.states.clone() {
                    let ends = self.reach.states[state].clone();
                    let paid = &room.paid[state * stride..(state + 1) * stride];
                    let from = From { at: state, ends, paid };
                    from.arrive(ask, arc, starts.clone(), &mut room.arrive);
                }
                let minutes = net.ways[way].minutes;
                let weights = &self.weights[way * stride..(way + 1) * stride];
                let values = &self.values[arc.to * stride..(arc.to + 1) * stride];
                for span in &ask.domain.starts[way] {
                    for start in ask.range(*span) {
                        let paid = room.arrive[start].saturating_add(weights[start]);
                        let end = start + minutes;
                        if paid >= NEVER || values[end] >= NEVER || paid + values[end] > limit {
                            continue;
                        }
                        room.keep[way * stride + start] = true;
                        let into = &mut room.paid[arc.to * stride + end];
                        *into = (*into).min(paid);
                    }
                }
            }
        }
        let domain = room.domain(ask, stride);
        self.forward = room;
        Some(domain)
    }
}

/// A state, the indices at which its last step can end, and the least paid by then.
struct From<'f> {
    at: usize,
    ends: Range<usize>,
    paid: &'f [i64],
}

impl From<'_> {
    /// Adds to the least by the start of an arc what comes from the state. Minutes in which waiting is
    /// forbidden are not looked at, which only keeps more.
    fn arrive(&self, ask: Question<'_>, arc: &Arc, starts: Range<usize>, arrive: &mut [i64]) {
        let net = ask.net;
        let state = &net.states[self.at];
        if state.last == Last::Nothing {
            arrive[starts].fill(0);
            return;
        }
        let moves = arc.place != state.place;
        let gap = super::net::index(ask.gap(self.at, arc));
        let pause = gap.max(if moves { net.move_minutes } else { 0 });
        let price = if moves { net.move_cost } else { 0 };
        let sums = arc.place.filter(|_| !moves).map(|place| ask.place(place));
        let sum = |at: usize| sums.map_or(0, |sums| sums[at]);
        let mut least = NEVER;
        let mut end = self.ends.start;
        for start in starts {
            while end < self.ends.end && end + pause <= start {
                if self.paid[end] < NEVER {
                    least = least.min(self.paid[end] - sum(end));
                }
                end += 1;
            }
            if least < NEVER {
                arrive[start] = arrive[start].min(least + sum(start) + price);
            }
        }
    }
}

impl Forward {
    /// What is kept of the starts.
    fn domain(&self, ask: Question<'_>, stride: usize) -> Domain {
        let mut domain = ask.domain.clone();
        let mut until = ask.net.base;
        for (way, starts) in domain.starts.iter_mut().enumerate() {
            starts.clear();
            let keep = &self.keep[way * stride..(way + 1) * stride];
            let mut at = 0;
            while at < stride {
                if !keep[at] {
                    at += 1;
                    continue;
                }
                let from = at;
                while at < stride && keep[at] {
                    at += 1;
                }
                let (start, end) = (ask.net.base + as_i64(from), ask.net.base + as_i64(at));
                starts.push(Span { start, end });
                until = until.max(end - 1 + as_i64(ask.net.ways[way].minutes));
            }
        }
        domain.finish_by(ask.net, until);
        domain
    }
}
