//! What bars a run, when it can begin, and what is said about it.

use super::*;
use crate::daylight::{Site, SiteDraft};
use chrono::TimeDelta;
use proptest::prelude::*;
use rstest::rstest;

fn at(text: &str) -> DateTime<Utc> {
    format!("2026-03-02T{text}Z").parse().unwrap()
}

fn span(from: &str, until: &str) -> Window {
    Window::new(at(from)..at(until)).unwrap()
}

fn day() -> Window {
    Window::new(at("00:00:00")..at("00:00:00") + TimeDelta::days(1)).unwrap()
}

fn sun(from: &str, until: &str) -> Barred {
    let why = "direct sun on zone target through W2".to_owned();
    Barred { window: span(from, until), why }
}

fn morning() -> RunTimes {
    RunTimes::new(day(), vec![sun("07:12:30", "10:41:20")])
}

#[rstest]
#[case::after_the_sun("10:42:00", 30, true)]
#[case::before_the_sun("06:42:00", 30, true)]
#[case::into_the_sun("06:43:00", 30, false)]
#[case::in_the_sun("09:00:00", 30, false)]
#[case::no_minutes_in_the_sun("09:00:00", 0, false)]
fn a_run_keeps_out_of_the_sun(#[case] from: &str, #[case] minutes: u32, #[case] may: bool) {
    assert_eq!(morning().check(at(from), minutes).is_ok(), may);
}

#[test]
fn a_refusal_says_why_and_when_it_ends() {
    let refused = morning().check(at("10:15:00"), 30).unwrap_err();
    assert_eq!(refused.next, Some(at("10:42:00")));
    assert_eq!(
        refused.sentence(TimeZone::UTC, at("10:00:00"), 15),
        "During its run: direct sun on zone target through W2 from 07:12 to 10:42; the work can \
         start at 10:27, its run at 10:42."
    );
}

#[test]
fn a_run_that_fits_nowhere_says_so() {
    let all_day = RunTimes::new(day(), vec![sun("00:00:00", "23:50:00")]);
    let refused = all_day.check(at("10:00:00"), 30).unwrap_err();
    assert_eq!(refused.next, None);
    assert!(refused.sentence(TimeZone::UTC, at("10:00:00"), 0).contains("no later time"));
}

#[test]
fn a_plan_explains_what_its_run_waits_for() {
    let twice =
        RunTimes::new(day(), vec![sun("07:12:30", "10:41:20"), sun("15:00:10", "17:00:00")]);
    assert_eq!(
        twice.notes(span("11:00:00", "11:30:00"), TimeZone::UTC),
        [
            "Run not before 10:42: direct sun on zone target through W2.",
            "Run done by 15:00: direct sun on zone target through W2.",
        ]
    );
    assert!(RunTimes::new(day(), vec![]).notes(day(), TimeZone::UTC).is_empty());
}

#[test]
fn days_are_joined_without_a_seam() {
    let next = Window::new(day().end()..day().end() + TimeDelta::days(1)).unwrap();
    let joined = morning().joined(&[RunTimes::new(next, vec![])]);
    assert_eq!(joined.free().as_slice().len(), 2);
    assert_eq!(joined.free().as_slice()[1].end(), next.end());
    assert_eq!(joined.barred(), morning().barred());
}

fn demand(elevation_min_deg: f64) -> SunDemand {
    SunDemand { elevation_min_deg: Some(elevation_min_deg), ..SunDemand::default() }
}

fn track_at(latitude_deg: f64, period: Window) -> SunTrack {
    SunTrack::new(Site::new(SiteDraft::at_sea_level(latitude_deg, 20.0)).unwrap(), period).unwrap()
}

fn june_day() -> Window {
    let start = "2026-06-21T00:00:00Z".parse().unwrap();
    Window::new(start..start + TimeDelta::days(1)).unwrap()
}

#[test]
fn in_the_polar_night_there_is_no_drive_and_under_the_midnight_sun_at_any_time() {
    // At 75 degrees south the June sun stays below the horizon, at 75 north above it.
    let south =
        RunTimes::of_road(june_day(), Some(&track_at(-75.0, june_day())), &demand(0.0), &[]);
    assert!(south.free().is_empty());
    assert_eq!(south.check(june_day().start(), 20).unwrap_err().next, None);
    let north = RunTimes::of_road(june_day(), Some(&track_at(75.0, june_day())), &demand(0.0), &[]);
    assert_eq!(north.free(), &WindowSet::from(june_day()));
}

#[test]
fn without_a_position_daylight_is_not_known_and_without_a_limit_not_asked() {
    let unknown = RunTimes::of_road(day(), None, &demand(6.0), &[]);
    assert!(unknown.free().is_empty());
    assert!(unknown.barred()[0].why.contains("position is not stated"));
    let any_time = RunTimes::of_road(day(), None, &SunDemand::default(), &[]);
    assert_eq!(any_time.free(), &WindowSet::from(day()));
}

fn entry(from: &str, until: &str, usable: bool) -> RoadEntry {
    RoadEntry { window: span(from, until), usable, reason: "ice".to_owned() }
}

#[test]
fn an_unusable_road_bars_drives_and_a_usable_one_confirms_them() {
    let entries = [entry("06:00:00", "20:00:00", true), entry("08:00:00", "09:30:00", false)];
    let road = RunTimes::of_road(day(), None, &SunDemand::default(), &entries);
    let refused = road.check(at("08:10:00"), 20).unwrap_err();
    assert_eq!(refused.barred[0].why, "the road is unusable: ice");
    assert_eq!(refused.next, Some(at("09:30:00")));
    assert!(road.is_confirmed(span("10:00:00", "10:20:00")));
    assert!(!road.is_confirmed(span("20:00:00", "20:20:00")));
    let notes = road.notes(span("21:00:00", "21:20:00"), TimeZone::UTC);
    assert!(notes.iter().any(|note| note.starts_with("Provisional")), "{notes:?}");
}

proptest! {
    #[test]
    fn one_bar_more_never_frees_a_time(
        bars in prop::collection::vec((0_i64..1_400, 1_i64..300), 0..6),
        more in (0_i64..1_400, 1_i64..300),
        setup in 0_u32..60,
        run in 0_u32..120,
    ) {
        let bar = |(from, minutes): (i64, i64)| {
            let start = day().start() + TimeDelta::minutes(from);
            let window = Window::new(start..start + TimeDelta::minutes(minutes)).unwrap();
            Barred { window, why: "sun".to_owned() }
        };
        let few = RunTimes::new(day(), bars.iter().copied().map(bar).collect());
        let all = RunTimes::new(day(), bars.into_iter().chain([more]).map(bar).collect());
        prop_assert!(all.free().difference(few.free()).is_empty());
        prop_assert!(all.starts(setup, run).difference(&few.starts(setup, run)).is_empty());
        for start in all.starts(setup, run).iter().map(Window::start) {
            prop_assert!(all.check(start + TimeDelta::minutes(setup.into()), run).is_ok());
        }
    }
}
