//! Openings that are drawn where no opening can be, and the direction to outdoors that follows from
//! the bay's outline.

use super::*;
use crate::daylight::AssumedState;
use crate::floor::{Bay, BayDraft};
use crate::ids::BayId;
use rstest::rstest;

fn window(base_mm: [(f64, f64); 2]) -> DrawnOpening {
    DrawnOpening {
        place: DrawnPlace::Wall {
            base_mm: base_mm.to_vec(),
            sill_mm: 900.0,
            head_mm: 2_400.0,
            outward: None,
        },
        blind_closed: false,
        door: None,
        horizon_deg: Vec::new(),
        beyond_bay: false,
    }
}

/// Bay of 8 x 6 m; the window in its right-hand wall.
const EAST: [(f64, f64); 2] = [(8_000.0, 2_000.0), (8_000.0, 5_000.0)];

fn skylight(outline_mm: &[(f64, f64)], height_mm: f64) -> DrawnOpening {
    let place = DrawnPlace::Roof { outline_mm: outline_mm.to_vec(), height_mm };
    DrawnOpening { place, ..window(EAST) }
}

fn bay_with(kind: DaylightOpeningKind, blind: bool, drawn: DrawnOpening) -> Result<Bay, Faults> {
    let id = DaylightOpeningId::new("W2").unwrap();
    Bay::new(BayDraft {
        id: BayId::new("bay-1").unwrap(),
        outline_mm: vec![(0.0, 0.0), (8_000.0, 0.0), (8_000.0, 6_000.0), (0.0, 6_000.0)],
        ceiling_mm: 4_000.0,
        obstructions: Vec::new(),
        stations: Vec::new(),
        daylight_openings: vec![DaylightOpening { id, kind, blind, drawn: Some(drawn) }],
    })
}

#[track_caller]
fn check(bay: Result<Bay, Faults>, fields: &[&str]) {
    let found: Vec<_> = match bay {
        Ok(_) => Vec::new(),
        Err(faults) => faults.into_list().into_iter().map(|fault| fault.field).collect(),
    };
    let expected: Vec<_> =
        fields.iter().map(|field| format!("daylight_openings[0].{field}")).collect();
    assert_eq!(found, expected);
}

use DaylightOpeningKind::{Door, Skylight, Window};

#[rstest]
#[case::on_the_wall(EAST, &[])]
#[case::in_the_thickness_of_the_wall([(8_250.0, 2_000.0), (8_250.0, 5_000.0)], &[])]
#[case::a_little_askew([(8_000.0, 2_000.0), (8_200.0, 5_000.0)], &[])]
#[case::in_the_middle_of_the_bay([(4_000.0, 2_000.0), (4_000.0, 5_000.0)], &["wall.base_mm"])]
#[case::outside_of_the_wall([(9_000.0, 2_000.0), (9_000.0, 5_000.0)], &["wall.base_mm"])]
#[case::beside_the_end_of_the_wall([(8_000.0, 5_000.0), (8_000.0, 7_000.0)], &["wall.base_mm"])]
#[case::across_the_wall([(7_900.0, 3_000.0), (8_100.0, 3_000.0)], &["wall.base_mm"])]
#[case::a_point([(8_000.0, 3_000.0), (8_000.0, 3_000.0)], &["wall.base_mm", "wall.outward_normal"])]
#[case::no_number([(f64::NAN, 2_000.0), (8_000.0, 5_000.0)],
    &["wall.base_mm[0].x_mm", "wall.outward_normal"])]
fn a_window_lies_on_a_wall_of_the_bay(#[case] base: [(f64, f64); 2], #[case] fields: &[&str]) {
    check(bay_with(Window, false, window(base)), fields);
}

#[rstest]
#[case::right(EAST, (1.0, 0.0))]
#[case::right_drawn_the_other_way([EAST[1], EAST[0]], (1.0, 0.0))]
#[case::left([(0.0, 1_000.0), (0.0, 2_000.0)], (-1.0, 0.0))]
#[case::far([(1_000.0, 6_000.0), (2_000.0, 6_000.0)], (0.0, 1.0))]
#[case::near([(1_000.0, 0.0), (2_000.0, 0.0)], (0.0, -1.0))]
fn outdoors_is_away_from_the_bay(#[case] base: [(f64, f64); 2], #[case] expected: (f64, f64)) {
    let bay = bay_with(Window, false, window(base)).unwrap();
    let [opening] = bay.sun_openings() else { panic!("one is drawn") };
    let OpeningPlace::Wall { outward_normal: (x, y), .. } = opening.parts().place else {
        panic!("on a wall")
    };
    let length = x.hypot(y);
    assert!((x / length - expected.0).abs() < 1e-9 && (y / length - expected.1).abs() < 1e-9);
}

#[rstest]
#[case::outdoors(EAST, (1.0, 0.0), false, &[])]
#[case::into_the_bay(EAST, (-1.0, 0.0), false, &["wall.outward_normal"])]
#[case::not_square(EAST, (1.0, 1.0), false, &["wall.outward_normal"])]
#[case::across_the_hall([(20_000.0, 2_000.0), (20_000.0, 5_000.0)], (1.0, 0.0), true, &[])]
#[case::across_the_hall_turned([(20_000.0, 2_000.0), (20_000.0, 5_000.0)], (-1.0, 0.0), true,
    &["wall.outward_normal"])]
fn a_stated_normal_points_away_from_the_bay(
    #[case] base: [(f64, f64); 2],
    #[case] normal: (f64, f64),
    #[case] beyond_bay: bool,
    #[case] fields: &[&str],
) {
    let mut drawn = DrawnOpening { beyond_bay, ..window(base) };
    if let DrawnPlace::Wall { outward, .. } = &mut drawn.place {
        *outward = Some(normal);
    }
    check(bay_with(Window, false, drawn), fields);
}

#[test]
fn the_normal_of_an_opening_beyond_the_bay_must_be_stated() {
    let drawn = DrawnOpening { beyond_bay: true, ..window(EAST) };
    check(bay_with(Window, false, drawn), &["wall.outward_normal"]);
}

const OVER: &[(f64, f64)] = &[(1e3, 1e3), (3e3, 1e3), (3e3, 3e3), (1e3, 3e3)];
const CROSSED: &[(f64, f64)] = &[(1e3, 1e3), (3e3, 3e3), (3e3, 1e3), (1e3, 3e3)];
const TOUCHING: &[(f64, f64)] =
    &[(1e3, 1e3), (2e3, 2e3), (3e3, 1e3), (3e3, 3e3), (2e3, 2e3), (1e3, 3e3)];
const BESIDE: &[(f64, f64)] = &[(9e3, 1e3), (10e3, 1e3), (10e3, 3e3), (9e3, 3e3)];

#[rstest]
#[case::over_the_bay(OVER, 4_500.0, &[])]
#[case::crossed(CROSSED, 4_500.0, &["roof.outline_mm"])]
#[case::touching_itself(TOUCHING, 4_500.0, &["roof.outline_mm"])]
#[case::two_corners(&OVER[..2], 4_500.0, &["roof.outline_mm"])]
#[case::beside_the_bay(BESIDE, 4_500.0, &["roof.outline_mm"])]
#[case::below_the_ceiling(OVER, 3_000.0, &["roof.height_mm"])]
fn a_skylight_lies_over_the_bay(
    #[case] outline: &[(f64, f64)],
    #[case] height_mm: f64,
    #[case] fields: &[&str],
) {
    let found = bay_with(Skylight, false, skylight(outline, height_mm));
    let prefix = "daylight_openings[0].";
    let found: Vec<_> = match found {
        Ok(_) => Vec::new(),
        Err(faults) => faults.into_list().into_iter().map(|fault| fault.field).collect(),
    };
    assert_eq!(found.len(), fields.len(), "{found:?}");
    for (found, expected) in found.iter().zip(fields) {
        assert!(found.starts_with(&format!("{prefix}{expected}")), "{found}");
    }
}

#[rstest]
#[case::window_in_the_roof(Window, false, skylight(OVER, 4_500.0), &["roof"])]
#[case::skylight_on_a_wall(Skylight, false, window(EAST), &["wall"])]
#[case::closed_without_a_blind(Window, false, DrawnOpening { blind_closed: true, ..window(EAST) },
    &["blind_closed"])]
#[case::window_as_a_door(Window, false, DrawnOpening { door: Some(DoorState::Open), ..window(EAST) },
    &["door_state"])]
#[case::skyline_backwards(Window, false,
    DrawnOpening { horizon_deg: vec![(90.0, 5.0), (80.0, 5.0)], ..window(EAST) },
    &["horizon[1].azimuth_deg"])]
#[case::sill_above_head(Window, false, DrawnOpening {
    place: DrawnPlace::Wall { base_mm: EAST.to_vec(), sill_mm: 3e3, head_mm: 2e3, outward: None },
    ..window(EAST) }, &["wall.head_mm"])]
#[case::one_end(Window, false, DrawnOpening {
    place: DrawnPlace::Wall { base_mm: vec![EAST[0]], sill_mm: 0.0, head_mm: 2e3, outward: None },
    ..window(EAST) }, &["wall.base_mm"])]
fn states_and_places_go_with_the_kind(
    #[case] kind: DaylightOpeningKind,
    #[case] blind: bool,
    #[case] drawn: DrawnOpening,
    #[case] fields: &[&str],
) {
    check(bay_with(kind, blind, drawn), fields);
}

#[test]
fn a_door_is_assumed_to_be_open_and_a_blind_as_stated() {
    let closed = DrawnOpening { blind_closed: true, ..window(EAST) };
    let bay = bay_with(Door, true, closed).unwrap();
    let assumed: Vec<_> =
        bay.sun_openings()[0].assumptions().into_iter().map(|one| one.state).collect();
    assert_eq!(
        assumed,
        [AssumedState::Blind(BlindState::Closed), AssumedState::Door(DoorState::Open)]
    );
}
