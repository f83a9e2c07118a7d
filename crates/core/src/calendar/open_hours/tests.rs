//! Open hours over plain weeks, exceptions and clock changes.

use super::*;
use proptest::prelude::*;
use rstest::rstest;

fn utc(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

fn hours(zone: &str, week: [&str; 7], exceptions: &[(&str, &str)]) -> OpenHours {
    let exceptions = exceptions
        .iter()
        .map(|(date, text)| {
            HoursException::new(date.parse().unwrap(), DayHours::parse(text).unwrap())
        })
        .collect();
    let zone = TimeZone::parse(zone).unwrap();
    OpenHours::new(zone, WeeklyHours::parse(week).unwrap(), exceptions).unwrap()
}

#[track_caller]
fn check_windows(hours: &OpenHours, from: &str, until: &str, expected: &[(&str, &str)]) {
    let found = hours.windows(utc(from), utc(until)).unwrap();
    let expected: WindowSet =
        expected.iter().map(|(start, end)| Window::new(utc(start)..utc(end)).unwrap()).collect();
    assert_eq!(found, expected);
}

const WORKDAYS: [&str; 7] = [
    "08:00-12:00, 13:00-17:00",
    "08:00-17:00",
    "08:00-17:00",
    "08:00-17:00",
    "08:00-15:00",
    "",
    "",
];
const NIGHTS: [&str; 7] = ["22:00-06:00"; 7];

#[test]
fn a_plain_week_opens_at_the_zones_wall_times() {
    // Monday, Lisbon summer time: one hour ahead of UTC.
    check_windows(
        &hours("Europe/Lisbon", WORKDAYS, &[]),
        "2026-06-01T00:00:00Z",
        "2026-06-02T12:00:00Z",
        &[
            ("2026-06-01T07:00:00Z", "2026-06-01T11:00:00Z"),
            ("2026-06-01T12:00:00Z", "2026-06-01T16:00:00Z"),
            ("2026-06-02T07:00:00Z", "2026-06-02T12:00:00Z"),
        ],
    );
}

#[test]
fn an_exception_replaces_the_hours_of_its_date() {
    let exceptions = [("2026-06-01", "closed"), ("2026-06-06", "09:00-11:00")];
    check_windows(
        &hours("Europe/Lisbon", WORKDAYS, &exceptions),
        "2026-06-01T00:00:00Z",
        "2026-06-02T00:00:00Z",
        &[],
    );
    check_windows(
        &hours("Europe/Lisbon", WORKDAYS, &exceptions),
        "2026-06-06T00:00:00Z",
        "2026-06-08T00:00:00Z",
        &[("2026-06-06T08:00:00Z", "2026-06-06T10:00:00Z")],
    );
}

#[test]
fn a_night_shift_runs_into_a_closed_date() {
    check_windows(
        &hours("UTC", NIGHTS, &[("2026-06-02", "")]),
        "2026-06-01T12:00:00Z",
        "2026-06-03T12:00:00Z",
        &[("2026-06-01T22:00:00Z", "2026-06-02T06:00:00Z")],
    );
}

#[test]
fn spans_that_meet_at_midnight_are_one_window() {
    check_windows(
        &hours("Asia/Kolkata", ["00:00-24:00"; 7], &[]),
        "2026-06-01T10:00:00Z",
        "2026-06-09T10:00:00Z",
        &[("2026-06-01T10:00:00Z", "2026-06-09T10:00:00Z")],
    );
}

#[rstest]
// IANA time zone database; the spans were computed with another implementation of it.
#[case::back_an_hour("America/St_Johns", "2026-10-31", 540)]
#[case::ahead_an_hour("America/St_Johns", "2026-03-07", 420)]
#[case::back_half_an_hour("Australia/Lord_Howe", "2026-04-04", 510)]
#[case::ahead_half_an_hour("Australia/Lord_Howe", "2026-10-03", 450)]
#[case::half_hour_zone("Australia/Adelaide", "2026-04-04", 540)]
#[case::no_changes("Asia/Kolkata", "2026-04-04", 480)]
// Antarctica/Troll changes by two hours.
#[case::ahead_two_hours("Antarctica/Troll", "2026-03-28", 360)]
#[case::back_two_hours("Antarctica/Troll", "2026-10-24", 600)]
// A whole day is skipped: the night ends when the old offset says so.
#[case::skipped_day("Pacific/Apia", "2011-12-29", 480)]
fn a_night_shift_lasts_as_long_as_people_work(
    #[case] zone: &str,
    #[case] date: &str,
    #[case] minutes: i64,
) {
    let open = hours(zone, [""; 7], &[(date, "22:00-06:00")]);
    let noon = utc(&format!("{date}T12:00:00Z"));
    let found = open.windows(noon - Duration::days(2), noon + Duration::days(3)).unwrap();
    assert_eq!(found.duration(), Duration::minutes(minutes), "{found:?}");
    assert_eq!(found.as_slice().len(), 1);
}

#[test]
fn a_span_that_the_clock_skips_vanishes_and_its_neighbours_join() {
    // Clocks in New York jump from 02:00 to 03:00 on 8 March 2026.
    let open = hours("America/New_York", [""; 7], &[("2026-03-08", "01:00-02:00, 02:15-03:00")]);
    let found = open.windows(utc("2026-03-08T00:00:00Z"), utc("2026-03-09T00:00:00Z")).unwrap();
    let only = Window::new(utc("2026-03-08T06:00:00Z")..utc("2026-03-08T07:00:00Z")).unwrap();
    assert_eq!(found, WindowSet::from(only));
}

#[test]
fn a_date_that_the_zone_skips_has_no_hours() {
    // IANA time zone database, file australasia: Samoa had no Friday, 30 December 2011.
    check_windows(
        &hours("Pacific/Apia", ["", "", "", "", "08:00-17:00", "10:00-12:00", ""], &[]),
        "2011-12-29T00:00:00Z",
        "2012-01-01T00:00:00Z",
        &[("2011-12-30T20:00:00Z", "2011-12-30T22:00:00Z")],
    );
}

#[rstest]
#[case::empty("2026-06-01T10:00:00Z", "2026-06-01T10:00:00Z")]
#[case::reversed("2026-06-01T10:00:00Z", "2026-05-01T10:00:00Z")]
fn no_time_asked_for_has_no_windows(#[case] from: &str, #[case] until: &str) {
    check_windows(&hours("UTC", NIGHTS, &[]), from, until, &[]);
}

#[test]
fn more_time_than_the_limit_is_refused_and_the_ends_of_time_are_harmless() {
    let open = hours("Pacific/Apia", ["00:00-24:00"; 7], &[]);
    let faults = open.windows(DateTime::<Utc>::MIN_UTC, DateTime::<Utc>::MAX_UTC).unwrap_err();
    assert_eq!(faults.list()[0].field, "until");
    for (from, until) in [
        (DateTime::<Utc>::MIN_UTC, DateTime::<Utc>::MIN_UTC + Duration::days(9)),
        (DateTime::<Utc>::MAX_UTC - Duration::days(9), DateTime::<Utc>::MAX_UTC),
    ] {
        assert!(open.windows(from, until).unwrap().duration() >= Duration::days(7));
    }
}

#[test]
fn a_date_given_twice_is_refused() {
    let exception = |date: &str| HoursException::new(date.parse().unwrap(), DayHours::CLOSED);
    let faults = OpenHours::new(
        TimeZone::UTC,
        WeeklyHours::CLOSED,
        vec![exception("2026-12-25"), exception("2026-12-26"), exception("2026-12-25")],
    )
    .unwrap_err();
    assert_eq!(faults.list()[0].field, "exceptions[2].date");
}

#[test]
fn exceptions_beyond_the_limit_are_refused() {
    let first: NaiveDate = "2026-01-01".parse().unwrap();
    let many = first.iter_days().take(EXCEPTIONS_MAX + 1);
    let many = many.map(|date| HoursException::new(date, DayHours::CLOSED)).collect();
    let faults = OpenHours::new(TimeZone::UTC, WeeklyHours::CLOSED, many).unwrap_err();
    assert_eq!(faults.list()[0].field, "exceptions");
}

/// Zones with changes of an hour, half an hour, two hours and none, on both sides of UTC.
const ZONES: [&str; 9] = [
    "Europe/Lisbon",
    "America/St_Johns",
    "America/Santiago",
    "Australia/Lord_Howe",
    "Pacific/Chatham",
    "Africa/Casablanca",
    "Antarctica/Troll",
    "Asia/Kathmandu",
    "Pacific/Kiritimati",
];

fn any_day() -> impl Strategy<Value = DayHours> {
    prop::collection::vec((0_u32..96, 1_u32..60), 0..4).prop_map(|spans| {
        let mut taken: Vec<LocalSpan> = vec![];
        for (from, long) in spans {
            let span = LocalSpan::new(from * 15..(from + long) * 15).unwrap();
            if taken.iter().all(|other| !other.overlaps(span)) {
                taken.push(span);
            }
        }
        DayHours::new(taken).unwrap()
    })
}

fn any_hours() -> impl Strategy<Value = OpenHours> {
    let exceptions = prop::collection::btree_map(0_u64..400, any_day(), 0..5);
    (0..ZONES.len(), any_day(), exceptions).prop_map(|(zone, weekday, exceptions)| {
        let day = |index: usize| if index < 5 { weekday.clone() } else { DayHours::CLOSED };
        let weekly = WeeklyHours::new(std::array::from_fn(day))
            .unwrap_or_else(|_overlap| WeeklyHours::parse(WORKDAYS).unwrap());
        let first: NaiveDate = "2026-01-01".parse().unwrap();
        let exceptions = exceptions
            .into_iter()
            .map(|(day, hours)| HoursException::new(first + Days::new(day), hours))
            .collect();
        OpenHours::new(TimeZone::parse(ZONES[zone]).unwrap(), weekly, exceptions).unwrap()
    })
}

/// Whether the hours say "open" at an instant, by the wall clock alone; away from changes only.
fn open_by_the_clock(hours: &OpenHours, instant: DateTime<Utc>) -> bool {
    let wall = instant.with_timezone(&hours.zone().rules()).naive_local();
    [0_u32, 1].into_iter().any(|days_back| {
        let date = wall.date() - Days::new(days_back.into());
        let minutes = (wall - date.and_time(NaiveTime::MIN)).num_minutes();
        let spans = hours.day(date).spans().iter();
        spans.clone().any(|span| {
            i64::from(span.from_minute()) <= minutes && minutes < i64::from(span.to_minute())
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn windows_are_in_order_apart_clipped_and_agree_with_the_wall_clock(
        hours in any_hours(), first_hour in 0_i64..9000, long in 1_i64..240, probe in 0_i64..14_400,
    ) {
        let from = utc("2026-01-01T00:00:00Z") + Duration::hours(first_hour);
        let until = from + Duration::hours(long);
        let found = hours.windows(from, until).unwrap();
        prop_assert!(found.as_slice().windows(2).all(|pair| pair[0].end() < pair[1].start()));
        prop_assert!(found.iter().all(|window| from <= window.start() && window.end() <= until));

        let instant = from + Duration::minutes(probe % (long * 60));
        let offset = |at: DateTime<Utc>| at.with_timezone(&hours.zone().rules()).naive_local() - at.naive_utc();
        let settled = offset(instant - Duration::days(3)) == offset(instant + Duration::days(3));
        if settled && instant < until {
            prop_assert_eq!(found.contains(instant), open_by_the_clock(&hours, instant));
        }
    }

    #[test]
    fn time_asked_for_in_two_parts_gives_the_same_windows(
        hours in any_hours(), first_hour in 0_i64..9000, parts in (1_i64..100, 1_i64..100),
    ) {
        let from = utc("2026-01-01T00:00:00Z") + Duration::hours(first_hour);
        let (middle, until) =
            (from + Duration::hours(parts.0), from + Duration::hours(parts.0 + parts.1));
        let whole = hours.windows(from, until).unwrap();
        let early = hours.windows(from, middle).unwrap();
        prop_assert_eq!(early.union(&hours.windows(middle, until).unwrap()), whole);
    }

    #[test]
    fn a_night_shift_lasts_420_to_540_minutes_where_clocks_change_by_an_hour_at_most(
        zone in 0..ZONES.len(), day in 0_u64..3650,
    ) {
        prop_assume!(ZONES[zone] != "Antarctica/Troll");
        let date = "2020-01-01".parse::<NaiveDate>().unwrap() + Days::new(day);
        let open = hours(ZONES[zone], [""; 7], &[(&date.to_string(), "22:00-06:00")]);
        let noon = date.and_time(NaiveTime::MIN).and_utc() + Duration::hours(12);
        let found = open.windows(noon - Duration::days(2), noon + Duration::days(3)).unwrap();
        prop_assert!((420..=540).contains(&found.duration().num_minutes()), "{found:?}");
    }
}
