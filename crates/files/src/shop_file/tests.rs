//! Shop files that are read, and every fault of those that are not.

#![expect(clippy::float_cmp, reason = "figures are read, not computed")]

use super::parse;
use baywright_api::v1::{
    self, CalledPrerequisite, SensorFamily, TaskKind, XDatum, YDatum, task_selector::Select,
    undo_target::Target, zone_need::Need,
};
use proptest::prelude::*;
use rstest::rstest;
use std::collections::BTreeSet;

const DEMO: &str = include_str!("../../../service/demo/shop.toml");

/// The smallest shop file, to which a case adds its own lines after line 7.
const SHOP: &str = "[shop]\nid = \"s\"\ntitle = \"S\"\ntime_zone = \"Europe/Lisbon\"\n[shop.hours]\nweekdays = \"07:30-17:00\"\n\n";

fn demo() -> v1::ShopDefinition {
    parse(DEMO).unwrap_or_else(|faults| panic!("{:#?}", faults.list()))
}

#[test]
fn the_demo_shop_has_what_it_should() {
    let shop = demo();
    assert_eq!(shop.bays.len(), 16);
    assert_eq!(shop.technicians.len(), 6);
    assert_eq!((shop.procedures.len(), shop.vehicle_classes.len()), (16, 7));
    let calibrations: Vec<_> =
        shop.procedures.iter().filter(|p| p.kind == i32::from(TaskKind::Calibration)).collect();
    assert_eq!(calibrations.len(), 8);
    let sensors: BTreeSet<_> = calibrations.iter().map(|p| p.sensor).collect();
    assert_eq!(sensors.len(), 7, "one for each sensor family");
    let hours = shop.shop.unwrap().hours.unwrap();
    assert_eq!((hours.monday[0].from_minute, hours.monday[0].to_minute), (420, 1050));
    assert!(hours.saturday.is_empty());
}

#[test]
fn every_name_that_the_demo_shop_refers_to_is_there() {
    let shop = demo();
    for rule in &shop.call_rules {
        for call in &rule.calls {
            assert!(shop.procedures.iter().any(|p| p.procedure_id == call.procedure_id));
        }
    }
    for method in shop.procedures.iter().flat_map(|p| &p.methods) {
        for role in &method.role_ids {
            assert!(shop.technicians.iter().any(|t| t.role_ids.contains(role)), "{role}");
        }
        for kind in &method.unit_kind_ids {
            assert!(shop.units.iter().any(|u| u.unit_kind_id == *kind), "{kind}");
        }
    }
}

#[test]
fn corners_are_read_with_what_they_are_counted_from() {
    let shop = demo();
    let camera = shop.procedures.iter().find(|p| p.procedure_id == "front-camera-static").unwrap();
    assert_eq!(camera.sensor, i32::from(SensorFamily::FrontCamera));
    let view = &camera.methods[0].zones[0];
    let corner = view.outline[2];
    assert_eq!((corner.x_from(), corner.x_mm), (XDatum::FrontBumper, 5_000.0));
    assert_eq!((corner.y_from(), corner.y_mm), (YDatum::Centreline, -2_000.0));
    assert_eq!(view.outline[0].x_mm, 0.0);
    assert!(matches!(view.needs[0].need, Some(Need::ClearFloor(need)) if need.up_to_mm == 2_500.0));
}

#[test]
fn selectors_are_read_from_text() {
    let shop = demo();
    let rule = shop.call_rules.iter().find(|rule| rule.call_rule_id == "windshield").unwrap();
    let undone: Vec<_> = rule.undoes.iter().map(|undo| undo.target.clone().unwrap()).collect();
    assert!(matches!(&undone[0], Target::Tasks(tasks)
        if tasks.select == Some(Select::Sensor(SensorFamily::FrontCamera.into()))));
    assert!(matches!(undone[1], Target::Prerequisite(kind)
        if kind == i32::from(v1::PrerequisiteKind::GlassClean)));
    let parts: &CalledPrerequisite = &rule.prerequisites[0];
    assert_eq!(parts.gates[0].select, Some(Select::TaskId("glass".to_owned())));
}

#[rstest]
#[case::unknown_key("colour = 1\n", "shop.hours.colour", "be one of", 8)]
#[case::missing_key("[[unit]]\nid = \"u\"\n", "unit[0].kind", "be a short name", 8)]
#[case::out_of_range(
    "[[bay]]\nid = \"b\"\nceiling_mm = 450\noutline_mm = [[0,0],[1,0],[1,1]]\n",
    "bay[0].ceiling_mm",
    "1000 to 30000 mm",
    10
)]
#[case::two_corners(
    "[[bay]]\nid = \"b\"\nceiling_mm = 4500\noutline_mm = [[0,0],[1,0]]\n",
    "bay[0].outline_mm",
    "3 to 500 corners",
    11
)]
#[case::corner_of_three(
    "[[bay]]\nid = \"b\"\nceiling_mm = 4500\noutline_mm = [[0,0],[1,0],\n[1,1,1]]\n",
    "bay[0].outline_mm[2]",
    "at most 2",
    12
)]
#[case::spelling("[[procedure]]\nkind = \"Glass\"\n", "procedure[0].kind", "glass", 9)]
#[case::bad_name("[[unit]]\nid = \"two words\"\nkind = \"k\"\n", "unit[0].id", "letters", 9)]
#[case::bad_hours(
    "[[technician]]\nshift = { monday = \"7-5\" }\n",
    "technician[0].shift.monday",
    "07:30-12:00",
    9
)]
#[case::bad_date(
    "[[unit]]\nid = \"u\"\nkind = \"k\"\nverified_until = \"2026-02-30\"\n",
    "unit[0].verified_until",
    "be a date",
    11
)]
#[case::bad_selector(
    "[[call_rule]]\nundoes = [\"sensor:nose\"]\n",
    "call_rule[0].undoes[0]",
    "task:NAME",
    9
)]
#[case::unsigned_offset(
    "[[procedure]]\n[[procedure.method]]\n[[procedure.method.zone]]\ncorners = [[\"front-bumper 5\", \"centreline\"]]\n",
    "procedure[0].method[0].zone[0].corners[0][0]",
    "+1500",
    11
)]
#[case::not_toml("id = = 3\n", "the text", "be TOML", 8)]
fn a_fault_names_its_line_path_and_limit(
    #[case] lines: &str,
    #[case] field: &str,
    #[case] limit: &str,
    #[case] line: usize,
) {
    let faults = parse(&format!("{SHOP}{lines}")).unwrap_err();
    let found = faults.list().iter().find(|f| f.fault().field == field);
    let found = found.unwrap_or_else(|| panic!("no fault of {field} in {:#?}", faults.list()));
    assert!(found.fault().limit.contains(limit), "{found}");
    assert_eq!(found.line(), line, "{found}");
}

#[test]
fn all_faults_are_reported_at_once_by_line() {
    let text = format!("{SHOP}[[unit]]\nid = \"a b\"\ncolour = 1\n[[unit]]\nid = 3\n");
    let faults = parse(&text).unwrap_err();
    let lines: Vec<usize> = faults.list().iter().map(super::super::FileFault::line).collect();
    assert_eq!(lines, [8, 9, 10, 11, 12]);
}

#[test]
fn a_fault_reads_as_a_sentence_and_a_hint() {
    let faults = parse(&format!("{SHOP}[[unit]]\nid = \"a b\"\nkind = \"k\"\n")).unwrap_err();
    assert_eq!(
        faults.list()[0].to_string(),
        "error: line 9: unit[0].id is \"a b\"; it must be 1 to 64 letters, digits, dots, underscores or hyphens, \
         the first a letter or digit\nhint: choose a short name without spaces, such as \"bay-1\""
    );
    assert!(faults.list()[0].in_file("shop.toml").starts_with("error: shop.toml:9: unit[0].id"));
}

#[test]
fn a_file_too_long_is_refused_unread() {
    let faults = parse(&"#".repeat(super::SHOP_FILE_BYTES_MAX + 1)).unwrap_err();
    assert!(faults.list()[0].fault().limit.contains("4194304"));
}

#[test]
fn the_documented_example_is_read() {
    let example = crate::doc_example("toml");
    let shop = parse(&example).unwrap_or_else(|faults| panic!("{:#?}", faults.list()));
    assert_eq!(shop.call_rules[0].calls[1].after[1].gap_minutes, 15);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]
    #[test]
    fn a_damaged_shop_file_never_panics(at in 0..DEMO.len(), length in 0usize..40, insert in ".{0,4}") {
        let start = (at..DEMO.len()).find(|at| DEMO.is_char_boundary(*at)).unwrap_or(0);
        let wanted = (start + length).min(DEMO.len());
        let end = (wanted..=DEMO.len()).find(|at| DEMO.is_char_boundary(*at)).unwrap_or(DEMO.len());
        let damaged = format!("{}{insert}{}", &DEMO[..start], &DEMO[end..]);
        if let Err(faults) = parse(&damaged) {
            let lines = damaged.lines().count() + 1;
            prop_assert!(faults.list().iter().all(|fault| (1..=lines).contains(&fault.line())));
        }
    }
}

const OPENING: &str = "[[bay]]\nid = \"b\"\noutline_mm = [[0, 0], [8000, 0], [8000, 6000]]\nceiling_mm = 3000\n[[bay.daylight_opening]]\nid = \"W2\"\nkind = \"window\"\n";

/// Line and field of each fault of a daylight opening whose lines begin at 15.
#[rstest]
#[case::both_places("wall_mm = [[0, 0], [1, 0]]\nhead_mm = 9\nroof_mm = [[0, 0]]\n", &[(17, "roof_mm")])]
#[case::one_end("wall_mm = [[0, 0]]\nhead_mm = 2000\n", &[(15, "wall_mm")])]
#[case::no_head("wall_mm = [[0, 0], [8000, 0]]\n", &[(12, "head_mm")])]
#[case::two_corners("roof_mm = [[0, 0], [1, 1]]\nheight_mm = 4000\n", &[(15, "roof_mm")])]
#[case::no_height("roof_mm = [[0, 0], [9, 0], [9, 9]]\n", &[(12, "height_mm")])]
#[case::height_of_a_wall("wall_mm = [[0, 0], [9, 0]]\nhead_mm = 9\nheight_mm = 9\n", &[(17, "height_mm")])]
#[case::sill_of_a_roof("roof_mm = [[0, 0], [9, 0], [9, 9]]\nheight_mm = 9\nsill_mm = 1\n", &[(17, "sill_mm")])]
#[case::sill_without_a_place("sill_mm = 900\n", &[(15, "sill_mm")])]
#[case::direction_of_three("wall_mm = [[0, 0], [9, 0]]\nhead_mm = 9\noutward = [1, 0, 0]\n", &[(17, "outward"), (17, "outward")])]
#[case::unknown_door("wall_mm = [[0, 0], [9, 0]]\nhead_mm = 9\ndoor = \"ajar\"\n", &[(17, "door")])]
#[case::skyline_too_high("horizon_deg = [[10, 95]]\n", &[(15, "horizon_deg[0][1]")])]
fn faults_of_daylight_openings_name_line_and_key(
    #[case] lines: &str,
    #[case] expected: &[(usize, &str)],
) {
    let faults = parse(&format!("{SHOP}{OPENING}{lines}")).unwrap_err();
    let found: Vec<_> = faults
        .list()
        .iter()
        .map(|fault| {
            let field = fault.fault().field.trim_start_matches("bay[0].daylight_opening[0].");
            (fault.line(), field.to_owned())
        })
        .collect();
    let expected: Vec<_> =
        expected.iter().map(|(line, field)| (*line, (*field).to_owned())).collect();
    assert_eq!(found, expected);
}
