//! What a plan changed, counted by hand; all figures are invented.

use super::{Roles, Steadiness, steadiness};
use crate::planner::{Plan, Problem, cost_less_changes, cost_of};
use rstest::rstest;

/// One vehicle whose scan is done, and another one with a scan and an aim to come.
const PROBLEM: &str = r#"{
  "format": "planning-problem/1", "name": "event", "now": 20, "horizon": 200,
  "places": [{"id": "bay-1 front"}, {"id": "bay-1 rear"}, {"id": "bay-2 front"}],
  "resources": [{"id": "tech-1"}, {"id": "tech-2"}, {"id": "frame-1"}, {"id": "frame-2"}],
  "cost": {"finish": 1, "change": 60},
  "jobs": [
    {"id": "A", "steps": [{"id": "scan", "options": [{"minutes": 10, "needs": [["tech-1"]]}]}],
     "fixed": {"scan": {"start": 0, "option": 0, "uses": ["tech-1"]}},
     "previous": {"scan": {"start": 0, "option": 0, "uses": ["tech-1"]}}},
    {"id": "B", "leave_out_cost": 9000, "steps": [
      {"id": "scan", "options": [{"minutes": 10, "needs": [["tech-1", "tech-2"]]}]},
      {"id": "aim", "options": [
        {"minutes": 30, "place": "bay-1 front", "needs": [["tech-1", "tech-2"], ["frame-1", "frame-2"]]},
        {"minutes": 30, "place": "bay-1 rear", "needs": [["tech-1", "tech-2"], ["frame-1", "frame-2"]]},
        {"minutes": 30, "place": "bay-2 front", "needs": [["tech-1", "tech-2"], ["frame-1", "frame-2"]]}]}],
     "previous": {"scan": {"start": 20, "option": 0, "uses": ["tech-1"]},
                  "aim": {"start": 30, "option": 0, "uses": ["tech-1", "frame-1"]}}}
  ]
}"#;

fn plan(b: &str) -> Plan {
    let text = format!(
        r#"{{"format": "planning-plan/1", "status": "feasible", "jobs": [
            {{"id": "A", "steps": [{{"id": "scan", "start": 0, "option": 0, "uses": ["tech-1"]}}]}}, {b}]}}"#
    );
    Plan::from_json(&text).unwrap()
}

fn two_steps(scan: (i64, &str), aim: (i64, usize, &str)) -> String {
    let ((scan, who), (start, option, uses)) = (scan, aim);
    format!(
        r#"{{"id": "B", "steps": [{{"id": "scan", "start": {scan}, "option": 0, "uses": ["{who}"]}},
            {{"id": "aim", "start": {start}, "option": {option}, "uses": [{uses}]}}]}}"#
    )
}

const ALL: Steadiness = Steadiness {
    steps: 3,
    open: 2,
    changed: 0,
    left_out: 0,
    shift_minutes: 0,
    technician_changes: 0,
    bay_changes: 0,
};

#[rstest]
#[case::as_before(&two_steps((20, "tech-1"), (30, 0, r#""tech-1", "frame-1""#)), ALL, 0.0)]
#[case::later(&two_steps((20, "tech-1"), (45, 0, r#""tech-1", "frame-1""#)),
    Steadiness { changed: 1, shift_minutes: 15, ..ALL }, 50.0)]
#[case::another_frame(&two_steps((20, "tech-1"), (30, 0, r#""tech-1", "frame-2""#)),
    Steadiness { changed: 1, ..ALL }, 50.0)]
#[case::another_pose_in_the_same_bay(&two_steps((20, "tech-1"), (30, 1, r#""tech-1", "frame-1""#)),
    Steadiness { changed: 1, ..ALL }, 50.0)]
#[case::another_bay_and_technician(&two_steps((25, "tech-2"), (40, 2, r#""tech-2", "frame-1""#)),
    Steadiness { changed: 2, shift_minutes: 15, technician_changes: 2, bay_changes: 1, ..ALL }, 100.0)]
#[case::left_out(r#"{"id": "B", "left_out": true}"#,
    Steadiness { changed: 2, left_out: 2, ..ALL }, 100.0)]
fn what_changed_is_counted(#[case] job: &str, #[case] expected: Steadiness, #[case] percent: f64) {
    let problem = Problem::from_json(PROBLEM).unwrap();
    let plan = plan(job);
    let found = steadiness(&problem, &plan, Roles::by_id()).unwrap();
    assert_eq!(found, expected);
    assert!((found.changed_percent() - percent).abs() < 1e-9);
    let paid = 60 * i64::try_from(expected.changed).unwrap();
    let cost = cost_of(&problem, &plan).unwrap();
    assert_eq!(cost_less_changes(&problem, &plan), Ok(cost - paid));
}

#[rstest]
#[case::of_a_shop("bay 1/rear-mark", "bay 1")]
#[case::of_a_file("bay-1 nose-in", "bay-1")]
#[case::of_one_pose("bay-1", "bay-1")]
fn the_bay_is_told_by_the_place(#[case] place: &str, #[case] bay: &str) {
    assert_eq!((Roles::by_id().bay_of)(place), bay);
}

#[test]
fn a_plan_of_another_problem_is_refused() {
    let problem = Problem::from_json(PROBLEM).unwrap();
    let stray = Plan::from_json(
        r#"{"format": "planning-plan/1", "status": "feasible", "jobs": [{"id": "C", "left_out": true}]}"#,
    );
    let refusal = steadiness(&problem, &stray.unwrap(), Roles::by_id()).unwrap_err();
    assert_eq!(refusal.to_string(), "job C is unknown or stands twice");
}
