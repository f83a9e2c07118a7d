//! Blinds over the openings of an invented bay: with a blind closed a run fits into the time that was
//! told, without it none does.

use super::*;
use crate::daylight::{Site, SiteDraft};
use crate::demand::ZoneNeed;
use crate::fit::example::{bay, method, saloon, wall_opening};
use crate::fit::{Around, ChangeKind};
use crate::floor::{BayDraft, DaylightOpening, DaylightOpeningKind};
use crate::ids::DaylightOpeningId;
use chrono::{DateTime, Utc};
use proptest::prelude::*;
use rstest::rstest;

const NO_SUN: ZoneNeed = ZoneNeed::NoDirectSun { up_to_mm: 2_000.0 };

/// A window over a whole wall of the example's bay, 9000 by 6000 mm.
fn window(id: &str, base_mm: [(f64, f64); 2], blind: bool) -> DaylightOpening {
    wall_opening(id, DaylightOpeningKind::Window, base_mm, blind)
}

fn east(blind: bool) -> DaylightOpening {
    window("east", [(9e3, 0.0), (9e3, 6e3)], blind)
}

fn west(blind: bool) -> DaylightOpening {
    window("west", [(0.0, 0.0), (0.0, 6e3)], blind)
}

fn closed(opening: &DaylightOpening) -> DaylightOpening {
    let mut opening = opening.clone();
    opening.drawn.as_mut().unwrap().blind_closed = true;
    opening
}

fn with(openings: &[DaylightOpening]) -> Bay {
    Bay::new(BayDraft { daylight_openings: openings.to_vec(), ..bay() }).unwrap()
}

const DATE: &str = "2026-03-20";

fn at(minute: i64) -> DateTime<Utc> {
    let midnight: DateTime<Utc> = format!("{DATE}T00:00:00Z").parse().unwrap();
    midnight + Duration::minutes(minute)
}

fn hours(from: i64, until: i64) -> WindowSet {
    WindowSet::from(Window::new(at(from)..at(until)).unwrap())
}

/// The sun over a place on the meridian of Greenwich, so that it stands in the south at noon.
fn track(latitude_deg: f64) -> SunTrack {
    let site = Site::new(SiteDraft::at_sea_level(latitude_deg, 0.0)).unwrap();
    SunTrack::new(site, Window::new(at(0)..at(24 * 60)).unwrap()).unwrap()
}

fn asked<'a>(track: &'a SunTrack, hours: &'a WindowSet) -> SunAsked<'a> {
    let on = DATE.parse().unwrap();
    SunAsked { on, hours, track, bearing: Azimuth::from_degrees(0.0).unwrap() }
}

fn blinds(track: &SunTrack, hours: &WindowSet, openings: &[DaylightOpening]) -> Vec<Change> {
    let bay = with(openings);
    let pose = bay.stations()[0].pose;
    blinds_to_close(&asked(track, hours), (&method(vec![NO_SUN]), &saloon()), (&bay, &pose))
}

/// When the sun reaches nothing, with the openings written down as they stand.
fn sun_free(track: &SunTrack, openings: &[DaylightOpening]) -> WindowSet {
    let (bay, north) = (with(openings), Azimuth::from_degrees(0.0).unwrap());
    let pose = bay.stations()[0].pose;
    match sun_hours(Some(track), north, (&method(vec![NO_SUN]), &saloon()), (&bay, &pose)) {
        SunAnswer::Computed(hours) => hours.sun_free,
        other => panic!("{other:?}"),
    }
}

/// Whether some run of the method, begun at a whole minute, fits between two minutes.
fn a_run_fits(sun_free: &WindowSet, (from, until): (i64, i64)) -> bool {
    let minutes = method(vec![NO_SUN]).minutes();
    let (first, last) = (from + i64::from(minutes.setup()), until - i64::from(minutes.teardown()));
    let run = i64::from(minutes.run());
    (first..=last - run).any(|start| {
        Window::new(at(start)..at(start + run)).is_ok_and(|window| sun_free.covers(window))
    })
}

#[rstest]
#[case::the_east_in_the_morning((7 * 60, 10 * 60), &[east(true), west(true)], &["east"])]
#[case::the_west_in_the_evening((14 * 60, 17 * 60), &[east(true), west(true)], &["west"])]
#[case::not_at_night((0, 5 * 60), &[east(true), west(true)], &[])]
#[case::none_that_has_no_blind((7 * 60, 10 * 60), &[east(false), west(true)], &[])]
#[case::none_that_is_closed((7 * 60, 10 * 60), &[closed(&east(true)), west(true)], &[])]
#[case::no_time_at_all((7 * 60, 7 * 60 + 10), &[east(true)], &[])]
fn the_blind_that_keeps_the_sun_out_is_named(
    #[case] (from, until): (i64, i64),
    #[case] openings: &[DaylightOpening],
    #[case] expected: &[&str],
) {
    let found = blinds(&track(45.0), &hours(from, until), openings);
    let names: Vec<_> = found
        .iter()
        .map(|change| match change {
            Change::CloseBlind { opening, .. } => opening.as_str(),
            other => panic!("{other}"),
        })
        .collect();
    assert_eq!(names, expected);
}

#[test]
fn the_change_says_how_many_minutes_and_on_which_date() {
    // All of the hours less set-up and tear-down is gained: no run fits beside the low sun.
    let minutes = method(vec![NO_SUN]).minutes();
    let room = 90 - minutes.setup() - minutes.teardown();
    let found = blinds(&track(45.0), &hours(7 * 60, 8 * 60 + 30), &[east(true)]);
    assert_eq!(found[0].kind(), ChangeKind::CloseBlind);
    let expected = format!(
        "close the blind on daylight opening east, which on {DATE} leaves {room} min more for the run"
    );
    assert_eq!(found.iter().map(ToString::to_string).collect::<Vec<_>>(), [expected]);
}

#[test]
fn a_bay_after_the_change_is_the_bay_written_down_with_that_blind_closed() {
    let (before, after) =
        (with(&[east(true), west(true)]), with(&[east(true), closed(&west(true))]));
    let around = Around { bay: &before, survey: None, bays: &[], on: DATE.parse().unwrap() };
    let opening = DaylightOpeningId::new("west").unwrap();
    let change = Change::CloseBlind { opening, on: around.on, minutes: 5 };
    let (bay, _) = change.applied(&around).unwrap();
    assert_eq!(bay, after);
    assert!(bay.sun_openings()[0].lets_sun_in() && !bay.sun_openings()[1].lets_sun_in());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn with_the_blind_closed_a_run_fits_and_without_it_none(
        latitude_deg in -60.0_f64..60.0,
        from in 300_i64..1_100,
        lasts in 60_i64..240,
    ) {
        let track = track(latitude_deg);
        let openings = [east(true), west(true)];
        let span = (from, from + lasts);
        let before = sun_free(&track, &openings);
        let found = blinds(&track, &hours(span.0, span.1), &openings);
        for (at, name) in ["east", "west"].iter().enumerate() {
            let mut shut = openings.clone();
            shut[at] = closed(&shut[at]);
            let after = sun_free(&track, &shut);
            let told = found.iter().any(|change| {
                matches!(change, Change::CloseBlind { opening, .. } if opening.as_str() == *name)
            });
            let helps = a_run_fits(&after, span) && !a_run_fits(&before, span);
            // Where no run fitted before and one does after, the blind is told.
            prop_assert!(told || !helps, "{name} {span:?}");
            // What is told gives a run in the hours.
            prop_assert!(!told || a_run_fits(&after, span), "{name} {span:?}");
        }
        for change in found {
            let Change::CloseBlind { opening, minutes, .. } = change else { panic!("{change}") };
            let at = usize::from(opening.as_str() == "west");
            let mut shut = openings.clone();
            shut[at] = closed(&shut[at]);
            // Counted minute by minute: in so many more a run is under way that can take place.
            let after = sun_free(&track, &shut);
            let more = minutes_of_runs(&after, span) - minutes_of_runs(&before, span);
            prop_assert_eq!(i64::from(minutes), more);
        }
    }
}

/// The minutes that lie within some run that fits.
fn minutes_of_runs(sun_free: &WindowSet, (from, until): (i64, i64)) -> i64 {
    let minutes = method(vec![NO_SUN]).minutes();
    let (first, last) = (from + i64::from(minutes.setup()), until - i64::from(minutes.teardown()));
    let run = i64::from(minutes.run());
    let mut within = std::collections::BTreeSet::new();
    for start in first..=last - run {
        if Window::new(at(start)..at(start + run)).is_ok_and(|window| sun_free.covers(window)) {
            within.extend(start..start + run);
        }
    }
    i64::try_from(within.len()).unwrap()
}
