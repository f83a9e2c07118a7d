//! Survey files that are read, and every fault of those that are not.

#![expect(clippy::float_cmp, reason = "figures are read, not computed")]

use super::{parse, write};
use baywright_api::v1::{LampState, LightPlane};
use proptest::prelude::*;
use rstest::rstest;

const HEADER: &str = "# survey: s\n# taken on: 2026-05-04\n# valid until: 2027-05-04\n# instrument: level\n# datum: door mark\n# unit: mm\n# height uncertainty: 0.5 mm\n# light uncertainty: 4 %\n";
const COLUMNS: &str = "kind,x_mm,y_mm,height_mm,plane,lux\n";

#[rstest]
#[case::bay_1(include_str!("../../../service/demo/survey-bay-1.csv"), 435)]
#[case::bay_2(include_str!("../../../service/demo/survey-bay-2.csv"), 300)]
#[case::bay_3(include_str!("../../../service/demo/survey-bay-3.csv"), 150)]
#[case::bay_4(include_str!("../../../service/demo/survey-bay-4.csv"), 406)]
#[case::bay_5(include_str!("../../../service/demo/survey-bay-5.csv"), 300)]
#[case::bay_6(include_str!("../../../service/demo/survey-bay-6.csv"), 300)]
#[case::bay_7(include_str!("../../../service/demo/survey-bay-7.csv"), 392)]
#[case::bay_9(include_str!("../../../service/demo/survey-bay-9.csv"), 276)]
#[case::bay_10(include_str!("../../../service/demo/survey-bay-10.csv"), 392)]
#[case::bay_11(include_str!("../../../service/demo/survey-bay-11.csv"), 392)]
fn the_demo_surveys_are_read_whole(#[case] text: &str, #[case] heights: usize) {
    let survey = parse(text, "bay-1").unwrap_or_else(|faults| panic!("{:#?}", faults.list()));
    assert_eq!(survey.heights.len(), heights);
    assert_eq!(survey.light.len(), 2 * heights);
    assert_eq!(survey.height_uncertainty_mm, 0.5);
}

#[test]
fn what_the_header_states_of_errors_and_lamps_is_read() {
    let more = "# datum uncertainty: 0.3 mm\n# height correlation: 0.25\n# tilt uncertainty: 0.05 mm per m\n# lamps: all-on\n# light valid until: 2026-11-04\n# colour temperature uncertainty: 80 K\n";
    let survey = parse(&format!("{HEADER}{more}{COLUMNS}height,0,0,5,,\n"), "bay-1").unwrap();
    assert_eq!(survey.datum_uncertainty_mm, 0.3);
    assert_eq!(survey.height_correlation, 0.25);
    assert_eq!(survey.tilt_uncertainty_mm_per_m, 0.05);
    assert_eq!(survey.lamps(), LampState::AllOn);
    assert_eq!(survey.light_valid_until, "2026-11-04");
    assert_eq!(survey.colour_temperature_uncertainty_k, 80.0);
}

#[test]
fn the_documented_example_is_read() {
    let survey = parse(&crate::doc_example("csv"), "bay-1").unwrap();
    assert_eq!(survey.bay_id, "bay-1");
    assert_eq!(survey.survey_id, "bay-1-2026-05");
    assert_eq!(survey.light_uncertainty_relative, 0.04);
    assert_eq!(survey.colour_temperature_k, Some(4_100.0));
    assert_eq!(survey.heights[1].height_mm, 2.4);
    assert_eq!(survey.light[1].plane(), LightPlane::Horizontal);
    assert_eq!(survey.light[1].lux, 620.0);
}

#[rstest]
#[case::bay_1(include_str!("../../../service/demo/survey-bay-1.csv"))]
#[case::bay_2(include_str!("../../../service/demo/survey-bay-2.csv"))]
#[case::bay_3(include_str!("../../../service/demo/survey-bay-3.csv"))]
#[case::documented(&crate::doc_example("csv"))]
fn a_survey_is_written_line_for_line_as_it_was_read(#[case] text: &str) {
    let written = write(&parse(text, "bay-1").unwrap());

    // A whole figure is written without decimals.
    let text = text.replace(".0,", ",");
    let mut lines: Vec<&str> = text.lines().skip(1).collect();
    // Heights first, then light; the order of each stays.
    let from = lines.iter().position(|line| line.starts_with("kind")).unwrap() + 1;
    lines[from..].sort_by_key(|line| line.starts_with("light"));
    assert_eq!(written.lines().collect::<Vec<_>>(), lines);
}

#[rstest]
#[case::no_light(&HEADER.replace("# light uncertainty: 4 %\n", ""), "height,0,0,1,,\n")]
#[case::light_alone(HEADER, "light,-0.5,1e3,0,vertical,0\n")]
#[case::odd_percentage(&HEADER.replace("4 %", "7.000000000000001%"), "light,0,0,0,vertical,3\n")]
#[case::colons(&HEADER.replace("door mark", "mark: by the door, # 2"), "height,0,0,-0.1,,\n")]
#[case::lamps(&format!("{HEADER}# colour temperature: 4100.5 K\n"), "height,0,0,500,,\n")]
#[case::errors(&format!("{HEADER}# datum uncertainty: 0.3 mm\n# height correlation: 0.25\n# tilt uncertainty: 0.05 mm per m\n"),
    "height,0,0,5,,\n")]
#[case::conditions(&format!("{HEADER}# lamps: some-out\n# light valid until: 2026-11-04\n# colour temperature uncertainty: 80 K\n"),
    "light,0,0,0,vertical,3\n")]
#[case::not_measured(&format!("{HEADER}# colour temperature: not measured\n"), "height,0,0,5,,\n")]
fn edge_cases_are_written_as_they_were_read(#[case] header: &str, #[case] rows: &str) {
    let survey = parse(&format!("{header}{COLUMNS}{rows}"), "bay-1").unwrap();
    assert_eq!(parse(&write(&survey), "bay-1").unwrap(), survey);
}

#[test]
fn a_survey_without_a_datum_is_written_with_a_stand_in() {
    let mut survey = parse(&crate::doc_example("csv"), "bay-1").unwrap();
    survey.datum.clear();
    assert_eq!(parse(&write(&survey), "bay-1").unwrap().datum, "not stated");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]
    #[test]
    fn any_figure_is_read_back(percent in 0.01f64..=100.0, x in -2e5f64..2e5, height in -500.0f64..500.0) {
        let header = HEADER.replace("4 %", &format!("{percent} %"));
        let text = format!("{header}{COLUMNS}height,{x},0,{height},,\nlight,{x},0,1,vertical,9\n");
        let survey = parse(&text, "bay-1").map_err(|f| f.list().to_vec());
        let survey = survey.map_err(|faults| TestCaseError::fail(format!("{faults:?}")))?;
        prop_assert_eq!(parse(&write(&survey), "bay-1").ok(), Some(survey));
    }
}

#[rstest]
#[case::height_out_of_range("height,0,0,4120,,\n", "height_mm", "-500 to 500 mm", 10)]
#[case::not_a_number("height,0,zero,1,,\n", "y_mm", "be a number", 10)]
#[case::not_finite("height,0,NaN,1,,\n", "y_mm", "be a number", 10)]
#[case::kind("depth,0,0,1,,\n", "kind", "height or light", 10)]
#[case::plane("light,0,0,1000,upwards,300\n", "plane", "horizontal or vertical", 10)]
#[case::negative_light("light,0,0,1000,vertical,-3\n", "lux", "0 to 200000 lux", 10)]
#[case::lux_of_a_height("height,0,0,1,,300\n", "lux", "be empty", 10)]
#[case::columns_short("height,0,0,1\n", "the row", "6 columns", 10)]
#[case::second_row("height,0,0,1,,\n# remark\nheight,0,0,x,,\n", "height_mm", "be a number", 12)]
#[case::after_an_empty_line("height,0,0,1,,\n\nheight,0,0,x,,\n", "height_mm", "be a number", 12)]
#[case::no_rows("", "the list of points", "at least one point", 9)]
fn a_faulty_row_is_refused_with_its_line(
    #[case] rows: &str,
    #[case] field: &str,
    #[case] limit: &str,
    #[case] line: usize,
) {
    check_fault(&format!("{HEADER}{COLUMNS}{rows}"), field, limit, line);
}

#[rstest]
#[case::no_unit("0.5 mm", "0.5", "height uncertainty", "with its unit", 7)]
#[case::zero("0.5 mm", "0 mm", "height uncertainty", "0.001 to 100 mm", 7)]
#[case::inches("unit: mm", "unit: in", "unit", "be mm", 6)]
#[case::dates_the_wrong_way("until: 2027", "until: 2026", "valid until", "be later than", 3)]
#[case::no_date("2026-05-04", "May 2026", "taken on", "be a date", 2)]
#[case::unknown_key("datum", "zero", "zero", "be one of survey", 5)]
#[case::missing_key("# datum: door mark\n", "", "datum", "1 to 300 characters", 1)]
#[case::lamps_unknown("# unit: mm", "# unit: mm\n# lamps: dim", "lamps", "all-on or some-out", 7)]
#[case::correlation_of_1(
    "# unit: mm",
    "# unit: mm\n# height correlation: 1",
    "height correlation",
    "0 to 0.99",
    7
)]
#[case::tilt_without_unit(
    "# unit: mm",
    "# unit: mm\n# tilt uncertainty: 0.1",
    "tilt uncertainty",
    "0 to 50 mm per m",
    7
)]
#[case::light_outlives_its_survey(
    "# unit: mm",
    "# unit: mm\n# light valid until: 2030-01-01",
    "light valid until",
    "not later than",
    7
)]
#[case::doubled_key("# unit: mm\n", "# unit: mm\n# unit: mm\n", "unit", "be given once", 7)]
fn a_faulty_header_is_refused_with_its_line(
    #[case] replace: &str,
    #[case] with: &str,
    #[case] field: &str,
    #[case] limit: &str,
    #[case] line: usize,
) {
    let header = HEADER.replacen(replace, with, 1);
    let header = if field == "valid until" {
        header.replace("2026-05-04\n# instr", "2026-05-03\n# instr")
    } else {
        header
    };
    check_fault(&format!("{header}{COLUMNS}height,0,0,1,,\n"), field, limit, line);
}

#[test]
fn light_readings_need_a_stated_uncertainty() {
    let header = HEADER.replace("# light uncertainty: 4 %\n", "");
    check_fault(
        &format!("{header}{COLUMNS}light,0,0,0,vertical,300\n"),
        "light uncertainty",
        "be stated",
        9,
    );
}

#[test]
fn other_columns_are_refused() {
    check_fault(&format!("{HEADER}x,y,z\nheight,0,0,1,,\n"), "the line of columns", "kind,x_mm", 9);
}

#[track_caller]
fn check_fault(text: &str, field: &str, limit: &str, line: usize) {
    let faults = parse(text, "bay-1").unwrap_err();
    let found = faults.list().iter().find(|f| f.fault().field == field);
    let found = found.unwrap_or_else(|| panic!("no fault of {field} in {:#?}", faults.list()));
    assert!(found.fault().limit.contains(limit), "{found}");
    assert_eq!(found.line(), line, "{found}");
}
