//! Estimates that are read, and every fault of those that are not.

use super::parse;
use baywright_api::v1::ArrivalKind;
use rstest::rstest;

#[rstest]
#[case::windshield(include_str!("../../../service/demo/estimate-1001-windshield.json"), 3)]
#[case::rear_bumper(include_str!("../../../service/demo/estimate-1002-rear-bumper.json"), 1)]
#[case::unknown(include_str!("../../../service/demo/estimate-1003-unknown-operation.json"), 2)]
#[case::parts(include_str!("../../../service/demo/estimate-1004-parts-on-order.json"), 1)]
#[case::tow_in(include_str!("../../../service/demo/estimate-1005-tow-in.json"), 2)]
#[case::mirror(include_str!("../../../service/demo/estimate-1006-mirror-waiting.json"), 1)]
fn the_demo_estimates_are_read(#[case] text: &str, #[case] lines: usize) {
    let estimate = parse(text).unwrap_or_else(|faults| panic!("{:#?}", faults.list()));
    assert_eq!(estimate.lines.len(), lines);
}

#[test]
fn the_documented_example_is_read() {
    let estimate = parse(&crate::doc_example("json")).unwrap();
    assert_eq!(estimate.job_id, "J-1001");
    assert_eq!(estimate.arrival(), ArrivalKind::DropOff);
    // 2026-05-05T06:30:00Z by hand: 20578 days and 6 h 30 min after 1970-01-01.
    assert_eq!(estimate.expected_arrival_time.unwrap().seconds, 20_578 * 86_400 + 23_400);
    assert_eq!(estimate.weight, 3);
}

#[rstest]
#[case::no_offset("T07:30:00+01:00", "T07:30:00", "expected_arrival_time", "RFC 3339", 11)]
#[case::promise_before("16:30:00", "06:30:00", "promise_time", "later than", 13)]
#[case::revision_zero("\"revision\": 1", "\"revision\": 0", "revision", "whole number from 1", 3)]
#[case::revision_text(
    "\"revision\": 1",
    "\"revision\": \"1\"",
    "revision",
    "whole number from 1",
    3
)]
#[case::arrival("drop-off", "parachute", "arrival", "waiting, drop-off, tow-in", 12)]
#[case::vin("\"vin\": \"\"", "\"vin\": \"123\"", "vehicle.vin", "17 letters", 7)]
#[case::sensor("front-radar", "nose", "vehicle.sensors[1]", "front-camera", 9)]
#[case::unknown_key("\"weight\"", "\"colour\"", "colour", "be one of", 17)]
#[case::doubled_key("\"weight\": 3", "\"weight\": 3, \"weight\": 4", "weight", "be given once", 17)]
#[case::weight("\"weight\": 3", "\"weight\": 101", "weight", "1 to 100", 17)]
#[case::comma("\"J-1001\",", "\"J-1001\"", "the text", "be JSON", 3)]
fn a_fault_names_its_line_path_and_limit(
    #[case] replace: &str,
    #[case] with: &str,
    #[case] field: &str,
    #[case] limit: &str,
    #[case] line: usize,
) {
    let text = crate::doc_example("json");
    assert!(text.contains(replace));
    let faults = parse(&text.replacen(replace, with, 1)).unwrap_err();
    let found = faults.list().iter().find(|f| f.fault().field == field);
    let found = found.unwrap_or_else(|| panic!("no fault of {field} in {:#?}", faults.list()));
    assert!(found.fault().limit.contains(limit), "{found}");
    assert_eq!(found.line(), line, "{found}");
}

#[test]
fn an_estimate_without_lines_is_refused() {
    let text = crate::doc_example("json");
    let start = text.find("\"lines\"").unwrap();
    let end = text.find("],\n  \"weight\"").unwrap();
    let without = format!("{}\"lines\": [{}", &text[..start], &text[end..]);
    let faults = parse(&without).unwrap_err();
    assert_eq!(faults.list()[0].fault().field, "lines");
}

#[rstest]
#[case::deep(&"[".repeat(100_000))]
#[case::deep_and_closed(&format!("{}{}", "[".repeat(5_000), "]".repeat(5_000)))]
#[case::not_a_table("[1, 2]")]
#[case::nothing("")]
fn odd_texts_are_refused_without_a_panic(#[case] text: &str) {
    assert!(!parse(text).unwrap_err().list().is_empty());
}
