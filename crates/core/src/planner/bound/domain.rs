//! When the ways of one job may start: what calendars, start windows and fixed steps leave of the
//! minutes, and what a search further forbids.

use super::net::Net;
use crate::planner::check::as_i64;
use crate::planner::shop::Shop;
use crate::planner::span::{Span, merged, subtract};

/// The minutes that one job may use; spans are merged.
#[derive(Debug, Clone)]
pub(in crate::planner) struct Domain {
    /// Per way, its starts as far as place and order decide.
    pub(super) starts: Vec<Vec<Span>>,
    /// Per crew, each resource named and the starts at which it is free for the crew's minutes.
    pub(super) free: Vec<Vec<(usize, Vec<Span>)>>,
    /// Where and when the vehicle must not wait.
    pub(super) no_wait: Vec<(usize, Span)>,
    /// Minutes at which the job must have finished.
    pub(super) until: i64,
}

impl Domain {
    pub(super) fn new(shop: &Shop<'_>, net: &Net) -> Self {
        let problem = shop.problem;
        let job = &problem.jobs[net.job];
        let until = net.base + as_i64(net.len);
        let mut no_wait = Vec::new();
        let starts = net.ways.iter().map(|way| {
            let option = &job.steps[way.step].options[way.option];
            let whole = [Span { start: net.base, end: until }];
            let open = match way.place {
                None => whole.to_vec(),
                Some(place) => {
                    let taken = taken(shop, net.job, place);
                    no_wait.extend(taken.iter().map(|span| (place, *span)));
                    let mut usable = Vec::new();
                    subtract(&problem.places[place].open, &taken, &mut usable);
                    usable
                }
            };
            let mut starts = starts_in(&open, option.minutes);
            clip(&mut starts, way.from, until - option.minutes + 1);
            if let Some(windows) = &option.starts {
                starts = both(&starts, windows);
            }
            starts
        });
        let starts = starts.collect();
        no_wait.sort_unstable();
        no_wait.dedup();
        let free = net.crews.iter().map(|crew| {
            let mut named: Vec<usize> = crew.needs.iter().flatten().copied().collect();
            named.sort_unstable();
            named.dedup();
            let minutes = as_i64(crew.minutes);
            let of = |used: usize| {
                let mut starts = starts_in(&shop.free[used], minutes);
                clip(&mut starts, net.base, until - minutes + 1);
                (used, starts)
            };
            named.into_iter().map(of).collect()
        });
        let free = free.collect();
        Self { starts, free, no_wait, until }
    }

    /// Forbids the job to use a resource in a minute.
    pub(in crate::planner) fn without_resource(&mut self, net: &Net, resource: usize, minute: i64) {
        for (crew, free) in net.crews.iter().zip(&mut self.free) {
            let span = Span { start: minute - as_i64(crew.minutes) + 1, end: minute + 1 };
            for (_, starts) in free.iter_mut().filter(|(used, _)| *used == resource) {
                remove(starts, span);
            }
        }
    }

    /// Forbids the job to hold some places in a minute.
    pub(in crate::planner) fn without_places(&mut self, net: &Net, places: &[usize], minute: i64) {
        for (way, starts) in net.ways.iter().zip(&mut self.starts) {
            if way.place.is_some_and(|place| places.contains(&place)) {
                let span = Span { start: minute - as_i64(way.minutes) + 1, end: minute + 1 };
                remove(starts, span);
            }
        }
        let span = Span { start: minute, end: minute + 1 };
        self.no_wait.extend(places.iter().map(|place| (*place, span)));
    }

    /// Keeps a step's starts from `from` up to, not including, `until`; says whether any went.
    pub(in crate::planner) fn within(
        &mut self,
        net: &Net,
        step: usize,
        from: i64,
        until: i64,
    ) -> bool {
        let mut went = false;
        for (_, starts) in net.ways.iter().zip(&mut self.starts).filter(|(way, _)| way.step == step)
        {
            went |= clip(starts, from, until);
        }
        went
    }

    /// Has a step end by a minute; says whether any start went.
    pub(in crate::planner) fn ends_by(&mut self, net: &Net, step: usize, minute: i64) -> bool {
        let mut went = false;
        for (way, starts) in
            net.ways.iter().zip(&mut self.starts).filter(|(way, _)| way.step == step)
        {
            went |= clip(starts, i64::MIN, minute - as_i64(way.minutes) + 1);
        }
        went
    }

    /// A step's earliest end and latest start; none when it has no start.
    pub(in crate::planner) fn reach(&self, net: &Net, step: usize) -> Option<(i64, i64)> {
        let ways = net.ways.iter().zip(&self.starts).filter(|(way, _)| way.step == step);
        let ends = ways.clone().filter_map(|(way, starts)| {
            starts.first().map(|span| span.start + as_i64(way.minutes))
        });
        let starts = ways.filter_map(|(_, starts)| starts.last().map(|span| span.end - 1));
        Some((ends.min()?, starts.max()?))
    }

    /// Forbids a step one start in one option.
    pub(in crate::planner) fn without_start(
        &mut self,
        net: &Net,
        step: usize,
        option: usize,
        minute: i64,
    ) {
        for (way, starts) in net.ways.iter().zip(&mut self.starts) {
            if way.step == step && way.option == option {
                remove(starts, Span { start: minute, end: minute + 1 });
            }
        }
    }

    /// Has the job finish by a minute.
    pub(in crate::planner) fn finish_by(&mut self, net: &Net, minute: i64) {
        self.until = self.until.min(minute).max(net.base);
        for (crew, free) in net.crews.iter().zip(&mut self.free) {
            for (_, starts) in free.iter_mut() {
                clip(starts, i64::MIN, self.until - as_i64(crew.minutes) + 1);
            }
        }
        for (way, starts) in net.ways.iter().zip(&mut self.starts) {
            clip(starts, i64::MIN, self.until - as_i64(way.minutes) + 1);
        }
    }
}

/// When fixed steps of other jobs hold a place or one that clashes; merged.
fn taken(shop: &Shop<'_>, job: usize, place: usize) -> Vec<Span> {
    let everywhere = std::iter::once(&place).chain(&shop.clashing[place]);
    let holds = everywhere.flat_map(|at| &shop.held[*at]);
    merged(holds.filter(|(other, _)| *other != job).map(|(_, hold)| hold.span).collect())
}

/// The starts at which so many minutes fit inside one of the windows; merged.
fn starts_in(windows: &[Span], minutes: i64) -> Vec<Span> {
    let fit =
        windows.iter().map(|window| Span { start: window.start, end: window.end - minutes + 1 });
    merged(fit.collect())
}

/// Keeps what lies in `[from, until)`; says whether anything went.
fn clip(spans: &mut Vec<Span>, from: i64, until: i64) -> bool {
    let inside = |span: &Span| span.start >= from && span.end <= until;
    if spans.iter().all(inside) {
        return false;
    }
    for span in spans.iter_mut() {
        span.start = span.start.max(from);
        span.end = span.end.min(until);
    }
    spans.retain(|span| span.start < span.end);
    true
}

/// What two merged lists have in common.
pub(super) fn both(one: &[Span], other: &[Span]) -> Vec<Span> {
    let mut out = Vec::new();
    let mut from = 0;
    for span in one {
        from += other[from..].partition_point(|with| with.end <= span.start);
        for with in other[from..].iter().take_while(|with| with.start < span.end) {
            out.push(Span { start: span.start.max(with.start), end: span.end.min(with.end) });
        }
    }
    out
}

fn remove(spans: &mut Vec<Span>, out: Span) {
    if out.start >= out.end || !spans.iter().any(|span| span.overlaps(out)) {
        return;
    }
    let mut left = Vec::with_capacity(spans.len() + 1);
    for span in spans.iter() {
        let parts = [(span.start, span.end.min(out.start)), (span.start.max(out.end), span.end)];
        left.extend(
            parts.into_iter().filter(|(a, b)| a < b).map(|(start, end)| Span { start, end }),
        );
    }
    *spans = left;
}
