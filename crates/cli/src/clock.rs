//! The shop's local time: instants are shown with its zone, and a local time may be given.

use crate::failure::Failure;
use chrono::{DateTime, LocalResult, NaiveDateTime, TimeZone as _, Utc};
use chrono_tz::Tz;
use prost_types::Timestamp;

/// A shop's time zone.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ShopClock(Tz);

impl ShopClock {
    pub(crate) fn new(time_zone: &str) -> Result<Self, Failure> {
        time_zone.parse().map(Self).map_err(|error| {
            Failure::Reply(format!("the time zone \"{time_zone}\" is not known here: {error}"))
        })
    }

    /// Date, time and the zone's abbreviation: `2026-05-05 07:30 WEST`.
    pub(crate) fn show(self, instant: Option<&Timestamp>) -> String {
        self.local(instant)
            .map_or_else(|| "-".to_owned(), |at| at.format("%Y-%m-%d %H:%M %Z").to_string())
    }

    /// The time of day alone, for the second time on a line: `16:45`.
    pub(crate) fn show_time(self, instant: Option<&Timestamp>) -> String {
        self.local(instant).map_or_else(|| "-".to_owned(), |at| at.format("%H:%M").to_string())
    }

    fn local(self, instant: Option<&Timestamp>) -> Option<DateTime<Tz>> {
        let instant = instant?;
        let nanos = u32::try_from(instant.nanos).ok()?;
        Some(DateTime::<Utc>::from_timestamp(instant.seconds, nanos)?.with_timezone(&self.0))
    }

    /// Reads an instant after RFC 3339, or a local time such as `2026-05-05 16:30`.
    pub(crate) fn read(self, option: &str, text: &str) -> Result<Timestamp, Failure> {
        if let Ok(instant) = DateTime::parse_from_rfc3339(text) {
            return Ok(timestamp(instant.to_utc()));
        }
        let refuse = |limit: &str| {
            Failure::usage(
                format!("{option} is \"{text}\"; it must {limit}."),
                "write \"2026-05-05 16:30\" in the shop's time, or 2026-05-05T16:30:00+01:00 with its offset.",
            )
        };
        let local = ["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M"]
            .iter()
            .find_map(|form| NaiveDateTime::parse_from_str(text, form).ok())
            .ok_or_else(|| refuse("be a date and time"))?;
        match self.0.from_local_datetime(&local) {
            LocalResult::Single(at) => Ok(timestamp(at.to_utc())),
            LocalResult::Ambiguous(..) => {
                Err(refuse("come once on that day; the clocks go back then"))
            }
            LocalResult::None => Err(refuse("exist on that day; the clocks go forward then")),
        }
    }
}

fn timestamp(at: DateTime<Utc>) -> Timestamp {
    Timestamp {
        seconds: at.timestamp(),
        nanos: i32::try_from(at.timestamp_subsec_nanos()).unwrap_or(0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn lisbon() -> ShopClock {
        ShopClock::new("Europe/Lisbon").unwrap()
    }

    #[test]
    fn times_are_shown_in_the_shops_zone_with_its_abbreviation() {
        // 2026-05-05T06:30:00Z; Lisbon keeps summer time then (IANA time zone database).
        let instant = Timestamp { seconds: 1_777_962_600, nanos: 0 };
        assert_eq!(lisbon().show(Some(&instant)), "2026-05-05 07:30 WEST");
        assert_eq!(lisbon().show_time(Some(&instant)), "07:30");
        assert_eq!(lisbon().show(None), "-");
    }

    #[rstest]
    #[case::local("2026-05-05 07:30")]
    #[case::local_with_t("2026-05-05T07:30")]
    #[case::with_offset("2026-05-05T08:30:00+02:00")]
    fn local_times_and_instants_are_read(#[case] text: &str) {
        assert_eq!(lisbon().read("--until", text).unwrap().seconds, 1_777_962_600);
    }

    #[rstest]
    // Lisbon puts its clocks back at 02:00 on 2026-10-25 and forward at 01:00 on 2026-03-29.
    #[case::twice("2026-10-25 01:30", "come once")]
    #[case::never("2026-03-29 01:30", "exist on that day")]
    #[case::words("tomorrow", "be a date and time")]
    fn other_times_are_refused(#[case] text: &str, #[case] limit: &str) {
        let failure = lisbon().read("--until", text).unwrap_err();
        assert!(failure.to_string().contains(limit), "{failure}");
        assert_eq!(failure.exit_code(), 2);
    }
}
