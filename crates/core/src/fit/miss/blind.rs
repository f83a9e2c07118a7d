//! Which blind, closed, gives a run more time free of direct sun.
//!
//! The sun is computed once as the openings are assumed to stand and once more with each single blind
//! closed. A run may take place in a time when it is free of sun for as long as the run lasts, within
//! the hours asked for less the set-up before and the tear-down after it; what a closed blind adds to
//! that time is told. In time that is added a run fits with the blind closed, and without it none does.

use super::Change;
use crate::axes::PoseFloor;
use crate::calendar::{Window, WindowSet};
use crate::daylight::{Azimuth, SunTrack, start_windows};
use crate::demand::{Method, VehicleClass};
use crate::fit::{SunAnswer, sun_hours};
use crate::floor::Bay;
use chrono::{Duration, NaiveDate};

/// A date and its hours, with the sun's way over the floor.
#[derive(Debug, Clone, Copy)]
pub struct SunAsked<'a> {
    /// The local date.
    pub on: NaiveDate,
    /// When work may be done on that date.
    pub hours: &'a WindowSet,
    /// The sun's way on that date.
    pub track: &'a SunTrack,
    /// Degrees clockwise from true north to floor +y.
    pub bearing: Azimuth,
}

/// Each single blind that, closed, leaves more time for the run at a pose; the most first.
///
/// # Edge cases
/// Empty where no sun is asked about or computed, and where no open blind stands in its way. Added
/// time of less than a minute is none.
pub fn blinds_to_close(
    asked: &SunAsked<'_>,
    (method, vehicle): (&Method, &VehicleClass),
    (bay, pose): (&Bay, &PoseFloor),
) -> Vec<Change> {
    let free = |bay: &Bay| sun_free_run_time(asked, (method, vehicle), (bay, pose));
    let Some(before) = free(bay) else { return Vec::new() };
    let mut found: Vec<(u32, Change)> = Vec::new();
    for opening in bay.daylight_openings().iter().filter(|opening| opening.blind) {
        let closed = bay.with_blind_closed(&opening.id);
        let Some(after) = closed.as_ref().and_then(free) else { continue };
        let added = after.difference(&before).duration().num_minutes();
        let minutes = u32::try_from(added).unwrap_or(0);
        if minutes > 0 {
            let opening = opening.id.clone();
            found.push((minutes, Change::CloseBlind { opening, on: asked.on, minutes }));
        }
    }
    found.sort_by_key(|(minutes, _)| std::cmp::Reverse(*minutes));
    found.into_iter().map(|(_, change)| change).collect()
}

/// When a run at a pose may take place on the date: free of sun and within the hours; none where the
/// sun is not asked about or not computed, and so bars nothing.
fn sun_free_run_time(
    asked: &SunAsked<'_>,
    (method, vehicle): (&Method, &VehicleClass),
    (bay, pose): (&Bay, &PoseFloor),
) -> Option<WindowSet> {
    match sun_hours(Some(asked.track), asked.bearing, (method, vehicle), (bay, pose)) {
        SunAnswer::Computed(hours) => Some(run_time(&hours.sun_free, asked.hours, method)),
        SunAnswer::NotAsked
        | SunAnswer::NoOpening
        | SunAnswer::NotDrawn(_)
        | SunAnswer::NoPosition => None,
    }
}

/// Whether the sun leaves time for a run at a pose on the date; it does where it is not asked about or
/// not computed.
pub fn sun_leaves_time(
    asked: &SunAsked<'_>,
    work: (&Method, &VehicleClass),
    standing: (&Bay, &PoseFloor),
) -> bool {
    sun_free_run_time(asked, work, standing).is_none_or(|time| !time.is_empty())
}

/// The times, in whole minutes, in which a run of the method may take place.
fn run_time(sun_free: &WindowSet, hours: &WindowSet, method: &Method) -> WindowSet {
    let minutes = method.minutes();
    let span = |minutes: u32| Duration::minutes(i64::from(minutes));
    let room: WindowSet = hours
        .iter()
        .filter_map(|open| {
            let start = open.start().checked_add_signed(span(minutes.setup()))?;
            let end = open.end().checked_sub_signed(span(minutes.teardown()))?;
            Window::new(start..end).ok()
        })
        .collect();
    let run = minutes.run();
    let starts = start_windows(&sun_free.intersection(&room), 0, run);
    // A start window ends behind the last minute of a start: its run lasts to the end of free time.
    let runs = starts.iter().filter_map(|start| {
        let end = start.end().checked_add_signed(span(run.saturating_sub(1)))?;
        Window::new(start.start()..end).ok()
    });
    runs.collect()
}

#[cfg(test)]
mod tests;
