//! Plans with one rule broken at a time.

use super::*;
use rstest::rstest;

const PROBLEM: &str = r#"{
  "format": "planning-problem/1", "now": 5, "horizon": 100, "cost": {},
  "places": [{"id": "bay-1", "open": [[0, 60], [60, 100]]}, {"id": "bay-2"}],
  "resources": [{"id": "ines"}, {"id": "omar", "open": [[0, 50]]}],
  "clashes": [["bay-1", "bay-2"]],
  "jobs": [
    {"id": "A", "release": 10, "move_minutes": 5, "steps": [
      {"id": "scan", "options": [{"minutes": 10, "needs": [["ines", "omar"]]}]},
      {"id": "aim", "after": {"scan": 7}, "release": 20,
       "options": [{"minutes": 10, "place": "bay-1", "starts": [[0, 70]], "needs": [["ines"]]}]}]},
    {"id": "B", "leave_out_cost": 5, "steps": [
      {"id": "aim", "options": [{"minutes": 10, "place": "bay-2", "needs": [["omar", "ines"]]}]}]}
  ]
}"#;

fn verdict(scan: (i64, &str), aim: i64, other: Option<(i64, &str)>) -> Result<(), String> {
    let other = match other {
        Some((start, uses)) => format!(
            r#"{{"id": "B", "steps": [{{"id": "aim", "start": {start}, "option": 0, "uses": ["{uses}"]}}]}}"#
        ),
        None => r#"{"id": "B", "left_out": true}"#.to_owned(),
    };
    let plan = format!(
        r#"{{"format": "planning-plan/1", "jobs": [{{"id": "A", "steps": [
            {{"id": "scan", "start": {}, "option": 0, "uses": ["{}"]}},
            {{"id": "aim", "start": {aim}, "option": 0, "uses": ["ines"]}}]}}, {other}]}}"#,
        scan.0, scan.1
    );
    let problem = Problem::from_json(PROBLEM).unwrap();
    let plan = Plan::from_json(&plan).unwrap();
    standings(&problem, &plan).map(|_| ()).map_err(|broken| broken.to_string())
}

#[rstest]
#[case::kept((10, "ines"), 27, Some((40, "omar")), "")]
#[case::left_out((10, "omar"), 27, None, "")]
#[case::before_the_release((9, "ines"), 27, None, "starts at 9")]
#[case::before_the_wait_is_over((10, "ines"), 26, None, "starts at 26")]
#[case::outside_the_start_window((10, "ines"), 70, None, "starts at 70")]
#[case::across_two_windows((10, "ines"), 55, None, "open window of bay-1")]
#[case::another_resource((10, "nobody"), 27, None, "one resource of each group")]
#[case::places_that_clash((10, "ines"), 27, Some((30, "omar")), "meet on bay-1")]
#[case::one_resource_twice((10, "omar"), 27, Some((5, "omar")), "meet on omar")]
#[case::away((10, "ines"), 27, Some((45, "omar")), "open window of omar")]
#[case::past_the_horizon((10, "ines"), 27, Some((95, "ines")), "within its time")]
fn a_plan_is_taken_only_when_it_keeps_every_rule(
    #[case] scan: (i64, &str),
    #[case] aim: i64,
    #[case] other: Option<(i64, &str)>,
    #[case] expected: &str,
) {
    let verdict = verdict(scan, aim, other);
    match expected {
        "" => assert_eq!(verdict, Ok(())),
        part => assert!(verdict.as_ref().is_err_and(|why| why.contains(part)), "{verdict:?}"),
    }
}

#[test]
fn a_job_that_must_be_planned_is_not_left_out() {
    let problem = Problem::from_json(PROBLEM).unwrap();
    let plan = Plan::from_json(
        r#"{"format": "planning-plan/1", "jobs": [{"id": "A", "left_out": true}]}"#,
    );
    let refused = standings(&problem, &plan.unwrap()).unwrap_err();
    assert_eq!(refused, BrokenRule::MustBePlanned("A".to_owned()));
}
