//! The instants of the demonstration's week, by the clock on the shop's wall.

use chrono::{DateTime, Utc};

/// Seconds since 1970 of Monday 2026-05-04, 00:00 in Lisbon, which keeps UTC+1 in May (IANA time
/// zone database).
const MONDAY_MIDNIGHT: i64 = 1_777_849_200;

/// Monday 2026-05-04 at that hour and minute.
pub(in crate::demo) fn monday(hour: i64, minute: i64) -> DateTime<Utc> {
    on_day(0, hour, minute)
}

/// Tuesday 2026-05-05, the day of the demonstration.
pub(in crate::demo) fn tuesday(hour: i64, minute: i64) -> DateTime<Utc> {
    on_day(1, hour, minute)
}

/// Wednesday 2026-05-06.
pub(in crate::demo) fn wednesday(hour: i64, minute: i64) -> DateTime<Utc> {
    on_day(2, hour, minute)
}

fn on_day(day: i64, hour: i64, minute: i64) -> DateTime<Utc> {
    let seconds = MONDAY_MIDNIGHT + (day * 24 + hour) * 3_600 + minute * 60;
    DateTime::from_timestamp_nanos(seconds * 1_000_000_000)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_instants_are_those_that_the_clock_on_the_wall_shows() {
        let at = |text: &str| DateTime::parse_from_rfc3339(text).unwrap().to_utc();
        assert_eq!(monday(16, 0), at("2026-05-04T16:00:00+01:00"));
        assert_eq!(tuesday(7, 30), at(crate::demo::MORNING));
        assert_eq!(wednesday(8, 30), at("2026-05-06T08:30:00+01:00"));
    }
}
