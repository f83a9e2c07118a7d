//! Instants and dates of the contract.
//!
//! Instants are kept in whole microseconds: what is finer is cut off, toward the past, so that an
//! instant that was stored, sent and read again stays the same.
//!
//! # Source
//! Range and fields of an instant: the documentation of `google.protobuf.Timestamp`.

use baywright_core::fault::{Fault, FaultList, Faults};
use chrono::{DateTime, Datelike as _, NaiveDate, Utc};
use prost_types::Timestamp;

/// Seconds of 0001-01-01T00:00:00Z.
const SECONDS_MIN: i64 = -62_135_596_800;
/// Seconds of 9999-12-31T23:59:59Z.
const SECONDS_MAX: i64 = 253_402_300_799;
/// The most nanoseconds within a second.
const NANOS_MAX: i32 = 999_999_999;

/// Reads an instant, in whole microseconds.
///
/// # Errors
/// A fault with the path `seconds` or `nanos` outside the years 1 to 9999.
pub fn instant_from(message: &Timestamp) -> Result<DateTime<Utc>, Faults> {
    let mut faults = FaultList::new();
    let Timestamp { seconds, nanos } = *message;
    if !(SECONDS_MIN..=SECONDS_MAX).contains(&seconds) {
        let limit = format!("be a whole number from {SECONDS_MIN} to {SECONDS_MAX}");
        faults.push(Fault::new(
            "seconds",
            seconds,
            limit,
            "give an instant of the years 1 to 9999",
        ));
    }
    if !(0..=NANOS_MAX).contains(&nanos) {
        let limit = format!("be a whole number from 0 to {NANOS_MAX}");
        faults.push(Fault::new("nanos", nanos, limit, "count nanoseconds forward within a second"));
    }
    let micros = u32::try_from(nanos).unwrap_or_default() / 1_000;
    // Within the range above chrono knows every instant.
    let instant = DateTime::from_timestamp(seconds, micros * 1_000).unwrap_or_default();
    faults.finish(instant)
}

/// Writes an instant, in whole microseconds.
pub fn timestamp(instant: DateTime<Utc>) -> Timestamp {
    let micros = i32::try_from(instant.timestamp_subsec_micros()).unwrap_or_default();
    // A leap second is told by 1000000 microseconds or more; the contract has none.
    Timestamp { seconds: instant.timestamp(), nanos: micros.min(999_999) * 1_000 }
}

/// Reads a date, written `YYYY-MM-DD`.
///
/// # Errors
/// A fault with the empty path for any other text.
pub fn date_from(text: &str) -> Result<NaiveDate, Faults> {
    let read = NaiveDate::parse_from_str(text, "%Y-%m-%d").ok();
    // The reader takes signs and single digits too; written again they would differ.
    read.filter(|date| date_text(*date) == text && (1..=9999).contains(&date.year())).ok_or_else(
        || {
            let value = format!("\"{}\"", text.escape_debug());
            Fault::new("", value, "be a date written YYYY-MM-DD", "write it like 2026-03-09").into()
        },
    )
}

/// Writes a date as `YYYY-MM-DD`.
pub fn date_text(date: NaiveDate) -> String {
    date.format("%Y-%m-%d").to_string()
}

/// Takes an instant that must be there; none when it is not, with the fault noted.
pub(crate) fn required_instant(
    faults: &mut FaultList,
    field: &str,
    message: Option<&Timestamp>,
) -> Option<DateTime<Utc>> {
    if message.is_none() {
        faults.push(Fault::new(field, "absent", "be given", "state the instant"));
    }
    optional_instant(faults, field, message)
}

/// Takes an instant that may be absent.
pub(crate) fn optional_instant(
    faults: &mut FaultList,
    field: &str,
    message: Option<&Timestamp>,
) -> Option<DateTime<Utc>> {
    message.and_then(|message| faults.take(field, instant_from(message)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    #[rstest]
    // Ends of the range as the documentation of google.protobuf.Timestamp states them.
    #[case::first("0001-01-01T00:00:00Z", SECONDS_MIN)]
    #[case::last("9999-12-31T23:59:59Z", SECONDS_MAX)]
    #[case::before_1970("1969-12-31T23:59:59Z", -1)]
    fn the_range_is_the_documented_one(#[case] text: &str, #[case] seconds: i64) {
        let instant = instant_from(&Timestamp { seconds, nanos: 0 }).unwrap();
        assert_eq!(instant, text.parse::<DateTime<Utc>>().unwrap());
    }

    #[rstest]
    #[case::too_early(SECONDS_MIN - 1, 0, &["seconds"])]
    #[case::too_late(i64::MAX, 0, &["seconds"])]
    #[case::backwards(0, -1, &["nanos"])]
    #[case::both(i64::MIN, 1_000_000_000, &["seconds", "nanos"])]
    fn instants_out_of_range_are_refused(
        #[case] seconds: i64,
        #[case] nanos: i32,
        #[case] fields: &[&str],
    ) {
        let faults = instant_from(&Timestamp { seconds, nanos }).unwrap_err();
        let found: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
        assert_eq!(found, fields);
    }

    #[rstest]
    #[case::single_digits("2026-3-9")]
    #[case::signed("+2026-03-09")]
    #[case::no_such_day("2026-02-30")]
    #[case::with_time("2026-03-09T00:00:00Z")]
    #[case::empty("")]
    fn other_texts_are_no_dates(#[case] text: &str) {
        assert_eq!(date_from(text).unwrap_err().list()[0].field, "");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        #[test]
        fn an_instant_is_cut_to_microseconds_toward_the_past_and_then_stays(
            seconds in SECONDS_MIN..=SECONDS_MAX, nanos in 0..=NANOS_MAX,
        ) {
            let instant = instant_from(&Timestamp { seconds, nanos }).unwrap();
            let written = timestamp(instant);
            prop_assert_eq!(written, Timestamp { seconds, nanos: nanos - nanos % 1_000 });
            prop_assert_eq!(instant_from(&written).unwrap(), instant);
        }

        #[test]
        fn a_date_goes_there_and_back(days in 0_i32..3_600_000) {
            let date = NaiveDate::from_num_days_from_ce_opt(days + 1).unwrap();
            prop_assert_eq!(date_from(&date_text(date)).unwrap(), date);
        }
    }
}
