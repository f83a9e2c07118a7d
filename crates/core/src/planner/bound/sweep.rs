//! The cheapest way of one job against prices, exact over its net: a sweep from the end.
//!
//! For every state and minute it holds the least that is still to be paid when the last step ended
//! there and then (dynamic programming; Luh and Hoitomt, "Scheduling of manufacturing systems using
//! the Lagrangian relaxation technique", IEEE Transactions on Automatic Control 38 (1993), price jobs
//! this way). The vehicle either stays at the place and pays for every minute of it, or moves off at once.

mod trace;

use super::domain::{Domain, both};
use super::net::{Arc, Last, Layer, Net, Start, index};
use super::prices::Tariff;
use super::prune::Forward;
use super::reach::Reach;
use crate::planner::check::as_i64;
use crate::planner::problem::Job;
use crate::planner::span::Span;
use std::ops::Range;

/// More than any sum of costs and prices; two of them still fit a number.
pub(in crate::planner) const NEVER: i64 = i64::MAX / 4;

/// Room for a sweep, used again for each job.
#[derive(Debug, Default)]
pub(in crate::planner) struct Sweep {
    pub(super) stride: usize,
    /// Per state and index of the last step's end, the least still to pay.
    pub(super) values: Vec<i64>,
    /// Per way and index of its start, the prices and change paid for it.
    pub(super) weights: Vec<i64>,
    crews: Vec<i64>,
    /// Per arc of the layer at hand, the least to pay from its start on.
    onward: Vec<i64>,
    moving: Vec<i64>,
    staying: Vec<i64>,
    group: Vec<i64>,
    pub(super) reach: Reach,
    /// The indices that matter in the layer at hand.
    window: Range<usize>,
    pub(super) forward: Forward,
}

/// One job and what it is swept against.
#[derive(Debug, Clone, Copy)]
pub(in crate::planner) struct Question<'q> {
    pub(in crate::planner) job: &'q Job,
    pub(in crate::planner) net: &'q Net,
    pub(in crate::planner) domain: &'q Domain,
    pub(in crate::planner) tariff: &'q Tariff,
}

impl Question<'_> {
    pub(super) fn at(&self, minute: i64) -> usize {
        index((minute - self.net.base).clamp(0, as_i64(self.net.len)))
    }

    pub(super) fn range(&self, span: Span) -> Range<usize> {
        self.at(span.start)..self.at(span.end)
    }

    /// The running price of a place, by index of the job's minutes.
    pub(super) fn place(&self, place: usize) -> &[i64] {
        &self.tariff.place(place)[index(self.net.base - self.tariff.origin)..]
    }

    fn resource(&self, resource: usize) -> &[i64] {
        &self.tariff.resource(resource)[index(self.net.base - self.tariff.origin)..]
    }
}

impl Sweep {
    /// The least that the job costs against the prices, left out or not.
    pub(in crate::planner) fn least(&mut self, ask: Question<'_>) -> i64 {
        let planned = self.least_planned(ask);
        ask.net.left_out.map_or(planned, |price| price.min(planned))
    }

    fn least_planned(&mut self, ask: Question<'_>) -> i64 {
        let net = ask.net;
        // Nothing ends later than the job may finish.
        self.stride = ask.at(ask.domain.until) + 1;
        // What is read was written before, so that nothing old is seen.
        let room = |list: &mut Vec<i64>, rows: usize, stride: usize| {
            if list.len() < rows * stride {
                list.resize(rows * stride, NEVER);
            }
        };
        room(&mut self.values, net.states.len(), self.stride);
        room(&mut self.weights, net.ways.len(), self.stride);
        room(&mut self.crews, net.crews.len(), self.stride);
        for list in [&mut self.moving, &mut self.staying, &mut self.group] {
            room(list, 1, self.stride);
        }
        self.reach.set(ask, self.stride);
        self.weigh(ask);
        for layer in &net.layers {
            self.layer(ask, layer);
        }
        // The state with nothing done is the last one.
        self.values[(net.states.len() - 1) * self.stride].min(NEVER)
    }

    fn weigh(&mut self, ask: Question<'_>) {
        for (at, crew) in ask.net.crews.iter().enumerate() {
            let out = &mut self.crews[at * self.stride..(at + 1) * self.stride];
            let reach = self.reach.crews[at].clone();
            let within = |range: Range<usize>| {
                let from = range.start.clamp(reach.start, reach.end);
                from..range.end.clamp(from, reach.end)
            };
            out[reach.clone()].fill(NEVER);
            let free = &ask.domain.free[at];
            let spans = |used: usize| {
                let found = free.binary_search_by_key(&used, |(other, _)| *other);
                found.map_or(&[][..], |found| &free[found].1)
            };
            if let Some(teams) = &crew.teams {
                for team in teams {
                    let mut common = vec![Span { start: i64::MIN / 2, end: i64::MAX / 2 }];
                    for used in team {
                        common = both(&common, spans(*used));
                    }
                    for index in common.iter().flat_map(|span| within(ask.range(*span))) {
                        let pay = |used: &usize| {
                            let sums = ask.resource(*used);
                            sums[index + crew.minutes] - sums[index]
                        };
                        out[index] = out[index].min(team.iter().map(pay).sum());
                    }
                }
                continue;
            }
            out[reach.clone()].fill(0);
            for group in &crew.needs {
                self.group[reach.clone()].fill(NEVER);
                for used in group {
                    let sums = ask.resource(*used);
                    for span in spans(*used) {
                        let range = within(ask.range(*span));
                        let ends = &sums[range.start + crew.minutes..range.end + crew.minutes];
                        let starts = &sums[range.clone()];
                        let least = self.group[range].iter_mut();
                        for ((least, end), start) in least.zip(ends).zip(starts) {
                            *least = (*least).min(end - start);
                        }
                    }
                }
                let group = &self.group[reach.clone()];
                for (out, paid) in out[reach.clone()].iter_mut().zip(group) {
                    *out = (*out + paid).min(NEVER);
                }
            }
        }
        self.weigh_ways(ask);
    }

    /// What each way costs by its start: its resources, its place and the change.
    fn weigh_ways(&mut self, ask: Question<'_>) {
        for (at, way) in ask.net.ways.iter().enumerate() {
            let crew = &self.crews[way.crew * self.stride..(way.crew + 1) * self.stride];
            let out = &mut self.weights[at * self.stride..(at + 1) * self.stride];
            let spec = &ask.job.steps[way.step];
            let change = if spec.previous.is_some() { ask.net.change_cost } else { 0 };
            for span in &ask.domain.starts[at] {
                let range = ask.range(*span);
                for (out, crew) in out[range.clone()].iter_mut().zip(&crew[range.clone()]) {
                    *out = (crew + change).min(NEVER);
                }
                if let Some(place) = way.place {
                    let sums = ask.place(place);
                    let ends = &sums[range.start + way.minutes..range.end + way.minutes];
                    let starts = &sums[range.clone()];
                    for ((out, end), start) in out[range].iter_mut().zip(ends).zip(starts) {
                        *out += end - start;
                    }
                }
            }
            if let Some((index, paid)) = unchanged(ask, at) {
                out[index] = out[index].min(paid);
            }
        }
    }

    fn layer(&mut self, ask: Question<'_>, layer: &Layer) {
        self.window = self.reach.window(layer);
        let onward = layer.arcs.len() * self.stride;
        if self.onward.len() < onward {
            self.onward.resize(onward, NEVER);
        }
        for (at, arc) in layer.arcs.iter().enumerate() {
            let out = &mut self.onward[at * self.stride..(at + 1) * self.stride];
            if self.reach.is_shut(arc) {
                continue;
            }
            out[self.window.clone()].fill(NEVER);
            let values = &self.values[arc.to * self.stride..(arc.to + 1) * self.stride];
            match arc.start {
                // A fixed step has but one start, and its state but one value.
                Start::Fixed(_) => out[0] = values[0],
                Start::Way(way) => {
                    let weights = &self.weights[way * self.stride..(way + 1) * self.stride];
                    let minutes = ask.net.ways[way].minutes;
                    let floor = ask.at(layer.floor.max(arc.floor));
                    for span in &ask.domain.starts[way] {
                        let range = ask.range(*span);
                        let range = range.start.max(floor)..range.end;
                        if range.is_empty() {
                            continue;
                        }
                        let ends = &values[range.start + minutes..range.end + minutes];
                        let out = out[range.clone()].iter_mut();
                        for ((out, weight), end) in out.zip(&weights[range]).zip(ends) {
                            *out = (weight + end).min(NEVER);
                        }
                    }
                }
            }
        }
        for state in layer.states.clone() {
            if ask.net.states[state].last == Last::Nothing || !self.reach.states[state].is_empty() {
                self.state(ask, layer, state);
            }
        }
    }

    fn state(&mut self, ask: Question<'_>, layer: &Layer, at: usize) {
        let net = ask.net;
        let state = &net.states[at];
        let rows = at * self.stride..(at + 1) * self.stride;
        if state.complete {
            let end = match state.last {
                Last::Fixed(..) => 0,
                Last::Nothing | Last::Any | Last::Step(_) => ask.at(ask.domain.until) + 1,
            };
            let out = &mut self.values[rows];
            if end == 0 {
                out[0] = net.finish_fixed;
            } else {
                let ends = self.reach.states[at].clone();
                out[ends.clone()].copy_from_slice(&net.finish[ends]);
            }
            return;
        }
        match state.last {
            Last::Nothing | Last::Fixed(..) => {
                let arcs = layer.arcs.iter().enumerate();
                let arcs = arcs.filter(|(_, arc)| !self.reach.is_shut(arc));
                let least = arcs.map(|(arc, spec)| self.once(ask, at, arc, spec)).min();
                self.values[rows.start] = least.unwrap_or(NEVER);
            }
            Last::Any | Last::Step(_) => {
                let window = self.window.clone();
                self.moving[window.clone()].fill(NEVER);
                self.staying[window.clone()].fill(NEVER);
                self.values[rows.clone()][window].fill(NEVER);
                for (number, arc) in layer.arcs.iter().enumerate() {
                    if !self.reach.is_shut(arc) {
                        self.gather(ask, at, number, arc);
                    }
                }
                self.settle(ask, at, rows);
            }
        }
    }

    /// The least onward from a state that has but one end: nothing done, or a fixed step last.
    fn once(&self, ask: Question<'_>, at: usize, number: usize, arc: &Arc) -> i64 {
        let net = ask.net;
        let state = &net.states[at];
        let onward = &self.onward[number * self.stride..(number + 1) * self.stride];
        let Last::Fixed(_, end) = state.last else {
            return match arc.start {
                Start::Fixed(_) => onward[0],
                Start::Way(_) => onward[self.window.clone()].iter().copied().min().unwrap_or(NEVER),
            };
        };
        let moves = arc.place != state.place;
        let price = if moves { net.move_cost } else { 0 };
        let Start::Way(_) = arc.start else { return (onward[0] + price).min(NEVER) };
        if moves || state.place.is_none() {
            let pause = if moves { as_i64(net.move_minutes) } else { 0 };
            let from = ask.at((end + pause).min(net.base + as_i64(net.len)));
            let least = onward[from.min(onward.len())..].iter().copied().min().unwrap_or(NEVER);
            return (least + price).min(NEVER);
        }
        let mut least = NEVER;
        for (start, onward) in onward.iter().enumerate().skip(ask.at(end)) {
            if *onward < NEVER
                && let Some(paid) = waiting(ask, state.place, end, net.base + as_i64(start))
            {
                least = least.min(onward + paid);
            }
        }
        least
    }

    /// Adds an arc to what can be done from a state, by the start: moving off or staying.
    fn gather(&mut self, ask: Question<'_>, at: usize, number: usize, arc: &Arc) {
        let net = ask.net;
        let state = &net.states[at];
        let onward = &self.onward[number * self.stride..(number + 1) * self.stride];
        let moves = arc.place != state.place;
        let gap = ask.gap(at, arc);
        match arc.start {
            Start::Way(way) if gap == 0 => {
                let starts = self.reach.ways[way].clone();
                let out = if moves { &mut self.moving } else { &mut self.staying };
                let out = out[starts.clone()].iter_mut();
                for (out, onward) in out.zip(&onward[starts]) {
                    *out = (*out).min(*onward);
                }
            }
            Start::Way(_) => {
                let first = self.window.start;
                let paused = &mut self.group[self.window.clone()];
                paused.copy_from_slice(&onward[self.window.clone()]);
                let place = state.place.filter(|_| !moves);
                linger(ask, place, paused, first);
                let pause = index(gap).max(if moves { net.move_minutes } else { 0 });
                let price = if moves { net.move_cost } else { 0 };
                let out = &mut self.values[at * self.stride..(at + 1) * self.stride];
                for (end, out) in out[self.window.clone()].iter_mut().enumerate() {
                    let Some(onward) = paused.get(end + pause).filter(|paid| **paid < NEVER) else {
                        continue;
                    };
                    let minute = net.base + as_i64(first + end);
                    if let Some(paid) = waiting(ask, place, minute, minute + gap) {
                        *out = (*out).min(onward + paid + price);
                    }
                }
            }
            Start::Fixed(start) => {
                let out = &mut self.values[at * self.stride..(at + 1) * self.stride];
                for (end, out) in out.iter_mut().enumerate() {
                    if let Some(paid) = ask.before_fixed(at, arc, end, start) {
                        *out = (*out).min(paid + onward[0]);
                    }
                }
            }
        }
    }

    /// Lets the vehicle wait: off its place for nothing, on it at the place's price.
    fn settle(&mut self, ask: Question<'_>, at: usize, rows: Range<usize>) {
        let net = ask.net;
        let place = net.states[at].place;
        let window = self.window.clone();
        if window.is_empty() {
            return;
        }
        linger(ask, None, &mut self.moving[window.clone()], window.start);
        linger(ask, place, &mut self.staying[window.clone()], window.start);
        let out = &mut self.values[rows][window.clone()];
        for (out, stay) in out.iter_mut().zip(&self.staying[window.clone()]) {
            *out = (*out).min(*stay);
        }
        let moving = self.moving[window].iter().skip(net.move_minutes);
        for (out, onward) in out.iter_mut().zip(moving) {
            *out = (*out).min(onward + net.move_cost);
        }
    }
}

impl Question<'_> {
    /// The wait that an arc's step needs after the state's last step.
    pub(super) fn gap(&self, state: usize, arc: &Arc) -> i64 {
        let Last::Step(last) = self.net.states[state].last else { return 0 };
        let after = self.job.steps[arc.step].after.iter();
        after.filter(|(earlier, _)| *earlier == last).map(|(_, gap)| *gap).max().unwrap_or(0)
    }

    /// What waiting and moving cost between a step that ends at an index and a fixed one.
    fn before_fixed(&self, state: usize, arc: &Arc, end: usize, start: i64) -> Option<i64> {
        let net = self.net;
        let moves = arc.place != net.states[state].place;
        let pause = if moves { as_i64(net.move_minutes) } else { 0 };
        let end = net.base + as_i64(end);
        if start < end + pause.max(self.gap(state, arc)) {
            return None;
        }
        if moves { Some(net.move_cost) } else { waiting(*self, arc.place, end, start) }
    }
}

/// From the least onward by the start to the least by the minute from which the vehicle waits: for
/// nothing off its place, at the place's price on it, short of minutes in which that is forbidden.
///
/// `onward` begins at the index `first`.
fn linger(ask: Question<'_>, place: Option<usize>, onward: &mut [i64], first: usize) {
    let Some(last) = onward.len().checked_sub(1) else { return };
    let Some(place) = place else {
        let mut least = onward[last];
        for onward in onward.iter_mut().rev() {
            least = least.min(*onward);
            *onward = least;
        }
        return;
    };
    let sums = &ask.place(place)[first..];
    let mut wait = |from: usize, to: usize| {
        let mut least = onward[to];
        let prices = sums[from..to].iter().zip(&sums[from + 1..=to]);
        for (onward, (start, end)) in onward[from..to].iter_mut().zip(prices).rev() {
            least = (*onward).min(least + end - start);
            *onward = least;
        }
    };
    let blocked =
        ask.domain.no_wait.iter().filter(|(at, span)| *at == place && span.end > ask.net.base);
    let mut blocked: Vec<Span> = blocked.map(|(_, span)| *span).collect();
    blocked.sort_unstable();
    let mut until = last;
    for span in blocked.into_iter().rev() {
        let range = ask.range(span);
        if range.end <= first {
            break;
        }
        let (start, end) = (range.start.saturating_sub(first), range.end - first);
        if end < until {
            wait(end, until);
        }
        until = until.min(start);
    }
    wait(0, until);
}

/// What waiting at a place costs from one minute to another; none where it is forbidden.
fn waiting(ask: Question<'_>, place: Option<usize>, from: i64, to: i64) -> Option<i64> {
    let Some(place) = place else { return Some(0) };
    let span = Span { start: from, end: to };
    let forbidden = ask.domain.no_wait.iter().any(|(at, held)| *at == place && held.overlaps(span));
    let sums = ask.place(place);
    (!forbidden).then(|| sums[ask.at(to)] - sums[ask.at(from)])
}

/// Where a way may stand as in the previous plan, the index and the prices without a change.
fn unchanged(ask: Question<'_>, way: usize) -> Option<(usize, i64)> {
    let spec = &ask.net.ways[way];
    let was = ask.job.steps[spec.step].previous.as_ref()?;
    let uses = was.known_uses.as_ref().filter(|_| was.option == Some(spec.option))?;
    let inside = |spans: &[Span]| spans.iter().any(|s| s.start <= was.start && was.start < s.end);
    let crew = &ask.net.crews[spec.crew];
    let free = &ask.domain.free[spec.crew];
    let fits = inside(&ask.domain.starts[way])
        && uses.len() == crew.needs.len()
        && uses.iter().zip(&crew.needs).all(|(used, group)| group.contains(used))
        && (1..uses.len()).all(|at| !uses[..at].contains(&uses[at]))
        && uses
            .iter()
            .all(|used| free.iter().any(|(other, starts)| other == used && inside(starts)));
    if !fits {
        return None;
    }
    let index = ask.at(was.start);
    let paid = |sums: &[i64]| sums[index + spec.minutes] - sums[index];
    let resources: i64 = uses.iter().map(|used| paid(ask.resource(*used))).sum();
    Some((index, resources + spec.place.map_or(0, |place| paid(ask.place(place)))))
}
