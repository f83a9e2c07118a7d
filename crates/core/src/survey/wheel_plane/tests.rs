//! Planes under invented vehicles on invented floors.

use super::*;
use crate::axes::{OffsetVehicle, PoseFloorDraft};
use crate::demand::VehicleClassDraft;
use crate::ids::{BayId, SurveyId, VehicleClassId};
use crate::survey::{HeightErrorsDraft, HeightPoint, LightConditions, SurveyDraft};

fn vehicle() -> VehicleClass {
    VehicleClass::new(VehicleClassDraft {
        id: VehicleClassId::new("saloon").unwrap(),
        length_mm: 4_600.0,
        width_mm: 1_850.0,
        height_mm: 1_450.0,
        wheelbase_mm: 2_700.0,
        front_overhang_mm: 900.0,
        track_mm: 1_560.0,
    })
    .unwrap()
}

fn survey(points: impl IntoIterator<Item = (f64, f64, f64)>, errors: HeightErrorsDraft) -> Survey {
    let heights =
        points.into_iter().map(|(x_mm, y_mm, height_mm)| HeightPoint { x_mm, y_mm, height_mm });
    Survey::new(SurveyDraft {
        id: SurveyId::new("survey-1").unwrap(),
        bay: BayId::new("bay-1").unwrap(),
        taken_on: "2026-01-10".parse().unwrap(),
        valid_until: "2027-01-10".parse().unwrap(),
        instrument: "invented level".to_owned(),
        height_uncertainty_mm: 0.5,
        light_uncertainty_relative: 0.0,
        colour_temperature_k: None,
        datum: String::new(),
        height_errors: errors,
        light_conditions: LightConditions::default(),
        heights: heights.collect(),
        light: vec![],
    })
    .unwrap()
}

fn pose(x_mm: f64, y_mm: f64, heading_deg: f64) -> PoseFloor {
    PoseFloor::new(PoseFloorDraft { x_mm, y_mm, heading_deg }).unwrap()
}

/// Heights right under the four wheels of a vehicle that looks along floor x, and around them.
fn under_the_wheels(errors: HeightErrorsDraft) -> Survey {
    let wheels = [
        (5_000.0, 2_780.0, 3.2),
        (5_000.0, 1_220.0, 1.4),
        (2_300.0, 2_780.0, -6.1),
        (2_300.0, 1_220.0, -7.3),
    ];
    survey(wheels, errors)
}

#[test]
fn four_wheels_give_the_slopes_of_the_closed_formulas() {
    // Wheelbase W, track T: along = ((FL + FR) - (RL + RR)) / 2W with u / W, across = ((FL + RL) -
    // (FR + RR)) / 2T with u / T (JCGM 100): 0.190985 (0.010610) and 0.055092 (0.018364) degrees.
    let survey = under_the_wheels(HeightErrorsDraft::default());
    let plane = WheelPlane::under(&survey, &vehicle(), &pose(5_000.0, 2_000.0, 0.0)).unwrap();
    let close = |found: f64, expected: f64| {
        assert!((found - expected).abs() < 1e-9, "found {found}, expected {expected}");
    };
    close(plane.along_deg, 0.190_985_224_359_687);
    close(plane.across_deg, 0.055_092_078_707_086);
    close(plane.along_u_deg, 0.010_610_211_648_219);
    close(plane.across_u_deg, 0.018_364_014_916_655);
    close(plane.twist_mm, 0.15);
}

#[test]
fn a_tilted_horizontal_tilts_the_vehicle_and_a_shared_shift_does_not() {
    let under = |errors| {
        let survey = under_the_wheels(errors);
        WheelPlane::under(&survey, &vehicle(), &pose(5_000.0, 2_000.0, 0.0)).unwrap().along_u_deg
    };
    let usual = under(HeightErrorsDraft::default());
    let shifted = HeightErrorsDraft { datum_uncertainty_mm: 20.0, ..HeightErrorsDraft::default() };
    let tilted =
        HeightErrorsDraft { tilt_uncertainty_mm_per_m: 1.0, ..HeightErrorsDraft::default() };
    assert!((under(shifted) - usual).abs() < 1e-9);
    assert!(
        (under(tilted) - usual.hypot(0.001_f64.to_degrees())).abs() < 1e-6,
        "{}",
        under(tilted)
    );
}

#[test]
fn a_tyre_beyond_the_points_or_far_from_all_has_no_height() {
    let grid = |step_mm: f64| {
        let steps = move |count: u32| (0..=count).map(move |at| f64::from(at) * step_mm);
        steps(4).flat_map(move |x| steps(3).map(move |y| (x, y, 0.0)))
    };
    let survey_of = |step_mm| survey(grid(step_mm), HeightErrorsDraft::default());
    let stands = |survey: &Survey, x_mm: f64| {
        WheelPlane::under(survey, &vehicle(), &pose(x_mm, 2_000.0, 0.0)).is_some()
    };
    let dense = survey_of(1_000.0);
    assert!(stands(&dense, 3_900.0));
    assert!(!stands(&dense, 4_100.0), "the front wheels stand beyond the last points");
    // Points 2500 mm apart: the wheels at x 3750 stand 1250 mm and more from all.
    assert!(!stands(&survey_of(2_500.0), 3_750.0));
}

#[test]
fn the_floor_at_a_target_is_told_relative_to_the_vehicle() {
    // The floor rises 2 mm per metre along x up to x 5000 mm and is level from there on.
    let height = |x_mm: f64| 0.002 * x_mm.min(5_000.0);
    let steps = |count: u32| (0..=count).map(|at| f64::from(at) * 500.0);
    let points = steps(18).flat_map(|x| steps(8).map(move |y| (x, y, height(x))));
    let survey = survey(points, HeightErrorsDraft::default());
    let pose = pose(4_500.0, 2_000.0, 0.0);
    let target = pose.to_floor(OffsetVehicle { x_mm: 3_000.0, y_mm: 0.0 });
    let found = WheelPlane::height_above(&survey, &vehicle(), &pose, target).unwrap();
    // The vehicle's plane goes on rising: 15 mm at x 7500 mm, where the floor is at 10 mm.
    assert!((found.height_mm + 5.0).abs() < 1e-9, "{found:?}");
    // Three metres ahead a slope of u / W counts double and more.
    assert!((0.5..2.5).contains(&found.uncertainty_mm), "{found:?}");
}
