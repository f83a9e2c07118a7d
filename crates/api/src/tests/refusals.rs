//! What is refused, and under which path of the contract.
#![cfg(test)]

use super::example::{self, at, corner, need, span};
use crate::adhesive::adhesive_told;
use crate::hand_back::exception_told;
use crate::technician::technician_from;
use crate::v1;
use crate::v1::zone_need::Need;
use baywright_core::calendar::TimeZone;
use baywright_core::demand::{Procedure, VehicleClass};
use baywright_core::fault::Faults;
use baywright_core::floor::Bay;
use baywright_core::shop::{Shop, ShopDefinition, Unit};
use baywright_core::survey::Survey;
use baywright_core::work::{CallRule, Estimate, FoundCode, Job, Task};
use chrono::DateTime;
use rstest::rstest;

/// Spoils a sound message and checks the paths of all faults, in order.
#[track_caller]
fn check<M, T: std::fmt::Debug>(
    mut message: M,
    spoil: impl FnOnce(&mut M),
    read: impl Fn(&M) -> Result<T, Faults>,
    fields: &[&str],
) {
    read(&message).unwrap();
    spoil(&mut message);
    let faults = read(&message).unwrap_err();
    let found: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
    assert_eq!(found, fields, "{faults:#?}");
    for fault in faults.list() {
        assert!(!fault.value.is_empty() && !fault.limit.is_empty() && !fault.remedy.is_empty());
    }
}

#[rstest]
#[case::no_name(|m: &mut v1::Bay| m.bay_id.clear(), &["bay_id"])]
#[case::ceiling_is_no_number(|m: &mut v1::Bay| m.ceiling_mm = f64::NAN, &["ceiling_mm"])]
#[case::outline_crosses_itself(|m: &mut v1::Bay| m.outline.swap(1, 2), &["outline"])]
#[case::corner_is_no_number(|m: &mut v1::Bay| m.outline[2] = corner(f64::NAN, 0.0), &["outline[2].x_mm"])]
#[case::corner_given_twice(|m: &mut v1::Bay| m.outline.push(corner(0.0, 9_000.0)), &["outline[4]"])]
#[case::obstruction_crosses_itself(
    |m: &mut v1::Bay| m.obstructions[0].outline.swap(0, 1), &["obstructions[0].outline"])]
#[case::obstruction_upside_down(
    |m: &mut v1::Bay| m.obstructions[0].from_mm = 900.0, &["obstructions[0].to_mm"])]
#[case::one_date_alone(
    |m: &mut v1::Bay| m.obstructions[0].from_date = "2026-03-01".to_owned(),
    &["obstructions[0].to_date"])]
#[case::two_dates_of_which_one_is_none(
    |m: &mut v1::Bay| {
        m.obstructions[0].from_date = "1 March".to_owned();
        m.obstructions[0].to_date = "2026-03-02".to_owned();
    },
    &["obstructions[0].from_date"])]
#[case::dates_reversed(
    |m: &mut v1::Bay| {
        m.obstructions[0].from_date = "2026-03-02".to_owned();
        m.obstructions[0].to_date = "2026-03-01".to_owned();
    },
    &["obstructions[0].to_date"])]
#[case::station_without_a_pose(|m: &mut v1::Bay| m.stations[0].pose = None, &["stations[0].pose"])]
// The stand-in for the refused pose lies outside of this outline; nothing is said about it.
#[case::pose_is_no_number(
    |m: &mut v1::Bay| {
        m.outline = example::square(-8_000.0, 7_000.0);
        m.stations[0].pose = Some(v1::FloorPose { x_mm: f64::NAN, y_mm: 0.0, heading_deg: 361.0 });
    },
    &["stations[0].pose.x_mm", "stations[0].pose.heading_deg"])]
#[case::station_outside(
    |m: &mut v1::Bay| {
        let mut other = m.stations[0].clone();
        other.pose = Some(v1::FloorPose { x_mm: -1.0, y_mm: 0.0, heading_deg: 0.0 });
        m.stations.push(other);
    },
    &["stations[1].station_id", "stations[1].pose"])]
#[case::opening_of_no_kind(
    |m: &mut v1::Bay| m.daylight_openings[0].kind = 0, &["daylight_openings[0].kind"])]
#[case::everything_at_once(
    |m: &mut v1::Bay| {
        m.bay_id = "bay 1".to_owned();
        m.obstructions[0].obstruction_id = "-".to_owned();
        m.daylight_openings[0].kind = 77;
        m.outline.swap(1, 2);
        m.ceiling_mm = 3.5;
        m.obstructions[0].to_mm = f64::INFINITY;
    },
    &["bay_id", "obstructions[0].obstruction_id", "daylight_openings[0].kind", "outline",
      "ceiling_mm", "obstructions[0].to_mm"])]
fn bays(#[case] spoil: fn(&mut v1::Bay), #[case] fields: &[&str]) {
    check(example::bay(), spoil, |message| Bay::try_from(message), fields);
}

#[rstest]
#[case::no_kind(|m: &mut v1::Procedure| m.kind = 0, &["kind"])]
#[case::calibration_of_nothing(|m: &mut v1::Procedure| m.sensor = 0, &["sensor"])]
#[case::sensor_of_the_future(|m: &mut v1::Procedure| m.sensor = 99, &["sensor"])]
#[case::no_document(|m: &mut v1::Procedure| m.document = None, &["document"])]
#[case::never_checked(
    |m: &mut v1::Procedure| m.document = Some(v1::Document::default()),
    &["document.checked_on", "document.reference"])]
#[case::no_method(|m: &mut v1::Procedure| m.methods.clear(), &["methods"])]
#[case::nobody_does_it(
    |m: &mut v1::Procedure| m.methods[0].role_ids.clear(), &["methods[0].role_ids"])]
#[case::bad_role(
    |m: &mut v1::Procedure| m.methods[0].role_ids.push("a b".to_owned()),
    &["methods[0].role_ids[1]"])]
#[case::takes_no_time(
    |m: &mut v1::Procedure| {
        (m.methods[0].setup_minutes, m.methods[0].run_minutes) = (0, 0);
        m.methods[0].teardown_minutes = 0;
    },
    &["methods[0].run_minutes"])]
#[case::two_of_one_name(
    |m: &mut v1::Procedure| {
        m.methods.push(m.methods[0].clone());
        m.start_checks.push(m.start_checks[0].clone());
        let zone = m.methods[0].zones[0].clone();
        m.methods[0].zones.push(zone);
    },
    &["methods[1].method_id", "methods[0].zones[1].zone_id", "start_checks[1].start_check_id"])]
#[case::zones_on_the_road(
    |m: &mut v1::Procedure| m.methods[0].place = v1::WorkPlace::Road.into(), &["methods[0].zones"])]
#[case::corner_from_nowhere(
    |m: &mut v1::Procedure| m.methods[0].zones[0].outline[1].x_from = 0,
    &["methods[0].zones[0].outline[1].x_from"])]
#[case::corner_too_far(
    |m: &mut v1::Procedure| m.methods[0].zones[0].outline[1].y_mm = 1e9,
    &["methods[0].zones[0].outline[1].y_mm"])]
#[case::no_need_at_all(
    |m: &mut v1::Procedure| m.methods[0].zones[0].needs[0].need = None,
    &["methods[0].zones[0].needs[0]"])]
#[case::clear_up_to_nothing(
    |m: &mut v1::Procedure| m.methods[0].zones[0].needs[0] =
        need(Need::ClearFloor(v1::ClearFloorNeed { up_to_mm: 0.0 })),
    &["methods[0].zones[0].needs[0].clear_floor.up_to_mm"])]
#[case::one_end_of_the_colour(
    |m: &mut v1::Procedure| m.methods[0].zones[0].needs[1] = need(Need::Light(v1::LightNeed {
        colour_temperature_max_k: None, ..example::light()
    })),
    &["methods[0].zones[0].needs[1].light.colour_temperature_max_k"])]
#[case::colour_out_of_range(
    |m: &mut v1::Procedure| m.methods[0].zones[0].needs[1] = need(Need::Light(v1::LightNeed {
        colour_temperature_min_k: Some(3.0), plane: 0, ..example::light()
    })),
    &["methods[0].zones[0].needs[1].light.plane",
      "methods[0].zones[0].needs[1].light.colour_temperature_min_k"])]
#[case::slope_is_no_number(
    |m: &mut v1::Procedure| m.methods[0].zones[0].needs[0] = need(Need::Level(v1::LevelNeed {
        slope_max_deg: f64::NAN, residual_max_mm: Some(-1.0),
        conformance_probability: Some(0.5), ..v1::LevelNeed::default()
    })),
    &["methods[0].zones[0].needs[0].level.slope_max_deg",
      "methods[0].zones[0].needs[0].level.residual_max_mm",
      "methods[0].zones[0].needs[0].level.conformance_probability"])]
fn procedures(#[case] spoil: fn(&mut v1::Procedure), #[case] fields: &[&str]) {
    check(example::procedure(), spoil, |message| Procedure::try_from(message), fields);
}

#[rstest]
#[case::no_name(|m: &mut v1::VehicleClass| m.vehicle_class_id.clear(), &["vehicle_class_id"])]
#[case::no_number(|m: &mut v1::VehicleClass| m.track_mm = f64::NAN, &["track_mm"])]
fn vehicle_classes(#[case] spoil: fn(&mut v1::VehicleClass), #[case] fields: &[&str]) {
    check(example::vehicle_class(), spoil, |message| VehicleClass::try_from(message), fields);
}

#[rstest]
#[case::no_document(|m: &mut v1::CallRule| m.document = None, &["document"])]
#[case::blank_reference(
    |m: &mut v1::CallRule| m.document.as_mut().unwrap().reference = " ".to_owned(),
    &["document.reference"])]
#[case::unknown_sensor(|m: &mut v1::CallRule| m.sensors.push(0), &["sensors[1]"])]
#[case::gates_nothing(|m: &mut v1::CallRule| m.prerequisites[0].gates.clear(), &["prerequisites[0].gates"])]
#[case::gates_what(
    |m: &mut v1::CallRule| m.prerequisites[0].gates[0].select = None, &["prerequisites[0].gates[0]"])]
#[case::all_that_is_not_all(
    |m: &mut v1::CallRule| m.prerequisites[0].gates[0].select =
        Some(v1::task_selector::Select::All(false)),
    &["prerequisites[0].gates[0].all"])]
#[case::asked_never(|m: &mut v1::CallRule| m.prerequisites[0].asked = 0, &["prerequisites[0].asked"])]
#[case::gap_too_long(
    |m: &mut v1::CallRule| m.calls[0].after.push(v1::TaskAfter { before: None, gap_minutes: 14_401 }),
    &["calls[0].after[0].gap_minutes", "calls[0].after[0].before"])]
#[case::undoes_nothing(
    |m: &mut v1::CallRule| m.calls[0].undoes.push(v1::UndoTarget::default()), &["calls[0].undoes[0]"])]
#[case::driven_before_it_is_moved(
    |m: &mut v1::CallRule| m.calls[0].planned_cure =
        Some(v1::CureMinutes { moved_minutes: 2, calibrated_minutes: 0, driven_minutes: 1 }),
    &["calls[0].planned_cure.driven_minutes"])]
#[case::too_many_calls(
    |m: &mut v1::CallRule| m.calls = (0..21).map(|at| v1::CalledTask {
        task_id: format!("task-{at}"), ..m.calls[0].clone()
    }).collect(),
    &["calls"])]
fn call_rules(#[case] spoil: fn(&mut v1::CallRule), #[case] fields: &[&str]) {
    check(example::call_rule(), spoil, |message| CallRule::try_from(message), fields);
}

#[rstest]
#[case::unknown_zone(|m: &mut v1::Shop| m.time_zone = "Europe/Atlantis".to_owned(), &["time_zone"])]
#[case::beyond_the_pole(|m: &mut v1::Shop| m.latitude_deg = 91.0, &["latitude_deg"])]
#[case::no_hours(|m: &mut v1::Shop| m.hours = None, &["hours"])]
#[case::span_reversed(
    |m: &mut v1::Shop| m.hours.as_mut().unwrap().friday = vec![span(700, 600)], &["hours.friday[0]"])]
#[case::spans_overlap(
    |m: &mut v1::Shop| m.hours.as_mut().unwrap().monday.push(span(1_000, 1_100)), &["hours.monday[1]"])]
#[case::into_the_next_day(
    |m: &mut v1::Shop| m.hours.as_mut().unwrap().sunday = vec![span(1_000, 2_000)], &["hours.monday[0]"])]
#[case::exception_without_a_date(
    |m: &mut v1::Shop| m.exceptions[0].date.clear(), &["exceptions[0].date"])]
#[case::exception_twice(
    |m: &mut v1::Shop| m.exceptions.push(m.exceptions[0].clone()), &["exceptions[1].date"])]
#[case::exception_with_a_bad_span(
    |m: &mut v1::Shop| m.exceptions[0].spans = vec![span(1, 2), span(1_440, 1_500)],
    &["exceptions[0].spans[1]"])]
#[case::spot_for_nobody(|m: &mut v1::Shop| m.spots[0].capacity = 0, &["spots[0].capacity"])]
#[case::spot_twice(|m: &mut v1::Shop| m.spots.push(m.spots[0].clone()), &["spots[1].spot_id"])]
fn shops(#[case] spoil: fn(&mut v1::Shop), #[case] fields: &[&str]) {
    check(example::shop(), spoil, |message| Shop::try_from(message), fields);
}

#[rstest]
#[case::no_role(|m: &mut v1::Technician| m.role_ids.clear(), &["role_ids"])]
#[case::no_shift(|m: &mut v1::Technician| m.shift = None, &["shift"])]
#[case::bad_shift(
    |m: &mut v1::Technician| m.shift.as_mut().unwrap().monday[0].to_minute = 2_881,
    &["shift.monday[0]"])]
fn technicians(#[case] spoil: fn(&mut v1::Technician), #[case] fields: &[&str]) {
    let read = |message: &v1::Technician| technician_from(message, TimeZone::UTC);
    check(example::technician(), spoil, read, fields);
}

#[rstest]
#[case::no_kind(|m: &mut v1::Unit| m.unit_kind_id.clear(), &["unit_kind_id"])]
#[case::no_date(|m: &mut v1::Unit| m.verified_until = "soon".to_owned(), &["verified_until"])]
fn units(#[case] spoil: fn(&mut v1::Unit), #[case] fields: &[&str]) {
    check(example::unit(), spoil, |message| Unit::try_from(message), fields);
}

#[rstest]
#[case::no_shop(|m: &mut v1::ShopDefinition| m.shop = None, &["shop"])]
#[case::parts_of_every_list(
    |m: &mut v1::ShopDefinition| {
        m.shop.as_mut().unwrap().time_zone.clear();
        m.bays.push(v1::Bay { bay_id: "bay-2".to_owned(), ceiling_mm: f64::NAN, ..example::bay() });
        m.vehicle_classes[0].length_mm = 4.6;
        m.procedures[0].title.clear();
        m.call_rules[0].document = None;
        m.technicians[0].role_ids.clear();
        m.units[0].unit_id.clear();
    },
    &["shop.time_zone", "bays[1].ceiling_mm", "vehicle_classes[0].length_mm",
      "vehicle_classes[0].wheelbase_mm", "procedures[0].title", "call_rules[0].document",
      "technicians[0].role_ids", "units[0].unit_id"])]
#[case::names_that_do_not_exist(
    |m: &mut v1::ShopDefinition| {
        m.bays.push(m.bays[0].clone());
        m.vehicle_classes.clear();
        m.procedures.clear();
    },
    &["bays[1].bay_id", "call_rules[0].vehicle_class_ids", "call_rules[0].calls[0].procedure_id"])]
#[case::too_many_bays(
    |m: &mut v1::ShopDefinition| m.bays = (0..201).map(|at| v1::Bay {
        bay_id: format!("bay-{at}"), ..example::bay()
    }).collect(),
    &["bays"])]
fn definitions(#[case] spoil: fn(&mut v1::ShopDefinition), #[case] fields: &[&str]) {
    check(example::definition(), spoil, |message| ShopDefinition::try_from(message), fields);
}

#[rstest]
#[case::expired_before_it_was_taken(
    |m: &mut v1::Survey| m.valid_until = "2026-03-01".to_owned(), &["valid_until"])]
#[case::no_dates(
    |m: &mut v1::Survey| (m.taken_on, m.valid_until) = (String::new(), String::new()),
    &["taken_on", "valid_until"])]
#[case::height_is_no_number(
    |m: &mut v1::Survey| m.heights[0].height_mm = f64::NAN, &["heights[0].height_mm"])]
#[case::reading_in_no_plane(|m: &mut v1::Survey| m.light[0].plane = 0, &["light[0].plane"])]
#[case::unknown_instrument(|m: &mut v1::Survey| m.instrument.clear(), &["instrument"])]
#[case::errors_out_of_range(
    |m: &mut v1::Survey| {
        (m.datum_uncertainty_mm, m.height_correlation) = (-1.0, 1.0);
        (m.tilt_uncertainty_mm_per_m, m.colour_temperature_uncertainty_k) = (f64::NAN, -1.0);
    },
    &["datum_uncertainty_mm", "height_correlation", "tilt_uncertainty_mm_per_m",
      "colour_temperature_uncertainty_k"])]
#[case::lamps_unknown(|m: &mut v1::Survey| m.lamps = 77, &["lamps"])]
#[case::light_outlives_its_survey(
    |m: &mut v1::Survey| m.light_valid_until = "2030-01-01".to_owned(), &["light_valid_until"])]
#[case::light_until_no_day(
    |m: &mut v1::Survey| m.light_valid_until = "May".to_owned(), &["light_valid_until"])]
fn surveys(#[case] spoil: fn(&mut v1::Survey), #[case] fields: &[&str]) {
    check(example::survey(), spoil, |message| Survey::try_from(message), fields);
}

#[rstest]
#[case::promised_before_it_comes(
    |m: &mut v1::Estimate| m.promise_time = at(1_772_440_000), &["promise_time"])]
#[case::never_promised(|m: &mut v1::Estimate| m.promise_time = None, &["promise_time"])]
#[case::beyond_the_calendar(
    |m: &mut v1::Estimate| m.expected_arrival_time = at(i64::MAX), &["expected_arrival_time.seconds"])]
#[case::no_vehicle(|m: &mut v1::Estimate| m.vehicle = None, &["vehicle"])]
#[case::vin_of_other_letters(
    |m: &mut v1::Estimate| m.vehicle.as_mut().unwrap().vin = "1M8GDM9AXKPO42788".to_owned(),
    &["vehicle.vin"])]
#[case::class_not_stated(
    |m: &mut v1::Estimate| m.vehicle.as_mut().unwrap().vehicle_class_id.clear(),
    &["vehicle.vehicle_class_id"])]
#[case::unknown_sensor(
    |m: &mut v1::Estimate| m.vehicle.as_mut().unwrap().sensors.push(-1), &["vehicle.sensors[1]"])]
#[case::comes_somehow(|m: &mut v1::Estimate| m.arrival = 0, &["arrival"])]
#[case::nothing_to_do(|m: &mut v1::Estimate| m.lines.clear(), &["lines"])]
#[case::line_twice(
    |m: &mut v1::Estimate| m.lines.push(m.lines[0].clone()), &["lines[1].operation_id"])]
#[case::two_lines_without_names(
    |m: &mut v1::Estimate| {
        m.lines.push(m.lines[0].clone());
        m.lines.iter_mut().for_each(|line| line.operation_id.clear());
    },
    &["lines[0].operation_id", "lines[1].operation_id"])]
#[case::everything_at_once(
    |m: &mut v1::Estimate| *m = v1::Estimate { weight: 101, ..v1::Estimate::default() },
    &["expected_arrival_time", "promise_time", "job_id", "account_id", "repair_order", "vehicle",
      "arrival", "revision", "weight", "lines"])]
fn estimates(#[case] spoil: fn(&mut v1::Estimate), #[case] fields: &[&str]) {
    check(example::estimate(), spoil, |message| Estimate::try_from(message), fields);
}

#[rstest]
#[case::no_product(|m: &mut v1::Adhesive| m.product.clear(), &["product"])]
#[case::never_set(|m: &mut v1::Adhesive| m.set_time = None, &["set_time"])]
#[case::kelvin(|m: &mut v1::Adhesive| m.temperature_c = 294.0, &["temperature_c"])]
#[case::no_cure(|m: &mut v1::Adhesive| m.cure = None, &["cure"])]
#[case::cure_of_a_month(
    |m: &mut v1::Adhesive| m.cure.as_mut().unwrap().driven_minutes = 43_200, &["cure.driven_minutes"])]
fn adhesives(#[case] spoil: fn(&mut v1::Adhesive), #[case] fields: &[&str]) {
    check(example::adhesive(), spoil, |message| adhesive_told(message, None), fields);
}

#[test]
fn the_task_that_a_person_names_for_an_adhesive_is_not_looked_at() {
    let told = v1::Adhesive { task_id: "no name".to_owned(), ..example::adhesive() };
    assert_eq!(adhesive_told(&told, None).unwrap().parts().task, None);
}

#[rstest]
#[case::empty(String::new(), false)]
#[case::blank(" ".to_owned(), false)]
#[case::longest("é".repeat(32), true)]
#[case::too_long("é".repeat(33), false)]
#[case::two_lines("P0\n1".to_owned(), false)]
fn a_code_has_1_to_32_characters(#[case] code: String, #[case] fits: bool) {
    let message = v1::FoundCode { code, text: String::new(), blocking: true };
    match FoundCode::try_from(&message) {
        Ok(found) => assert!(fits && found.blocking),
        Err(faults) => assert!(!fits && faults.list()[0].field == "code", "{faults}"),
    }
}

#[test]
fn an_exception_says_who_and_why_and_gets_the_time_of_its_recording() {
    let instant = DateTime::from_timestamp(1_772_450_000, 0).unwrap();
    let mut message = v1::HandBackException {
        reason_key: "task:camera".to_owned(),
        manager: "the manager".to_owned(),
        reason: "Customer comes back on Monday.".to_owned(),
        recorded_time: at(7),
    };
    assert_eq!(exception_told(&message, instant).unwrap().at, instant);
    message = v1::HandBackException::default();
    let faults = exception_told(&message, instant).unwrap_err();
    let fields: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
    assert_eq!(fields, ["reason", "reason_key", "manager"]);
}

#[test]
fn a_stored_job_that_was_damaged_is_refused_with_every_path() {
    let damaged = v1::Job {
        tasks: vec![v1::Task { task_id: "camera".to_owned(), ..v1::Task::default() }],
        ..v1::Job::default()
    };
    let faults = Job::try_from(&damaged).unwrap_err();
    let fields: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
    let expected = [
        "job_id",
        "account_id",
        "vehicle",
        "expected_arrival_time",
        "arrival",
        "promise_time",
        "state",
        "tasks[0].procedure_id",
        "tasks[0].kind",
        "tasks[0].state",
    ];
    assert_eq!(fields, expected);
}

#[test]
fn a_task_in_a_state_of_the_future_is_refused() {
    let message = v1::Task {
        task_id: "camera".to_owned(),
        procedure_id: "front-camera".to_owned(),
        kind: v1::TaskKind::Calibration.into(),
        state: 11,
        ..v1::Task::default()
    };
    let faults = Task::try_from(&message).unwrap_err();
    assert_eq!(faults.list()[0].field, "state");
    assert!(faults.list()[0].limit.contains("TASK_STATE_PROPOSED"), "{faults}");
}
