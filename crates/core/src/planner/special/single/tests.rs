//! One machine: what is recognised, and that the search finds the best of all orders.

use super::{Single, Walk};
use crate::planner::problem::Problem;
use crate::planner::seeded::Seeded;
use proptest::prelude::*;
use rstest::rstest;
use serde_json::{Value, json};

fn machine() -> Value {
    let job = |id: &str, minutes: i64, due: i64, weight: i64| {
        json!({"id": id, "due": due, "weight": weight, "steps": [{"id": "s", "options": [
            {"minutes": minutes, "place": "bay-1", "needs": [["ines"]]}]}]})
    };
    json!({
        "format": "planning-problem/1", "name": "one machine", "horizon": 20,
        "places": [{"id": "bay-1"}, {"id": "bay-2", "open": []}],
        "resources": [{"id": "ines", "open": [[-5, 9]]}, {"id": "omar"}],
        "jobs": [job("A", 3, 4, 2), job("B", 4, 4, 1), job("C", 2, 0, 5)],
        "cost": {"lateness": 1}
    })
}

fn problem(value: &Value) -> Problem {
    Problem::from_json(&value.to_string()).unwrap()
}

#[test]
fn jobs_of_one_step_at_one_place_with_one_person_are_one_machine() {
    assert!(Single::of(&problem(&machine())).is_some());
}

#[rstest]
#[case::released_later("/jobs/0/release", json!(1))]
#[case::step_released_later("/jobs/0/steps/0/release", json!(1))]
#[case::may_be_left_out("/jobs/0/leave_out_cost", json!(5))]
#[case::two_steps("/jobs/0/steps/1", json!({"id": "t", "options": [{"minutes": 1}]}))]
#[case::two_options("/jobs/0/steps/0/options/1", json!({"minutes": 1}))]
#[case::nowhere("/jobs/0/steps/0/options/0", json!({"minutes": 1}))]
#[case::elsewhere("/jobs/0/steps/0/options/0/place", json!("bay-2"))]
#[case::a_choice_of_people("/jobs/0/steps/0/options/0/needs/0/1", json!("omar"))]
#[case::a_start_window("/jobs/0/steps/0/options/0/starts", json!([[0, 20]]))]
#[case::fixed("/jobs/0/fixed", json!({"s": {"start": 0, "option": 0, "uses": ["ines"]}}))]
#[case::closed_in_between("/resources/0/open", json!([[0, 4], [4, 9]]))]
#[case::closed_too_early("/resources/0/open", json!([[0, 8]]))]
#[case::too_short("/horizon", json!(8))]
fn what_ties_a_job_to_more_than_the_order_is_not_taken_for_one_machine(
    #[case] pointer: &str,
    #[case] value: Value,
) {
    let mut changed = machine();
    let (parent, key) = pointer.rsplit_once('/').unwrap();
    match changed.pointer_mut(parent).unwrap() {
        Value::Array(list) if key == "1" && list.len() == 1 => list.push(value),
        Value::Array(list) => list[key.parse::<usize>().unwrap()] = value,
        object => object[key] = value,
    }
    assert_eq!(Single::of(&problem(&changed)), None);
}

#[test]
fn a_change_that_costs_is_not_taken_for_one_machine() {
    let mut before = machine();
    before["jobs"][0]["previous"] = json!({"s": {"start": 0, "option": 0, "uses": ["ines"]}});
    assert!(Single::of(&problem(&before)).is_some());
    before["cost"]["change"] = json!(1);
    assert_eq!(Single::of(&problem(&before)), None);
}

/// The least cost of all orders of the jobs that are left.
fn cheapest(single: &Single, order: &mut Vec<usize>) -> i64 {
    let left: Vec<usize> = (0..single.tasks.len()).filter(|job| !order.contains(job)).collect();
    if left.is_empty() {
        return single.cost_of(order);
    }
    let each = left.into_iter().map(|job| {
        order.push(job);
        let cost = cheapest(single, order);
        order.pop();
        cost
    });
    each.min().unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]
    #[test]
    fn the_search_finds_the_best_of_all_orders(
        jobs in prop::collection::vec((1_i64..9, 0_i64..30, 0_i64..6), 2..7),
        finish in 0_i64..2,
        now in -3_i64..4,
        seed in any::<u64>(),
    ) {
        let list: Vec<Value> = jobs.iter().enumerate().map(|(at, (minutes, due, weight))| {
            json!({"id": at.to_string(), "due": due, "weight": weight, "steps": [
                {"id": "s", "options": [{"minutes": minutes, "needs": [["m"]]}]}]})
        }).collect();
        let text = json!({"format": "planning-problem/1", "horizon": 100, "now": now,
            "places": [], "resources": [{"id": "m", "open": [[-9, 100]]}], "jobs": list,
            "cost": {"lateness": 3, "finish": finish}});
        let single = Single::of(&problem(&text)).unwrap();
        let least = cheapest(&single, &mut Vec::new());
        let mut walk = Walk::new(&single, Seeded::new(seed, 0));
        walk.epoch(&single, least);
        let (cost, order) = walk.best();
        prop_assert_eq!(cost, least);
        prop_assert_eq!(single.cost_of(order), cost);
    }
}
