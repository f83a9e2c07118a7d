//! When a step may start, where sun, daylight or road bind its run.

use super::ShopState;
use super::minutes::{instant_of, minute_down, minute_up};
use crate::calendar::Window;
use crate::demand::{Method, Procedure};
use crate::planner::WindowDraft;
use crate::run_times::RunTimes;
use crate::work::{Job, Place};
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeSet;

/// The time that is planned.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    pub(super) zero: DateTime<Utc>,
    pub(super) horizon: i64,
    pub(super) today: NaiveDate,
}

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
pub(super) fn starts(
    times: Option<&RunTimes>,
    method: &Method,
    place: Option<&Place>,
    frame: Frame,
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
            [minute_up(frame.zero, start).max(0), minute_down(frame.zero, end).min(frame.horizon)]
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

/// The starts that lie before a minute; every start of `[0, before)` where none are given.
pub(super) fn before(starts: Option<&[WindowDraft]>, before: i64) -> Vec<WindowDraft> {
    let any = [[0, before.max(1)]];
    let starts = starts.unwrap_or(&any).iter();
    let clipped = starts.map(|[from, until]| [*from, (*until).min(before.max(1))]);
    clipped.filter(|[from, until]| from < until).collect()
}

/// What is said about a step that is planned to start at a minute.
pub(super) fn notes(
    state: &ShopState<'_>,
    times: Option<&RunTimes>,
    method: &Method,
    frame_zero: DateTime<Utc>,
    start: i64,
) -> Vec<String> {
    let Some(times) = times else { return Vec::new() };
    let from = start + i64::from(method.minutes().setup());
    let until = from + i64::from(method.minutes().run().max(1));
    let zone = state.shop.parts().shop.parts().hours.zone();
    Window::new(instant_of(frame_zero, from)..instant_of(frame_zero, until))
        .map(|run| times.notes(run, zone))
        .unwrap_or_default()
}
