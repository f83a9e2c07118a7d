//! From a wall time to the instants that show it.
//!
//! A clock change makes some wall times occur twice and some not at all. Where one instant is
//! wanted, RFC 5545, section 3.3.5, decides: the first of two; and in a gap the offset that was in
//! force before it.

use super::TimeZone;
use chrono::{DateTime, Duration, MappedLocalTime, NaiveDateTime, Offset as _, TimeZone as _, Utc};

/// No offset from UTC, past or present, reaches a day.
const OFFSET_HOURS_MAX: i64 = 24;

/// All instants at which clocks of `zone` show `wall`, ascending: none in a gap, two in an
/// overlap, else one.
///
/// # Edge cases
/// A wall time whose instant lies beyond the range of dates (some 262 000 years) has none.
///
/// # Example: clocks go back in New York
/// ```
/// # use baywright_core::calendar::{TimeZone, instants_of_wall_time};
/// let zone = TimeZone::parse("America/New_York")?;
/// let wall = "2007-11-04T01:30:00".parse().unwrap_or_default();
/// let shown = instants_of_wall_time(zone, wall).iter().map(ToString::to_string).collect::<Vec<_>>();
/// assert_eq!(shown, ["2007-11-04 05:30:00 UTC", "2007-11-04 06:30:00 UTC"]);
/// # Ok::<(), baywright_core::fault::Faults>(())
/// ```
pub fn instants_of_wall_time(zone: TimeZone, wall: NaiveDateTime) -> Vec<DateTime<Utc>> {
    let mut instants = match zone.rules().from_local_datetime(&wall) {
        MappedLocalTime::None => vec![],
        MappedLocalTime::Single(only) => vec![only.to_utc()],
        MappedLocalTime::Ambiguous(one, other) => vec![one.to_utc(), other.to_utc()],
    };
    instants.sort_unstable();
    instants
}

/// The one instant that a calendar means by `wall` in `zone`: the first of two in an overlap; in
/// a gap, `wall` read with the offset in force before the gap.
///
/// # Edge cases
/// In a gap the clock shows a later time than `wall` at the instant returned: 02:30 becomes
/// 03:30 where an hour is skipped, and the same time of the next date where a whole day is.
/// A wall time at the ends of the range of dates is read as UTC.
///
/// # Source
/// RFC 5545, section 3.3.5, form 3, "date with local time and time zone reference".
pub fn instant_of_wall_time(zone: TimeZone, wall: NaiveDateTime) -> DateTime<Utc> {
    match instants_of_wall_time(zone, wall).first() {
        Some(first) => *first,
        None => before_gap(zone, wall).unwrap_or(wall.and_utc()),
    }
}

/// `wall` read with the offset in force before the gap that holds it.
///
/// Instants early enough show a time before `wall`, instants late enough one after it, none the
/// wall time itself. Halving between the two ends at the change that jumps over `wall`, whatever
/// its size and whatever other changes are near.
fn before_gap(zone: TimeZone, wall: NaiveDateTime) -> Option<DateTime<Utc>> {
    let reach = Duration::hours(OFFSET_HOURS_MAX);
    let mut before = wall.checked_sub_signed(reach)?;
    let mut after = wall.checked_add_signed(reach)?;
    let offset_at = |utc: &NaiveDateTime| zone.rules().offset_from_utc_datetime(utc).fix();
    while after - before > Duration::seconds(1) {
        let middle = before.checked_add_signed((after - before) / 2)?;
        if middle.checked_add_offset(offset_at(&middle))? < wall {
            before = middle;
        } else {
            after = middle;
        }
    }
    wall.checked_sub_offset(offset_at(&before)).map(|utc| utc.and_utc())
}

#[cfg(test)]
mod tests;
