//! What the reader refuses, with which path; and that no text makes it panic.

use super::{PreviousDraft, Problem};
use crate::fault::FAULTS_MAX;
use crate::planner::limits::{CLASHES_MAX, JOBS_MAX, OPTIONS_MAX, STEPS_MAX, WINDOWS_MAX};
use proptest::prelude::*;
use rstest::rstest;
use serde_json::{Value, json};

fn sound() -> Value {
    json!({
        "format": "planning-problem/1", "name": "sound", "horizon": 100, "unknown": [1.5],
        "places": [{"id": "bay-1", "open": [[0, 50], [60, 100]]}, {"id": "bay-2"}],
        "resources": [{"id": "ines"}, {"id": "frame"}],
        "clashes": [["bay-1", "bay-2"]],
        "jobs": [{
            "id": "J1",
            "steps": [
                {"id": "scan", "options": [
                    {"minutes": 5, "place": "bay-1"},
                    {"minutes": 6, "place": "bay-2", "needs": [["ines", "frame"]], "starts": [[0, 9]]},
                ]},
                {"id": "aim", "options": [{"minutes": 5, "needs": [["ines"], ["frame"]]}]},
                {"id": "drive", "after": {"aim": 30}, "options": [{"minutes": 5}]},
            ],
            "fixed": {"scan": {"start": -3, "option": 1, "uses": ["ines"]}},
            "previous": {"drive": {"start": 40, "option": null, "uses": ["someone gone"]}},
        }],
        "cost": {"lateness": 100},
    })
}

/// The fields that are refused once a value is another one.
#[track_caller]
fn check_refused(pointer: &str, value: Value, expected: &[&str]) {
    let mut problem = sound();
    let (parent, key) = pointer.rsplit_once('/').unwrap();
    match problem.pointer_mut(parent).unwrap() {
        Value::Object(object) => drop(object.insert(key.to_owned(), value)),
        Value::Array(list) => list[key.parse::<usize>().unwrap()] = value,
        other => panic!("{other} has no parts"),
    }
    let faults = Problem::from_json(&problem.to_string()).unwrap_err();
    let fields: Vec<&str> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
    assert_eq!(fields, expected, "{faults:?}");
    assert!(faults.list().iter().all(|fault| !fault.limit.is_empty() && !fault.remedy.is_empty()));
}

const BIG: i64 = 10_000_001;

#[rstest]
#[case::other_format("/format", json!("planning-problem/2"), &["format"])]
#[case::no_horizon("/horizon", json!(null), &["horizon"])]
#[case::negative_horizon("/horizon", json!(-1), &["horizon"])]
#[case::long_horizon("/horizon", json!(1_000_001), &["horizon"])]
#[case::not_a_list("/places", json!({}), &["places", "clashes[0][0]", "clashes[0][1]",
    "jobs[0].steps[0].options[0].place", "jobs[0].steps[0].options[1].place"])]
#[case::twice_the_same_place("/places/1/id", json!("bay-1"), &["places[1].id", "clashes[0][1]",
    "jobs[0].steps[0].options[1].place"])]
#[case::reversed_window("/places/0/open/1", json!([9, 8]), &["places[0].open[1]"])]
#[case::window_of_three("/places/0/open/1", json!([1, 2, 3]), &["places[0].open[1]"])]
#[case::far_window("/places/0/open/1", json!([0, BIG]), &["places[0].open[1][1]"])]
#[case::unknown_clash("/clashes/0", json!(["bay-1", "bay-9"]), &["clashes[0][1]"])]
#[case::clash_with_itself("/clashes/0", json!(["bay-1", "bay-1"]), &["clashes[0]"])]
#[case::empty_id("/jobs/0/id", json!(""), &["jobs[0].id"])]
#[case::negative_weight("/jobs/0/weight", json!(-1), &["jobs[0].weight"])]
#[case::fraction("/jobs/0/due", json!(1.5), &["jobs[0].due"])]
#[case::exponent("/jobs/0/due", json!(1e3), &["jobs[0].due"])]
#[case::beyond_any_integer("/jobs/0/due", json!(u64::MAX), &["jobs[0].due"])]
#[case::costly_to_leave_out("/jobs/0/leave_out_cost", json!(i64::MAX), &["jobs[0].leave_out_cost"])]
#[case::negative_move("/jobs/0/move_minutes", json!(-1), &["jobs[0].move_minutes"])]
#[case::no_steps("/jobs/0/steps", json!([]), &["jobs[0].steps", "jobs[0].fixed.scan",
    "jobs[0].previous.drive"])]
#[case::no_options("/jobs/0/steps/1/options", json!([]), &["jobs[0].steps[1].options"])]
#[case::no_minutes("/jobs/0/steps/1/options/0/minutes", json!(0),
    &["jobs[0].steps[1].options[0].minutes"])]
#[case::unknown_place("/jobs/0/steps/0/options/1/place", json!("bay-9"),
    &["jobs[0].steps[0].options[1].place"])]
#[case::unknown_resource("/jobs/0/steps/1/options/0/needs/1", json!(["omar"]),
    &["jobs[0].steps[1].options[0].needs[1][0]"])]
#[case::empty_group("/jobs/0/steps/1/options/0/needs/1", json!([]),
    &["jobs[0].steps[1].options[0].needs[1]"])]
#[case::reversed_start_window("/jobs/0/steps/0/options/1/starts/0", json!([9, 0]),
    &["jobs[0].steps[0].options[1].starts[0]"])]
#[case::after_an_unknown_step("/jobs/0/steps/2/after", json!({"wash": 0}),
    &["jobs[0].steps[2].after.wash"])]
#[case::after_with_a_negative_wait("/jobs/0/steps/2/after", json!({"aim": -1}),
    &["jobs[0].steps[2].after.aim"])]
#[case::after_itself("/jobs/0/steps/2/after", json!({"drive": 0}), &["jobs[0].steps"])]
#[case::cycle_through_a_default("/jobs/0/steps/0/after", json!({"aim": 0}), &["jobs[0].steps"])]
#[case::unknown_fixed("/jobs/0/fixed/wash", json!({"start": 0, "option": 0}), &["jobs[0].fixed.wash"])]
#[case::fixed_without_start("/jobs/0/fixed/aim", json!({"option": 0, "uses": ["ines", "frame"]}),
    &["jobs[0].fixed.aim.start"])]
#[case::fixed_in_no_option("/jobs/0/fixed/scan/option", json!(2), &["jobs[0].fixed.scan.option"])]
#[case::fixed_without_uses("/jobs/0/fixed/scan/uses", json!([]), &["jobs[0].fixed.scan.uses"])]
#[case::fixed_with_one_for_two("/jobs/0/fixed/aim",
    json!({"start": 0, "option": 0, "uses": ["ines", "ines"]}),
    &["jobs[0].fixed.aim.uses[1]", "jobs[0].fixed.aim.uses[1]"])]
#[case::previous_in_no_option("/jobs/0/previous/drive/option", json!(-1),
    &["jobs[0].previous.drive.option"])]
#[case::unknown_previous("/jobs/0/previous/wash", json!({"start": 0, "option": null}),
    &["jobs[0].previous.wash"])]
#[case::negative_cost("/cost/change", json!(-1), &["cost.change"])]
#[case::cost_that_could_overflow("/cost/makespan", json!(1_000_000_000_001_i64), &["cost.makespan"])]
#[case::no_cost("/cost", json!(null), &["cost"])]
fn what_is_wrong_is_named_with_its_path(
    #[case] pointer: &str,
    #[case] value: Value,
    #[case] expected: &[&str],
) {
    check_refused(pointer, value, expected);
}

#[test]
fn all_faults_are_given_at_once() {
    let mut problem = sound();
    problem["horizon"] = json!("long");
    problem["jobs"][0]["weight"] = json!(2.5);
    problem["jobs"][0]["steps"][1]["options"][0]["needs"] = json!([["omar"]]);
    let faults = Problem::from_json(&problem.to_string()).unwrap_err();
    let fields: Vec<&str> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
    assert_eq!(fields, ["horizon", "jobs[0].weight", "jobs[0].steps[1].options[0].needs[0][0]"]);
}

#[test]
fn a_sum_of_costs_that_could_overflow_is_refused() {
    let mut problem = sound();
    problem["cost"]["lateness"] = json!(1_000_000_000_000_i64);
    problem["jobs"][0]["weight"] = json!(1_000_000);
    problem["jobs"][0]["due"] = json!(0);
    let faults = Problem::from_json(&problem.to_string()).unwrap_err();
    assert_eq!(faults.list().len(), 1);
    assert_eq!(faults.list()[0].field, "cost");
}

#[test]
fn defaults_are_those_of_the_format() {
    let draft = Problem::from_json(&sound().to_string()).unwrap().to_draft();
    assert_eq!((draft.now, draft.jobs[0].weight, draft.jobs[0].due), (0, 1, None));
    assert_eq!(draft.places[1].open, Some(vec![[0, 100]]));
    let after = |step: usize| draft.jobs[0].steps[step].after.clone().unwrap();
    assert!(after(0).is_empty());
    assert_eq!(after(1).into_iter().collect::<Vec<_>>(), [("scan".to_owned(), 0)]);
    assert_eq!(after(2).into_iter().collect::<Vec<_>>(), [("aim".to_owned(), 30)]);
    assert_eq!(draft.jobs[0].fixed["scan"].minutes, Some(6));
    let was = PreviousDraft { start: 40, option: None, uses: vec!["someone gone".to_owned()] };
    assert_eq!(draft.jobs[0].previous["drive"], was);
}

#[test]
fn empty_windows_and_windows_inside_others_are_dropped_but_touching_ones_stay_apart() {
    let mut problem = sound();
    problem["places"][0]["open"] = json!([[50, 90], [7, 7], [0, 50], [10, 20]]);
    let draft = Problem::from_json(&problem.to_string()).unwrap().to_draft();
    assert_eq!(draft.places[0].open, Some(vec![[0, 50], [50, 90]]));
}

#[rstest]
#[case::nothing("")]
#[case::cut_short("{\"format\": \"planning-problem/1\"")]
#[case::a_list("[]")]
#[case::a_number("17")]
fn text_that_is_no_object_is_refused(#[case] text: &str) {
    assert_eq!(Problem::from_json(text).unwrap_err().list()[0].field, "problem");
}

#[test]
fn deep_nesting_is_refused_without_a_crash() {
    assert!(Problem::from_json(&"[".repeat(200_000)).is_err());
}

/// A list far too long is refused by its number, not entry by entry, and no more faults are kept than
/// somebody could mend.
#[rstest]
#[case::jobs("/jobs", JOBS_MAX, &["jobs"])]
#[case::clashes("/clashes", CLASHES_MAX, &["clashes"])]
#[case::steps("/jobs/0/steps", STEPS_MAX, &["jobs[0].steps", "jobs[0].fixed.scan", "jobs[0].previous.drive"])]
#[case::options("/jobs/0/steps/1/options", OPTIONS_MAX, &["jobs[0].steps[1].options"])]
#[case::windows("/places/0/open", WINDOWS_MAX, &["places[0].open"])]
fn a_list_that_is_far_too_long_is_refused_as_such(
    #[case] pointer: &str,
    #[case] most: usize,
    #[case] expected: &[&str],
) {
    check_refused(pointer, Value::Array(vec![json!({}); most + 1]), expected);
    let mut problem = sound();
    *problem.pointer_mut(pointer).unwrap() = Value::Array(vec![json!({"id": 1}); most]);
    let faults = Problem::from_json(&problem.to_string()).unwrap_err();
    assert!((1..=FAULTS_MAX).contains(&faults.list().len()), "{}", faults.list().len());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Any value anywhere in a sound problem: read or refused, never a panic, and what is read is
    /// written and read again as the same.
    #[test]
    fn a_value_swapped_for_any_other_is_read_or_refused(
        at in 0_usize..200, with in 0_usize..12,
    ) {
        let mut problem = sound();
        let odd = [json!(null), json!(-1), json!(0), json!(7), json!(i64::MIN), json!(u64::MAX),
            json!(0.5), json!("bay-2"), json!(""), json!([]), json!({}), json!([[3, 1], 5, "x"])];
        let mut left = at;
        swap(&mut problem, &mut left, &odd[with]);
        if let Ok(read) = Problem::from_json(&problem.to_string()) {
            prop_assert_eq!(Problem::from_json(&read.to_json()), Ok(read));
        }
    }

    #[test]
    fn any_text_is_read_or_refused(text in "[\\[\\]{}\",:0-9a-z ]{0,60}") {
        prop_assert!(Problem::from_json(&text).is_err());
    }
}

/// Replaces the value that stands `left` values further on.
fn swap(value: &mut Value, left: &mut usize, with: &Value) {
    if *left == 0 {
        *value = with.clone();
    }
    *left = left.wrapping_sub(1);
    match value {
        Value::Array(list) => list.iter_mut().for_each(|inner| swap(inner, left, with)),
        Value::Object(map) => map.values_mut().for_each(|inner| swap(inner, left, with)),
        _ => {}
    }
}
