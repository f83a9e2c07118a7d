//! When a bay is free of sun, and when work may start so that its run part falls into such a time.

use super::angle::{Azimuth, Elevation};
use super::beam::beyond;
use super::opening::Opening;
use super::site::Site;
use super::sunlight::Sunlight;
use super::target::SunTarget;
use super::track::{SkyRegion, SunSeen, SunTrack};
use crate::calendar::{Window, WindowSet};
use crate::fault::Faults;
use chrono::{DateTime, Duration, Utc};

/// When the sun reaches none of the zones through any of the openings.
///
/// For several bays of one site, make the [`SunTrack`] once and use [`Sunlight`], which also tells the
/// opening and the assumptions.
///
/// # Errors
/// A fault of `period`, as [`SunTrack::new`] states.
pub fn sun_free_windows(
    site: Site,
    bearing: Azimuth,
    openings: &[Opening],
    zones: &[SunTarget],
    period: Window,
) -> Result<WindowSet, Faults> {
    let track = SunTrack::new(site, period)?;
    Ok(Sunlight::new(&track, bearing, openings, zones).sun_free())
}

/// When a task may start so that the sun stays away while it runs: the sun-free windows moved
/// earlier by the set-up and shortened by the run less one minute.
///
/// Tasks start and last whole minutes. Sun-free windows are therefore first cut back to whole
/// minutes, and a start window holds the last minute at which a start is still in time. A run of
/// no minutes is treated as one of one minute.
///
/// # Example: a quarter of an hour of set-up before twenty minutes of run
/// ```
/// use baywright_core::calendar::{Window, WindowSet};
/// use baywright_core::daylight::start_windows;
///
/// let at = |text: &str| format!("2026-03-02T{text}:00Z").parse().unwrap();
/// let sun_free = WindowSet::from(Window::new(at("10:42")..at("12:00"))?);
/// let starts = start_windows(&sun_free, 15, 20);
/// assert_eq!(starts, WindowSet::from(Window::new(at("10:27")..at("11:26"))?));
/// # Ok::<(), baywright_core::fault::Faults>(())
/// ```
pub fn start_windows(sun_free: &WindowSet, setup_minutes: u32, run_minutes: u32) -> WindowSet {
    let earlier = Duration::minutes(i64::from(setup_minutes));
    let shorter = Duration::minutes(i64::from(run_minutes.saturating_sub(1)));
    let moved = sun_free.iter().filter_map(|window| {
        let start = minute_at_or_after(window.start())?.checked_sub_signed(earlier)?;
        let end = minute_at_or_before(window.end())?.checked_sub_signed(earlier + shorter)?;
        Window::new(start..end).ok()
    });
    moved.collect()
}

fn minute_at_or_before(instant: DateTime<Utc>) -> Option<DateTime<Utc>> {
    DateTime::from_timestamp(instant.timestamp().div_euclid(60) * 60, 0)
}

fn minute_at_or_after(instant: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let before = minute_at_or_before(instant)?;
    if before == instant { Some(before) } else { before.checked_add_signed(Duration::minutes(1)) }
}

/// When there is daylight on the road: the sun's centre stands above a true elevation.
///
/// The limit is the procedure's; [`Elevation::SUNRISE`] gives the time from sunrise to sunset as
/// almanacs state it, for a free horizon at the site's height. Whether roads are dry and lines
/// visible is not known here.
///
/// # Errors
/// A fault of `period`, as [`SunTrack::new`] states.
pub fn road_daylight_windows(
    site: Site,
    elevation_limit: Elevation,
    period: Window,
) -> Result<WindowSet, Faults> {
    Ok(daylight_of(&SunTrack::new(site, period)?, elevation_limit))
}

/// When the sun's centre stands above a true elevation during the period of a track; as
/// [`road_daylight_windows`].
pub fn daylight_of(track: &SunTrack, elevation_limit: Elevation) -> WindowSet {
    track.windows_where(&AboveElevation { limit_rad: elevation_limit.radians() })
}

/// The sky above a true elevation.
struct AboveElevation {
    limit_rad: f64,
}

impl SkyRegion for AboveElevation {
    fn holds_within(&self, sun: &SunSeen, radius_rad: f64) -> Option<bool> {
        beyond(sun.elevation_true_rad - self.limit_rad, radius_rad)
    }
}
