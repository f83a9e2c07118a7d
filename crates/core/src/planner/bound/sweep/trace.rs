//! Walks a finished sweep from its beginning and tells the cheapest way found.

use super::{NEVER, Question, Sweep, waiting};
use crate::planner::bound::net::{Arc, Last, Start, State};
use crate::planner::check::as_i64;
use crate::planner::placement::Placed;
use crate::planner::span::Span;

impl Sweep {
    /// The steps of the cheapest way after [`Sweep::least`]; none when it is to leave the job out.
    pub(in crate::planner) fn way(&self, ask: Question<'_>) -> Option<Vec<Placed>> {
        let net = ask.net;
        let mut at = net.states.len() - 1;
        let value = self.values[at * self.stride];
        if value >= NEVER || net.left_out.is_some_and(|price| price <= value) {
            return None;
        }
        let mut placed: Vec<Placed> = Vec::new();
        let mut end = 0;
        while !net.states[at].complete {
            let layer = net.layers.iter().find(|layer| layer.states.contains(&at))?;
            let mut best: Option<(i64, &Arc, i64)> = None;
            for arc in &layer.arcs {
                let floor = layer.floor.max(arc.floor);
                let found = self.onward_from(ask, at, end, arc, floor);
                if let Some((total, start)) =
                    found.filter(|(total, _)| best.is_none_or(|(least, ..)| *total < least))
                {
                    best = Some((total, arc, start));
                }
            }
            let (_, arc, start) = best?;
            placed.push(step_of(ask, arc, start));
            end = placed.last()?.end;
            at = arc.to;
        }
        Some(placed)
    }

    /// The least onward over one arc, and the start that has it.
    fn onward_from(
        &self,
        ask: Question<'_>,
        at: usize,
        end: i64,
        arc: &Arc,
        floor: i64,
    ) -> Option<(i64, i64)> {
        let net = ask.net;
        let state = &net.states[at];
        let moves = arc.place != state.place;
        let way = match arc.start {
            Start::Fixed(start) => {
                let paid = match state.last {
                    Last::Nothing => 0,
                    Last::Fixed(..) => {
                        if moves {
                            net.move_cost
                        } else {
                            0
                        }
                    }
                    Last::Any | Last::Step(_) => ask.before_fixed(at, arc, ask.at(end), start)?,
                };
                let value = self.values[arc.to * self.stride];
                return (value < NEVER).then_some((value + paid, start));
            }
            Start::Way(way) => way,
        };
        let (pause, price) = match state.last {
            Last::Nothing => (i64::MIN / 4, 0),
            Last::Any | Last::Step(_) | Last::Fixed(..) if moves => {
                (as_i64(net.move_minutes).max(ask.gap(at, arc)), net.move_cost)
            }
            Last::Any | Last::Step(_) | Last::Fixed(..) => (ask.gap(at, arc), 0),
        };
        let from = (end + pause).max(floor);
        let stays = !moves && state.last != Last::Nothing;
        self.least_start(ask, Reach { state, way, to: arc.to, from, end, stays })
            .map(|(total, start)| (total + price, start))
    }

    fn least_start(&self, ask: Question<'_>, reach: Reach<'_>) -> Option<(i64, i64)> {
        let net = ask.net;
        let minutes = net.ways[reach.way].minutes;
        let mut best: Option<(i64, i64)> = None;
        for span in &ask.domain.starts[reach.way] {
            for start in span.start.max(reach.from)..span.end {
                let index = ask.at(start);
                let onward = self.values[reach.to * self.stride + index + minutes];
                let weight = self.weights[reach.way * self.stride + index];
                let total = onward + weight;
                if total >= NEVER || best.is_some_and(|(least, _)| total >= least) {
                    continue;
                }
                let paid = if reach.stays {
                    waiting(ask, reach.state.place, reach.end, start)
                } else {
                    Some(0)
                };
                let Some(paid) = paid else { return best };
                if best.is_none_or(|(least, _)| total + paid < least) {
                    best = Some((total + paid, start));
                }
            }
        }
        best
    }
}

#[derive(Clone, Copy)]
struct Reach<'r> {
    state: &'r State,
    way: usize,
    to: usize,
    from: i64,
    end: i64,
    stays: bool,
}

fn step_of(ask: Question<'_>, arc: &Arc, start: i64) -> Placed {
    let step = arc.step;
    match arc.start {
        Start::Fixed(_) => {
            let fixed = ask.job.steps[step].fixed.as_ref();
            let (option, minutes) = fixed.map_or((0, 0), |fixed| (fixed.option, fixed.minutes));
            let uses = fixed.map_or(Vec::new(), |fixed| fixed.uses.clone());
            Placed { step, option, start, end: start + minutes, uses }
        }
        Start::Way(way) => {
            let spec = &ask.net.ways[way];
            let uses = uses_of(ask, way, start);
            let end = start + as_i64(spec.minutes);
            Placed { step, option: spec.option, start, end, uses }
        }
    }
}

/// The cheapest resources for a way at a start; the previous ones where nothing is cheaper.
fn uses_of(ask: Question<'_>, way: usize, start: i64) -> Vec<usize> {
    let spec = &ask.net.ways[way];
    let crew = &ask.net.crews[spec.crew];
    let index = ask.at(start);
    let pay = |used: usize| {
        let sums = ask.resource(used);
        sums[index + crew.minutes] - sums[index]
    };
    let free = |used: usize| {
        let inside = |spans: &[Span]| spans.iter().any(|s| s.start <= start && start < s.end);
        ask.domain.free[spec.crew].iter().any(|(other, starts)| *other == used && inside(starts))
    };
    let chosen: Vec<usize> = if let Some(teams) = &crew.teams {
        let possible = teams.iter().filter(|team| team.iter().all(|used| free(*used)));
        let least = possible.min_by_key(|team| team.iter().map(|used| pay(*used)).sum::<i64>());
        least.cloned().unwrap_or_default()
    } else {
        let least = |group: &Vec<usize>| {
            group.iter().copied().filter(|used| free(*used)).min_by_key(|used| pay(*used))
        };
        crew.needs.iter().filter_map(least).collect()
    };
    if let Some((at, paid)) = super::unchanged(ask, way).filter(|(at, _)| *at == index) {
        let place = spec.place.map_or(0, |place| {
            let sums = ask.place(place);
            sums[at + spec.minutes] - sums[at]
        });
        let chosen_pay: i64 = chosen.iter().map(|used| pay(*used)).sum();
        let was = ask.job.steps[spec.step].previous.as_ref();
        if paid <= chosen_pay + place + ask.net.change_cost {
            return was.and_then(|was| was.known_uses.clone()).unwrap_or(chosen);
        }
    }
    chosen
}
