//! A referee that never complains is a defect: for each rule a plan that breaks it, made by hand.

use super::{Rule, judge};
use rstest::rstest;
use serde_json::{Value, json};

/// Two jobs, two clashing bays, a third one apart. J1 is scanned in bay-1 and, 20 minutes of cure
/// later, aimed there; J2 is driven on the road. "done" is a fixed step of J3 in bay-3.
fn problem() -> Value {
    json!({
        "format": "planning-problem/1", "name": "hand-made", "now": 10, "horizon": 400,
        "places": [
            {"id": "bay-1", "open": [[0, 200], [200, 400]]}, {"id": "bay-2"}, {"id": "bay-3"}
        ],
        "resources": [
            {"id": "ines", "open": [[0, 120], [150, 400]]}, {"id": "omar"}, {"id": "frame"}
        ],
        "clashes": [["bay-1", "bay-2"]],
        "jobs": [
            {
                "id": "J1", "release": 20, "due": 100, "weight": 3, "move_minutes": 5,
                "steps": [
                    {"id": "scan", "options": [
                        {"minutes": 10, "place": "bay-1", "needs": [["ines", "omar"]]},
                        {"minutes": 10, "place": "bay-3", "needs": [["ines", "omar"]]},
                    ]},
                    {"id": "aim", "after": {"scan": 20}, "release": 30, "options": [
                        {"minutes": 30, "place": "bay-1", "starts": [[0, 300]],
                         "needs": [["ines", "omar"], ["ines", "frame"]]},
                    ]},
                ],
                "previous": {"scan": {"start": 20, "option": 0, "uses": ["omar"]}},
            },
            {
                "id": "J2", "leave_out_cost": 5000,
                "steps": [
                    {"id": "drive", "options": [
                        {"minutes": 40, "needs": [["ines", "omar"]]},
                        {"minutes": 40, "place": "bay-2", "needs": [["omar"]]},
                        {"minutes": 40, "place": "bay-1", "needs": [["omar"]]},
                    ]},
                ],
            },
            {
                "id": "J3", "leave_out_cost": 1,
                "steps": [{"id": "done", "options": [
                    {"minutes": 10, "place": "bay-3", "needs": [["frame"]]}]}],
                "fixed": {"done": {"start": 60, "minutes": 5, "option": 0, "uses": ["frame"]}},
            },
        ],
        "cost": {"lateness": 100, "finish": 1, "move": 20, "change": 7, "makespan": 2},
    })
}

/// A plan that keeps every rule. J1 finishes at 110: 10 late at weight 3; J2 at 190; J3 at 65.
fn plan() -> Value {
    json!({
        "format": "planning-plan/1", "cost": 3000 + 110 + 190 + 65 + 2 * 190, "bound": 0,
        "status": "feasible", "seed": 1, "threads": 1, "epochs": 0,
        "jobs": [
            {"id": "J1", "steps": [
                {"id": "scan", "start": 20, "option": 0, "uses": ["omar"]},
                {"id": "aim", "start": 80, "option": 0, "uses": ["ines", "frame"]},
            ]},
            {"id": "J2", "steps": [{"id": "drive", "start": 150, "option": 0, "uses": ["ines"]}]},
            {"id": "J3", "steps": [{"id": "done", "start": 60, "option": 0, "uses": ["frame"]}]},
        ],
    })
}

/// The rules that are broken once a value of the plan is another one, the stated cost apart.
#[track_caller]
fn check_broken(changes: &[(&str, Value)], expected: &[Rule]) {
    let mut plan = plan();
    for (pointer, value) in changes {
        *plan.pointer_mut(pointer).unwrap() = value.clone();
    }
    let verdict = judge(&problem().to_string(), &plan.to_string()).unwrap();
    let mut rules: Vec<Rule> = verdict.broken.iter().map(|broken| broken.rule).collect();
    rules.retain(|rule| *rule != Rule::StatedCost);
    rules.sort_unstable();
    rules.dedup();
    assert_eq!(rules, expected, "{:?}", verdict.broken);
}

const SCAN: &str = "/jobs/0/steps/0";
const AIM: &str = "/jobs/0/steps/1";
const DRIVE: &str = "/jobs/1/steps/0";
const DONE: &str = "/jobs/2/steps/0";

fn step(id: &str, start: i64, option: i64, uses: &[&str]) -> Value {
    json!({"id": id, "start": start, "option": option, "uses": uses})
}

#[test]
fn a_plan_that_keeps_every_rule_is_passed_with_its_cost() {
    let verdict = judge(&problem().to_string(), &plan().to_string()).unwrap();
    assert_eq!(verdict.broken, []);
    assert_eq!(verdict.cost, 3745);
}

#[rstest]
#[case::unknown_job(&[("/jobs/1/id", json!("J9"))], &[Rule::PlanForm])]
#[case::job_twice(&[("/jobs/1", json!({"id": "J2", "left_out": true})), ("/jobs/2/id", json!("J2"))],
    &[Rule::PlanForm, Rule::LeftOut])]
#[case::step_missing(&[("/jobs/0/steps", json!([]))], &[Rule::PlanForm])]
#[case::no_such_option(&[(SCAN, step("scan", 20, 2, &["omar"]))], &[Rule::PlanForm])]
#[case::half_a_minute(&[("/jobs/0/steps/0/start", json!(20.5))], &[Rule::PlanForm])]
#[case::must_be_planned(&[("/jobs/0", json!({"id": "J1", "left_out": true}))], &[Rule::LeftOut])]
#[case::fixed_left_out(&[("/jobs/2", json!({"id": "J3", "left_out": true}))], &[Rule::LeftOut])]
#[case::fixed_moved(&[(DONE, step("done", 61, 0, &["frame"]))], &[Rule::Fixed])]
#[case::before_now(&[(DRIVE, step("drive", 5, 0, &["ines"]))], &[Rule::Release])]
#[case::before_release(&[(SCAN, step("scan", 19, 0, &["omar"]))], &[Rule::Release])]
#[case::after_the_horizon(&[(DRIVE, step("drive", 361, 1, &["omar"]))],
    &[Rule::Horizon, Rule::PlaceOpen, Rule::ResourceOpen])]
#[case::outside_start_windows(&[(AIM, step("aim", 300, 0, &["ines", "frame"]))], &[Rule::StartWindow])]
#[case::across_two_windows_of_a_place(&[(AIM, step("aim", 190, 0, &["ines", "frame"])),
    (DRIVE, step("drive", 230, 0, &["ines"]))], &[Rule::PlaceOpen])]
#[case::across_a_break(&[(DRIVE, step("drive", 110, 0, &["ines"]))], &[Rule::ResourceOpen])]
#[case::one_resource_for_two_needs(&[(AIM, step("aim", 80, 0, &["ines", "ines"]))], &[Rule::Needs])]
#[case::too_few_resources(&[(AIM, step("aim", 80, 0, &["ines"]))], &[Rule::Needs])]
#[case::resource_of_no_need(&[(SCAN, step("scan", 20, 0, &["frame"]))], &[Rule::Needs])]
#[case::cure_cut_short(&[(AIM, step("aim", 49, 0, &["omar", "ines"])),
    (DONE, step("done", 60, 0, &["frame"]))], &[Rule::Order])]
#[case::two_steps_at_a_time(&[(AIM, step("aim", 30, 0, &["ines", "frame"])),
    (SCAN, step("scan", 35, 0, &["omar"]))], &[Rule::Order, Rule::OneAtATime])]
#[case::no_time_to_move(&[(SCAN, step("scan", 70, 1, &["omar"])),
    (AIM, step("aim", 84, 0, &["ines", "frame"]))], &[Rule::Order, Rule::MoveTime])]
#[case::resource_twice(&[(DRIVE, step("drive", 70, 0, &["ines"]))], &[Rule::ResourceTwice])]
#[case::place_held_while_it_waits(&[(DRIVE, step("drive", 35, 2, &["omar"]))], &[Rule::PlaceTwice])]
#[case::clash_while_it_waits(&[(DRIVE, step("drive", 35, 1, &["omar"]))], &[Rule::Clash])]
#[case::place_of_a_fixed_step(&[(SCAN, step("scan", 56, 1, &["omar"])),
    (AIM, step("aim", 150, 0, &["omar", "frame"])), (DRIVE, step("drive", 200, 0, &["ines"]))],
    &[Rule::PlaceTwice])]
fn a_broken_rule_is_named(#[case] changes: &[(&str, Value)], #[case] expected: &[Rule]) {
    check_broken(changes, expected);
}

#[rstest]
#[case::cost("/cost", json!(3744))]
#[case::bound_above_cost("/bound", json!(3746))]
#[case::proved_without_proof("/status", json!("proved-best"))]
fn a_false_statement_about_the_cost_is_named(#[case] pointer: &str, #[case] value: Value) {
    let mut plan = plan();
    *plan.pointer_mut(pointer).unwrap() = value;
    let verdict = judge(&problem().to_string(), &plan.to_string()).unwrap();
    assert!(verdict.broken.iter().any(|broken| broken.rule == Rule::StatedCost));
}

#[rstest]
#[case::other_start(SCAN, step("scan", 21, 0, &["omar"]), 3745 + 7)]
#[case::other_uses(SCAN, step("scan", 20, 0, &["ines"]), 3745 + 7)]
#[case::other_option_and_a_move(SCAN, step("scan", 20, 1, &["omar"]), 3745 + 7 + 20)]
#[case::later_finish(AIM, step("aim", 81, 0, &["ines", "frame"]), 3745 + 300 + 1)]
#[case::left_out("/jobs/1", json!({"id": "J2", "left_out": true}), 3745 - 190 - 380 + 5000 + 2 * 110)]
fn the_cost_is_added_up_anew(#[case] pointer: &str, #[case] value: Value, #[case] cost: i128) {
    let mut plan = plan();
    *plan.pointer_mut(pointer).unwrap() = value;
    let verdict = judge(&problem().to_string(), &plan.to_string()).unwrap();
    assert_eq!(verdict.cost, cost);
}
