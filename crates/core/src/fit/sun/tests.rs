//! The sun at a pose in a bay: what is asked, what cannot be computed, and where the sun never sets
//! or never rises.

use super::*;
use crate::axes::PoseFloorDraft;
use crate::daylight::{AssumedState, BlindState, DoorState, Site, SiteDraft};
use crate::demand::{SunFreeView, XDatum, YDatum, ZoneVertex};
use crate::fit::example::{bay, method, method_with, saloon, wall_opening};
use crate::floor::{BayDraft, DaylightOpening, DaylightOpeningKind};
use crate::ids::SunFreeViewId;
use chrono::{DateTime, Duration, Utc};
use proptest::prelude::*;

const NO_SUN: ZoneNeed = ZoneNeed::NoDirectSun { up_to_mm: 2_000.0 };

fn opening(id: &str, base_mm: [(f64, f64); 2]) -> DaylightOpening {
    wall_opening(id, DaylightOpeningKind::Door, base_mm, true)
}

/// Openings in the walls of the example's bay: to the right, far, left and near.
fn walls() -> [DaylightOpening; 4] {
    let corners: Vec<_> = bay().outline_mm;
    let (x, y): (Vec<f64>, Vec<f64>) = corners.into_iter().unzip();
    let least = |of: &[f64]| of.iter().copied().fold(f64::MAX, f64::min);
    let most = |of: &[f64]| of.iter().copied().fold(f64::MIN, f64::max);
    let (x0, x1, y0, y1) = (least(&x), most(&x), least(&y), most(&y));
    [
        opening("right", [(x1, y0), (x1, y1)]),
        opening("far", [(x0, y1), (x1, y1)]),
        opening("left", [(x0, y0), (x0, y1)]),
        opening("near", [(x0, y0), (x1, y0)]),
    ]
}

fn with(openings: &[DaylightOpening]) -> Bay {
    Bay::new(BayDraft { daylight_openings: openings.to_vec(), ..bay() }).unwrap()
}

fn track(latitude_deg: f64, date: &str) -> SunTrack {
    let start: DateTime<Utc> = format!("{date}T00:00:00Z").parse().unwrap();
    let period = Window::new(start..start + Duration::days(1)).unwrap();
    SunTrack::new(Site::new(SiteDraft::at_sea_level(latitude_deg, 0.5)).unwrap(), period).unwrap()
}

fn pose() -> PoseFloor {
    bay().stations[0].pose
}

fn asked(track: Option<&SunTrack>, method: &Method, bay: &Bay) -> SunAnswer {
    let north_is_up = Azimuth::from_degrees(0.0).unwrap();
    sun_hours(track, north_is_up, (method, &saloon()), (bay, &pose()))
}

fn computed(track: &SunTrack, method: &Method, bay: &Bay) -> SunHours {
    match asked(Some(track), method, bay) {
        SunAnswer::Computed(hours) => hours,
        other => panic!("{other:?}"),
    }
}

#[test]
fn what_is_not_asked_or_not_known_is_said() {
    let spring = track(45.0, "2026-03-20");
    let no_sun = method(vec![NO_SUN]);
    let any = method(vec![ZoneNeed::NothingMoving]);
    assert_eq!(asked(Some(&spring), &any, &with(&walls())), SunAnswer::NotAsked);
    assert_eq!(asked(Some(&spring), &no_sun, &with(&[])), SunAnswer::NoOpening);
    assert_eq!(asked(None, &no_sun, &with(&walls())), SunAnswer::NoPosition);
    let mut one_undrawn = walls();
    one_undrawn[1].drawn = None;
    let undrawn = vec![one_undrawn[1].id.clone()];
    assert_eq!(asked(Some(&spring), &no_sun, &with(&one_undrawn)), SunAnswer::NotDrawn(undrawn));
}

#[test]
fn the_assumptions_go_with_the_answer_and_a_closed_blind_keeps_the_sun_out() {
    let spring = track(45.0, "2026-03-20");
    let no_sun = method(vec![NO_SUN]);
    let [mut right, ..] = walls();
    let open = computed(&spring, &no_sun, &with(&[right.clone()]));
    assert!(open.reached.iter().all(|reach| reach.aim == "zone target"));
    assert!(!open.reached.is_empty());
    let states: Vec<_> = open.assumptions.iter().map(|one| one.state).collect();
    assert_eq!(
        states,
        [AssumedState::Blind(BlindState::Open), AssumedState::Door(DoorState::Open)]
    );
    right.drawn.as_mut().unwrap().blind_closed = true;
    let closed = computed(&spring, &no_sun, &with(&[right]));
    assert!(closed.reached.is_empty());
    assert_eq!(closed.sun_free, WindowSet::from(spring.period()));
}

#[test]
fn in_the_polar_night_all_day_is_free_and_the_midnight_sun_shines_through_the_north_wall() {
    let no_sun = method(vec![NO_SUN]);
    let all = with(&walls());
    let night = track(78.0, "2026-12-21");
    let dark = computed(&night, &no_sun, &all);
    assert_eq!(dark.sun_free, WindowSet::from(night.period()));
    assert!(dark.reached.is_empty());

    let summer = track(78.0, "2026-06-21");
    let light = computed(&summer, &no_sun, &all);
    assert!(light.sun_free.is_empty(), "there is always a wall that the sun stands before");
    let north = light.reached.iter().find(|reach| reach.opening.as_str() == "far").unwrap();
    let midnight = summer.period().start() + Duration::minutes(1);
    assert!(north.windows.contains(midnight), "{:?}", north.windows);
}

fn view(heading_deg: f64) -> Method {
    let mut draft = crate::demand::MethodDraft {
        id: crate::ids::MethodId::new("static").unwrap(),
        title: "With a view".to_owned(),
        place: crate::demand::WorkPlace::Bay,
        roles: vec![],
        equipment: vec![],
        minutes: crate::demand::MethodMinutesDraft {
            setup_minutes: 0,
            run_minutes: 10,
            teardown_minutes: 0,
        },
        zones: vec![],
        sun: crate::demand::SunDemand::default(),
    };
    draft.sun.views = vec![SunFreeView {
        id: SunFreeViewId::new("camera").unwrap(),
        apex: ZoneVertex {
            x_from: XDatum::FrontAxle,
            x_mm: 0.0,
            y_from: YDatum::Centreline,
            y_mm: 0.0,
        },
        height_mm: 1_300.0,
        heading_deg,
        pitch_deg: 0.0,
        half_angle_horizontal_deg: 30.0,
        half_angle_vertical_deg: 25.0,
    }];
    Method::new(draft).unwrap()
}

#[test]
fn a_sensor_that_looks_out_of_the_window_sees_the_sun_and_one_that_looks_away_does_not() {
    // On the equinox the sun rises in the east, which is to the right; the vehicle looks there.
    let spring = track(45.0, "2026-03-20");
    let right = with(&walls()[..1]);
    let out = computed(&spring, &view(0.0), &right);
    assert_eq!(out.reached[0].aim, "view camera");
    assert!(computed(&spring, &view(180.0), &right).reached.is_empty());
}

#[test]
fn a_view_turns_with_the_vehicle() {
    let spring = track(45.0, "2026-03-20");
    let right = with(&walls()[..1]);
    let at = pose();
    let turned = PoseFloor::new(PoseFloorDraft {
        x_mm: at.x_mm(),
        y_mm: at.y_mm(),
        heading_deg: at.heading_deg() + 180.0,
    });
    let north_is_up = Azimuth::from_degrees(0.0).unwrap();
    let work = (&view(180.0), &saloon());
    let SunAnswer::Computed(turned) =
        sun_hours(Some(&spring), north_is_up, work, (&right, &turned.unwrap()))
    else {
        panic!("it is computed")
    };
    assert_eq!(turned.reached, computed(&spring, &view(0.0), &right).reached);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn one_opening_more_only_shrinks_the_sun_free_time(
        chosen in prop::collection::vec(any::<bool>(), 4),
        added in 0_usize..4,
        latitude_deg in -80.0..80.0_f64,
        month in 1_u32..=12,
    ) {
        let all = walls();
        let kept = |at: usize| chosen[at] && at != added;
        let few: Vec<_> = (0..4).filter(|at| kept(*at)).map(|at| all[at].clone()).collect();
        let more: Vec<_> =
            (0..4).filter(|at| kept(*at) || *at == added).map(|at| all[at].clone()).collect();
        let track = track(latitude_deg, &format!("2026-{month:02}-15"));
        let no_sun = method_with(vec![crate::fit::example::target_zone(vec![NO_SUN])]);
        let free = |openings: &[DaylightOpening]| match asked(Some(&track), &no_sun, &with(openings)) {
            SunAnswer::NoOpening => WindowSet::from(track.period()),
            SunAnswer::Computed(hours) => hours.sun_free,
            other => panic!("{other:?}"),
        };
        prop_assert!(free(&more).difference(&free(&few)).is_empty());
    }
}
