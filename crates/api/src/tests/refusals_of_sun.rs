//! What is refused of daylight openings, fields of view, daylight and air, and under which path.
#![cfg(test)]

use super::example::{self, vertex};
use crate::v1;
use baywright_core::demand::Procedure;
use baywright_core::floor::Bay;
use baywright_core::shop::Shop;
use rstest::rstest;

fn wall(base: &[(f64, f64)]) -> Option<v1::daylight_opening::Place> {
    Some(v1::daylight_opening::Place::Wall(v1::WallOpening {
        base: base.iter().map(|(x_mm, y_mm)| v1::FloorPoint { x_mm: *x_mm, y_mm: *y_mm }).collect(),
        sill_mm: 900.0,
        head_mm: 2_400.0,
        outward_normal: None,
    }))
}

/// The example's bay is a square of 9 m with a door.
#[rstest]
#[case::off_the_wall(|door: &mut v1::DaylightOpening| {
    door.place = wall(&[(4_000.0, 1_000.0), (4_000.0, 2_000.0)]);
}, &["wall.base"])]
#[case::one_end(|door: &mut v1::DaylightOpening| door.place = wall(&[(9_000.0, 1_000.0)]),
    &["wall.base"])]
#[case::turned_in(|door: &mut v1::DaylightOpening| {
    door.place = wall(&[(9_000.0, 1_000.0), (9_000.0, 2_000.0)]);
    let Some(v1::daylight_opening::Place::Wall(wall)) = &mut door.place else { return };
    wall.outward_normal = Some(v1::FloorDirection { x: -1.0, y: 0.0 });
}, &["wall.outward_normal"])]
#[case::roof_of_a_door(|door: &mut v1::DaylightOpening| {
    let outline = [(0.0, 0.0), (2e3, 2e3), (2e3, 0.0), (0.0, 2e3)];
    let point = |(x_mm, y_mm)| v1::FloorPoint { x_mm, y_mm };
    let roof = v1::RoofOpening { outline: outline.map(point).to_vec(), height_mm: 4_000.0 };
    door.place = Some(v1::daylight_opening::Place::Roof(roof));
}, &["roof", "roof.outline"])]
#[case::unknown_state(|door: &mut v1::DaylightOpening| {
    door.place = wall(&[(9_000.0, 1_000.0), (9_000.0, 2_000.0)]);
    door.door_state = 9;
}, &["door_state"])]
#[case::states_without_a_place(|door: &mut v1::DaylightOpening| {
    door.door_state = 1;
    door.beyond_bay = true;
}, &["door_state", "beyond_bay"])]
fn a_daylight_opening_off_its_wall_is_refused(
    #[case] spoil: fn(&mut v1::DaylightOpening),
    #[case] fields: &[&str],
) {
    let mut bay = example::bay();
    spoil(&mut bay.daylight_openings[0]);
    let faults = Bay::try_from(&bay).unwrap_err();
    let found: Vec<_> = faults
        .list()
        .iter()
        .map(|fault| fault.field.strip_prefix("daylight_openings[0].").unwrap())
        .collect();
    assert_eq!(found, fields);
}

#[rstest]
#[case::twice(|method: &mut v1::Method| {
    let view = method.sun_free_views[0].clone();
    method.sun_free_views.push(view);
}, &["sun_free_views[1].sun_free_view_id"])]
#[case::nowhere(|method: &mut v1::Method| method.sun_free_views[0].apex = None,
    &["sun_free_views[0].apex"])]
#[case::too_wide(|method: &mut v1::Method| {
    method.sun_free_views[0].half_angle_horizontal_deg = 95.0;
}, &["sun_free_views[0].half_angle_horizontal_deg"])]
#[case::too_high(|method: &mut v1::Method| method.sun_free_views[0].height_mm = 12e3,
    &["sun_free_views[0].height_mm"])]
#[case::no_number(|method: &mut v1::Method| method.sun_free_views[0].pitch_deg = f64::NAN,
    &["sun_free_views[0].pitch_deg"])]
#[case::daylight_in_a_bay(|method: &mut v1::Method| method.sun_elevation_min_deg = Some(6.0),
    &["sun_elevation_min_deg"])]
#[case::on_the_road(|method: &mut v1::Method| {
    method.place = v1::WorkPlace::Road.into();
    method.zones.clear();
    method.sun_elevation_min_deg = Some(91.0);
}, &["sun_free_views", "sun_elevation_min_deg"])]
fn what_a_method_asks_of_the_sun_is_checked(
    #[case] spoil: fn(&mut v1::Method),
    #[case] fields: &[&str],
) {
    let mut procedure = with_a_view();
    Procedure::try_from(&procedure).unwrap();
    spoil(&mut procedure.methods[0]);
    let faults = Procedure::try_from(&procedure).unwrap_err();
    let found: Vec<_> = faults
        .list()
        .iter()
        .map(|fault| fault.field.strip_prefix("methods[0].").unwrap())
        .collect();
    assert_eq!(found, fields);
}

#[test]
fn air_and_clock_of_a_shop_are_held_within_their_limits() {
    let shop = v1::Shop {
        elevation_m: Some(9_500.0),
        pressure_mbar: Some(f64::NAN),
        temperature_c: Some(-100.0),
        delta_t_s: Some(2_000.0),
        ..example::shop()
    };
    let faults = Shop::try_from(&shop).unwrap_err();
    let found: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
    assert_eq!(found, ["elevation_m", "pressure_mbar", "temperature_c", "delta_t_s"]);
}

/// The example's procedure, with a camera that must not see the sun.
fn with_a_view() -> v1::Procedure {
    let mut procedure = example::procedure();
    procedure.methods[0].sun_free_views = vec![v1::SunFreeView {
        sun_free_view_id: "camera".to_owned(),
        apex: Some(vertex(-600.0, 0.0)),
        height_mm: 1_300.0,
        heading_deg: 0.0,
        pitch_deg: -2.0,
        half_angle_horizontal_deg: 26.0,
        half_angle_vertical_deg: 18.0,
    }];
    procedure
}

#[test]
fn drawn_openings_and_views_are_read_and_written_as_the_same() {
    let procedure = with_a_view();
    assert_eq!(v1::Procedure::from(&Procedure::try_from(&procedure).unwrap()), procedure);
    let mut bay = example::bay();
    let door = &mut bay.daylight_openings[0];
    door.place = wall(&[(9_000.0, 1_000.0), (9_000.0, 2_000.0)]);
    (door.blind, door.blind_closed) = (true, true);
    door.door_state = v1::DoorState::ClosedGlazed.into();
    door.horizon = vec![v1::HorizonPoint { azimuth_deg: 90.0, elevation_deg: 7.5 }];
    assert_eq!(v1::Bay::from(&Bay::try_from(&bay).unwrap()), bay);
}
