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
    pub(in crate::planner) starts: Vec<Vec<Span>>,
    /// Per crew, each resource named and the starts at which it is free for the crew's minutes.
    pub(in crate::planner) free: Vec<Vec<(usize, Vec<Span>)>>,
    /// Where and when the vehicle must not wait.
    pub(in crate::planner) no_wait: Vec<(usize, Span)>,
    /// Minutes at which the job must have finished.
    pub(in crate::planner) until: i64,
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
