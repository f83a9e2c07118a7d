//! Wall times against RFC 5545's examples, known changes of law and their own inverse.

use super::*;
use chrono_tz::TZ_VARIANTS;
use proptest::prelude::*;
use rstest::rstest;

fn zone(name: &str) -> TimeZone {
    TimeZone::parse(name).unwrap()
}

fn wall(text: &str) -> NaiveDateTime {
    text.parse().unwrap()
}

fn utc(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

#[rstest]
// RFC 5545, section 3.3.5: the two examples printed there.
#[case::rfc5545_first_of_two("America/New_York", "2007-11-04T01:30:00", "2007-11-04T05:30:00Z")]
#[case::rfc5545_in_a_gap("America/New_York", "2007-03-11T02:30:00", "2007-03-11T07:30:00Z")]
// IANA time zone database, file australasia: Lord Howe's clocks change by 30 minutes.
#[case::half_hour_gap("Australia/Lord_Howe", "2025-10-05T02:15:00", "2025-10-04T15:45:00Z")]
#[case::half_hour_overlap("Australia/Lord_Howe", "2026-04-05T01:45:00", "2026-04-04T14:45:00Z")]
// IANA time zone database, file antarctica: Troll's clocks change by two hours.
#[case::two_hour_gap("Antarctica/Troll", "2026-03-29T02:30:00", "2026-03-29T02:30:00Z")]
#[case::two_hour_overlap("Antarctica/Troll", "2026-10-25T02:30:00", "2026-10-25T00:30:00Z")]
// IANA time zone database, file australasia: Samoa had no 30 December 2011.
#[case::skipped_day("Pacific/Apia", "2011-12-30T12:00:00", "2011-12-30T22:00:00Z")]
// IANA time zone database, file southamerica: the change at midnight skips the first hour.
#[case::gap_at_midnight("America/Santiago", "2026-09-06T00:20:00", "2026-09-06T04:20:00Z")]
fn a_wall_time_means_the_instant_that_rfc_5545_gives_it(
    #[case] name: &str,
    #[case] text: &str,
    #[case] expected: &str,
) {
    assert_eq!(instant_of_wall_time(zone(name), wall(text)), utc(expected));
}

#[rstest]
#[case::gap("Pacific/Apia", "2011-12-30T12:00:00", &[])]
#[case::plain("Pacific/Apia", "2011-12-31T00:00:00", &["2011-12-30T10:00:00Z"])]
#[case::overlap(
    "Australia/Lord_Howe",
    "2026-04-05T01:45:00",
    &["2026-04-04T14:45:00Z", "2026-04-04T15:15:00Z"]
)]
fn a_wall_time_has_none_one_or_two_instants(
    #[case] name: &str,
    #[case] text: &str,
    #[case] expected: &[&str],
) {
    let expected: Vec<_> = expected.iter().map(|text| utc(text)).collect();
    assert_eq!(instants_of_wall_time(zone(name), wall(text)), expected);
}

#[rstest]
#[case(NaiveDateTime::MIN)]
#[case(NaiveDateTime::MAX)]
fn the_ends_of_the_range_of_dates_are_read_as_utc_where_nothing_else_is_left(
    #[case] wall: NaiveDateTime,
) {
    for name in ["Asia/Tokyo", "America/Chicago", "UTC"] {
        let instant = instant_of_wall_time(zone(name), wall);
        assert!((instant - wall.and_utc()).abs() <= Duration::hours(OFFSET_HOURS_MAX));
    }
}

/// Every zone of the database, from 1811 to 2128: before any change of law and after the last.
fn any_instant_of_any_zone() -> impl Strategy<Value = (TimeZone, DateTime<Utc>)> {
    (0..TZ_VARIANTS.len(), -5_000_000_000_i64..5_000_000_000).prop_map(|(index, second)| {
        let zone = TimeZone::parse(TZ_VARIANTS[index].name()).unwrap();
        (zone, DateTime::from_timestamp(second, 0).unwrap())
    })
}

/// A wall time within a day and a half of a change of offset, of any zone that has one within
/// 200 days of a date between 1900 and 2036.
fn near_a_change() -> impl Strategy<Value = (TimeZone, NaiveDateTime)> {
    let minutes = -36 * 60..36_i64 * 60;
    (0..TZ_VARIANTS.len(), 0..136_i64 * 365, minutes).prop_filter_map(
        "no change within 200 days",
        |(index, day, minutes)| {
            let zone = TimeZone::parse(TZ_VARIANTS[index].name()).unwrap();
            let first = wall("1900-01-01T00:00:00") + Duration::days(day);
            let offset = |day: i64| {
                let at = first + Duration::days(day);
                zone.rules().offset_from_utc_datetime(&at).fix()
            };
            let day = (1..200).find(|day| offset(*day) != offset(day - 1))?;
            Some((zone, first + Duration::days(day) + Duration::minutes(minutes)))
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn an_instant_is_among_those_that_show_its_own_wall_time((zone, instant) in any_instant_of_any_zone()) {
        let shown = instant.with_timezone(&zone.rules()).naive_local();
        let found = instants_of_wall_time(zone, shown);
        prop_assert!(found.contains(&instant), "{zone} {instant} {found:?}");
        prop_assert!(found.is_sorted() && found.len() <= 2);
    }

    #[test]
    fn near_a_change_the_calendars_instant_shows_the_wall_time_or_lies_after_a_gap((zone, wall) in near_a_change()) {
        let instant = instant_of_wall_time(zone, wall);
        let shown = instant.with_timezone(&zone.rules()).naive_local();
        let all = instants_of_wall_time(zone, wall);
        prop_assert_eq!(all.is_empty(), shown != wall);
        prop_assert!(shown >= wall);
        for other in all {
            prop_assert!(instant <= other);
            prop_assert_eq!(other.with_timezone(&zone.rules()).naive_local(), wall);
        }
    }
}
