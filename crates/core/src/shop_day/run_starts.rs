//! When a step may start, where sun, daylight or road bind its run.

use super::ShopState;
use super::minutes::{instant_of, minute_down, minute_up};
use super::starts::Span;
use crate::calendar::Window;
use crate::demand::{Method, Procedure};
use crate::planner::WindowDraft;
use crate::run_times::RunTimes;
use crate::work::{Job, Place};
use chrono::{DateTime, Utc};
use std::collections::BTreeSet;

/// The run times of a method on a job's vehicle at a place; none where nothing binds it.
pub(super) fn run_times<'a>(
    state: &ShopState<'a>,
    job: &Job,
    procedure: &Procedure,
    method: &Method,
    place: Option<&Place>,
) -> Option<&'a RunTimes> {
    let (procedure, method) = (procedure.id().clone(), method.id().clone());
    match place {
        Some(place) => {
            let class = job.vehicle.class.clone();
            state.runs.in_bays.get(&(procedure, method, class, place.clone()))
        }
        None => state.runs.on_road.get(&(procedure, method)),
    }
}

/// The minutes in which a step may start; none where nothing binds it.
///
/// # Errors
/// A sentence where it can start at no time of the days planned.
pub(super) fn run_starts(
    times: Option<&RunTimes>,
    method: &Method,
    place: Option<&Place>,
    span: &Span,
) -> Result<Option<Vec<WindowDraft>>, String> {
    let Some(times) = times else { return Ok(None) };
    if times.barred().is_empty() {
        return Ok(None);
    }
    let minutes = method.minutes();
    let windows: Vec<WindowDraft> = times
        .starts(minutes.setup(), minutes.run())
        .iter()
        .map(|window| {
            let (start, end) = (window.start(), window.end());
            [minute_up(span.zero, start).max(0), minute_down(span.zero, end).min(span.horizon)]
        })
        .filter(|[from, until]| from < until)
        .collect();
    if !windows.is_empty() {
        return Ok(Some(windows));
    }
    let why: BTreeSet<&str> = times.barred().iter().map(|one| one.why.as_str()).collect();
    let why: Vec<_> = why.into_iter().collect();
    let at = place.map_or(String::new(), |place| format!(" at {place}"));
    Err(format!(
        "Method {}{at}: its run of {} minutes finds no time in the days planned: {}.",
        method.id(),
        minutes.run(),
        why.join("; ")
    ))
}

/// What is said about a step that is planned to start at a minute.
pub(super) fn notes(
    state: &ShopState<'_>,
    times: Option<&RunTimes>,
    method: &Method,
    zero: DateTime<Utc>,
    start: i64,
) -> Vec<String> {
    let Some(times) = times else { return Vec::new() };
    let from = start + i64::from(method.minutes().setup());
    let until = from + i64::from(method.minutes().run().max(1));
    let zone = state.shop.parts().shop.parts().hours.zone();
    Window::new(instant_of(zero, from)..instant_of(zero, until))
        .map(|run| times.notes(run, zone))
        .unwrap_or_default()
}
