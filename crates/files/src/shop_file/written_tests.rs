//! What is read, written and read again says the same.

use super::{parse, write};
use baywright_api::v1;
use proptest::prelude::*;
use rstest::rstest;

const SHOP: &str = "[shop]\nid = \"s\"\ntitle = \"S\"\ntime_zone = \"Europe/Lisbon\"\n";
const HOURS: &str = "[shop.hours]\nweekdays = \"07:30-17:00\"\n";
const DOCUMENT: &str = "document = { reference = \"Sheet 1\", checked_on = 2026-04-22 }\n";

/// Reads the text, writes it and reads that; gives what was written.
#[track_caller]
fn check_written(text: &str) -> String {
    let definition = parse(text).unwrap_or_else(|faults| panic!("{:#?}", faults.list()));
    let written = write(&definition);
    let again = parse(&written).unwrap_or_else(|f| panic!("{:#?}\n{written}", f.list()));
    assert_eq!(again, definition, "{written}");
    written
}

/// The example of a block of `docs/files.md` that stands alone, and every key of the demo.
#[rstest]
#[case::demo(include_str!("../../../service/demo/shop.toml"))]
#[case::documented(&crate::doc_example("toml"))]
fn a_whole_shop_file_is_written_as_it_was_read(#[case] text: &str) {
    let written = check_written(text);

    // Every table that a person wrote stands there again, in the same order, and no other.
    let heads = |text: &str| -> Vec<String> {
        let lines = text.lines().map(|line| line.split('#').next().unwrap_or_default().trim());
        lines
            .filter(|line| line.starts_with('[') && line.ends_with(']'))
            .map(String::from)
            .collect()
    };
    assert_eq!(heads(&written), heads(text));
}

#[test]
fn most_lines_of_the_demo_shop_are_written_to_the_letter() {
    let demo = include_str!("../../../service/demo/shop.toml");
    let written = check_written(demo);

    let lines: Vec<&str> = written.lines().collect();
    let said = |line: &&str| !line.starts_with('#') && !line.is_empty();
    let without_remark = |line: &'static str| line.split("   #").next().unwrap_or(line).trim_end();
    let missing: Vec<&str> = demo
        .lines()
        .map(without_remark)
        .filter(said)
        .filter(|line| !lines.contains(line))
        .collect();
    assert_eq!(missing, Vec::<&str>::new());
}

#[rstest]
#[case::kept_from_usual_weights("[shop.weights]\n")]
#[case::weight_of_0("[shop.weights]\nlateness = 0\nmove_minutes = 1440\n")]
#[case::exceptions("[[shop.exception]]\ndate = \"2026-06-10\"\nhours = \"22:00-06:00\"\n")]
#[case::bay_from_a_date(
    "[[bay]]\nid = \"b\"\nceiling_mm = 4500.5\noutline_mm = [[-0.25, 0], [1e3, 0], [1, 1]]\n\
     [[bay.obstruction]]\nid = \"o\"\noutline_mm = [[0, 0], [1, 0], [1, 1]]\nfrom_mm = 0.125\nto_mm = 2\n\
     from_date = 2026-05-01\nto_date = 2026-05-09\n\
     [[bay.station]]\nid = \"m\"\nx_mm = 1\ny_mm = -2\nheading_deg = -90.5\n"
)]
#[case::many_corners(
    "[[bay]]\nid = \"b\"\nceiling_mm = 4500\n\
     outline_mm = [[0,0],[1,0],[2,0],[3,0],[4,0],[5,0],[6,0],[7,0],[8,0],[9,1],[0,1]]\n"
)]
#[case::unit_with_count_and_absences(
    "[[unit]]\nid = \"mats\"\nkind = \"floor-mats\"\ncount = 3\nverification_document = \"Paper 7\"\n\
     [[unit.absence]]\nfrom = 2026-05-05\nback = 2026-05-07\nreason = \"lent\"\n\
     [[unit.absence]]\nfrom = 2026-05-09\nreason = \"broken\"\n"
)]
#[case::unit_of_one("[[unit]]\nid = \"u\"\nkind = \"k\"\ncount = 1\nverified_until = 2026-11-30\n")]
#[case::dated_roles(
    "[[technician]]\nid = \"t\"\ntitle = \"T\"\nshift = { every_day = \"closed\" }\n\
     [[technician.dated_role]]\nrole = \"calibrator\"\nfrom = 2026-05-01\nuntil = 2026-12-31\n\
     [[technician.dated_role]]\nrole = \"driver\"\n"
)]
#[case::shift_by_days(
    "[[technician]]\nid = \"t\"\ntitle = \"T\"\nroles = [\"driver\"]\n\
     shift = { weekdays = \"07:30-12:00, 12:30-17:00\", friday = \"closed\", sunday = \"00:00-24:00\" }\n\
     [[technician.exception]]\ndate = 2026-06-10\nhours = \"closed\"\n"
)]
#[case::accounts(
    "[[account]]\nid = \"a\"\ntitle = \"A \\\"quoted\\\" \\\\ name\"\nparty = \"insurer\"\n\
     [[account]]\nid = \"b\"\ntitle = \"B\"\n"
)]
fn edge_cases_are_written_as_they_were_read(#[case] lines: &str) {
    check_written(&format!("{SHOP}{HOURS}{lines}"));
}

#[rstest]
#[case::undo_targets(
    "undoes = [\"all\", \"task:a\", \"kind:glass\", \"sensor:lidar\", \"prerequisite:glass-clean\"]\n"
)]
#[case::narrowed(
    "operations = [\"x\"]\nvehicle_classes = [\"c\"]\nsensors = [\"lidar\", \"steering-angle\"]\n"
)]
#[case::gaps(
    "[[call_rule.task]]\nid = \"t\"\nprocedure = \"p\"\nundoes = [\"kind:calibration\"]\n\
     after = [\"all\", { before = \"task:a\", gap_minutes = 15 }, { before = \"kind:glass\", gap_minutes = 0 }]\n"
)]
#[case::cure_of_0(
    "[[call_rule.task]]\nid = \"t\"\nprocedure = \"p\"\n\
     planned_cure = { moved_minutes = 0, calibrated_minutes = 60, driven_minutes = 14400 }\n"
)]
#[case::prerequisite_with_everything(
    "[[call_rule.prerequisite]]\nid = \"q\"\nkind = \"other\"\ntitle = \"Tank filled\"\ngates = [\"all\"]\n\
     asked = \"at-start\"\nparty = \"parts\"\nprovided_by = \"t\"\ncounts_for_minutes = 90\n\
     document = { reference = \"Page 2\", checked_on = \"2026-04-20\" }\n"
)]
#[case::prerequisite_with_little(
    "[[call_rule.prerequisite]]\nid = \"q\"\nkind = \"parts-received\"\ngates = [\"task:t\"]\nasked = \"ahead\"\n"
)]
fn call_rules_are_written_as_they_were_read(#[case] lines: &str) {
    check_written(&format!("{SHOP}{HOURS}[[call_rule]]\nid = \"r\"\n{DOCUMENT}{lines}"));
}

#[rstest]
#[case::level_without_residual("{ need = \"level\", slope_max_deg = 0.001 }")]
#[case::level_with_terms(
    "{ need = \"level\", slope_max_deg = 0.3, residual_max_mm = 6, point_spacing_max_mm = 500, compensation_max_mm = 40, conformance_probability = 0.9 }"
)]
#[case::level_with_residual_0("{ need = \"level\", slope_max_deg = 45, residual_max_mm = 0 }")]
#[case::light_on_the_floor("{ need = \"light\", plane = \"horizontal\" }")]
#[case::light_with_everything(
    "{ need = \"light\", plane = \"vertical\", height_mm = 0.5, average_min_lux = 0, average_max_lux = 1, \
     minimum_lux = 2, uniformity_min = 0.33, colour_temperature_min_k = 3000, colour_temperature_max_k = 6500.5 }"
)]
#[case::every_other(
    "{ need = \"clear-floor\", up_to_mm = 0 }, { need = \"no-metal\", up_to_mm = 1 }, \
     { need = \"no-direct-sun\", up_to_mm = 2 }, { need = \"nothing-moving\" }, { need = \"plain-background\" }"
)]
fn zones_are_written_as_they_were_read(#[case] needs: &str) {
    check_written(&format!(
        "{SHOP}{HOURS}[[procedure]]\nid = \"p\"\ntitle = \"P\"\nkind = \"calibration\"\nsensor = \"lidar\"\n{DOCUMENT}\
         [[procedure.method]]\nid = \"m\"\ntitle = \"M\"\nplace = \"bay\"\nroles = [\"r\"]\nteardown_minutes = 1\n\
         [[procedure.method.zone]]\nid = \"z\"\nneeds = [{needs}]\n\
         corners = [[\"front-axle +0.5\", \"left-side\"], [\"rear-axle - 400\", \"right-side +0\"], \
         [\"rear-bumper -50000\", \"centreline +1e2\"]]\n"
    ));
}

#[test]
fn a_definition_that_no_file_gives_is_written_without_panic() {
    // From a program: nothing in it, and numbers that the contract does not know.
    let unknown = v1::Procedure { kind: 77, sensor: 78, ..v1::Procedure::default() };
    let rule = v1::CallRule { undoes: vec![v1::UndoTarget::default()], ..Default::default() };
    let definition = v1::ShopDefinition {
        procedures: vec![unknown],
        call_rules: vec![rule],
        ..v1::ShopDefinition::default()
    };
    assert!(parse(&write(&definition)).is_err());
}

/// Spans of a day in order: minutes between them and minutes that they last.
fn day() -> impl Strategy<Value = Vec<v1::LocalSpan>> {
    prop::collection::vec((0u32..400, 1u32..400), 0..3).prop_map(|pairs| {
        let mut minute = 0;
        let mut spans = Vec::new();
        for (pause, length) in pairs {
            let from_minute = minute + pause;
            minute = from_minute + length;
            spans.push(v1::LocalSpan { from_minute, to_minute: minute });
        }
        // No span begins after midnight, and one that passes it is the last.
        spans.retain(|span| span.from_minute < 1_440);
        spans
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]
    #[test]
    fn any_text_number_and_week_is_read_back(
        title in "\\PC{0,20}[^\\p{Cc}\\s]\\PC{0,20}",
        latitude_deg in -90.0f64..=90.0,
        days in prop::collection::vec(day(), 7),
        alike in 0usize..3,
        weights in any::<(Option<u16>, Option<u16>)>(),
    ) {
        let mut days = days;
        // Weeks with days alike, in which shorter words are used.
        let upto = [0, 5, 7][alike];
        for at in 1..upto { days[at] = days[0].clone(); }
        let mut of = days.into_iter();
        let mut next = || of.next().unwrap_or_default();
        let hours = v1::WeeklyHours {
            monday: next(), tuesday: next(), wednesday: next(), thursday: next(), friday: next(),
            saturday: next(), sunday: next(),
        };
        let (lateness, change) = (weights.0.map(u32::from), weights.1.map(u32::from));
        let shop = v1::Shop {
            shop_id: "s".to_owned(), title, time_zone: "Etc/UTC".to_owned(), latitude_deg,
            hours: Some(hours),
            weights: Some(v1::PlanWeights { lateness, change, ..Default::default() }),
            ..Default::default()
        };
        let definition = v1::ShopDefinition { shop: Some(shop), ..Default::default() };
        prop_assert_eq!(parse(&write(&definition)).map_err(|f| f.list().to_vec()), Ok(definition));
    }
}

const BAY: &str = "[[bay]]\nid = \"b\"\noutline_mm = [[0, 0], [8000, 0], [8000, 6000]]\nceiling_mm = 3000\n\n[[bay.daylight_opening]]\nid = \"D\"\nkind = \"door\"\nblind = true\n";

#[rstest]
#[case::wall("wall_mm = [[8000, 0], [8000, 6000]]\nsill_mm = 100\nhead_mm = 3500\n")]
#[case::states(
    "wall_mm = [[8000, 0], [8000, 6000]]\nhead_mm = 3500\nblind_closed = true\ndoor = \"closed-glazed\"\n"
)]
#[case::beyond(
    "wall_mm = [[9000, 0], [9000, 6000]]\nhead_mm = 3500\noutward = [1, 0.5]\nhorizon_deg = [[80, 5.5], [100, 7]]\nbeyond_bay = true\n"
)]
#[case::roof("roof_mm = [[0, 0], [1000, 0], [1000, 900]]\nheight_mm = 3500\n")]
fn a_daylight_opening_is_written_to_the_letter(#[case] lines: &str) {
    let written = check_written(&format!("{SHOP}{HOURS}\n{BAY}{lines}"));
    assert!(written.contains(lines), "{written}");
}
