//! Instants as whole minutes after a plan's own zero, and back.

use crate::calendar::OpenHours;
use crate::planner::WindowDraft;
use chrono::{DateTime, TimeDelta, Utc};

const SECONDS_PER_MINUTE: i64 = 60;

/// The last whole minute at or before `instant`.
pub(super) fn zero_of(instant: DateTime<Utc>) -> DateTime<Utc> {
    let seconds = instant.timestamp().div_euclid(SECONDS_PER_MINUTE) * SECONDS_PER_MINUTE;
    DateTime::from_timestamp(seconds, 0).unwrap_or(instant)
}

/// Minutes from `zero` to `instant`, rounded down.
pub(super) fn minute_down(zero: DateTime<Utc>, instant: DateTime<Utc>) -> i64 {
    (instant - zero).num_milliseconds().div_euclid(SECONDS_PER_MINUTE * 1000)
}

/// Minutes from `zero` to `instant`, rounded up.
pub(super) fn minute_up(zero: DateTime<Utc>, instant: DateTime<Utc>) -> i64 {
    -minute_down(instant, zero)
}

/// The instant of a minute.
pub(super) fn instant_of(zero: DateTime<Utc>, minute: i64) -> DateTime<Utc> {
    zero + TimeDelta::minutes(minute)
}

/// The windows of `hours` within `[zero, zero + horizon)`, whole minutes.
pub(super) fn open_minutes(
    hours: &OpenHours,
    zero: DateTime<Utc>,
    horizon: i64,
) -> Vec<WindowDraft> {
    let Ok(windows) = hours.windows(zero, instant_of(zero, horizon)) else { return Vec::new() };
    windows
        .iter()
        .map(|window| [minute_up(zero, window.start()), minute_down(zero, window.end())])
        .filter(|[from, to]| from < to)
        .collect()
}
