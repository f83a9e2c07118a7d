//! Plans after an event on generated days: every rule is kept, no answer is worse than right shift, and nothing moves
//! without need.
#![cfg(test)]

use baywright_core::planner::{
    Plan, PlanStatus, Problem, SolveOptions, cost_of, right_shift, solve,
};
use baywright_tests::events::{EVENTS, Event, after};
use baywright_tests::generator::{Shape, problem};
use baywright_tests::referee::{Verdict, judge};
use baywright_tests::right_shift::right_shift as shifted_by_hand;

/// The generated days, with how many jobs.
const DAYS: [(u64, usize); 6] = [(0, 6), (1, 10), (2, 14), (3, 18), (4, 22), (5, 26)];

fn plan(text: &str, epochs: u64) -> Plan {
    let problem = Problem::from_json(text).unwrap();
    solve(&problem, SolveOptions { seed: 5, threads: 1, epochs: Some(epochs) }, &mut |_| false)
        .unwrap()
}

/// Every event of every day, with its name.
fn days_after() -> impl Iterator<Item = (String, Event, String)> {
    DAYS.into_iter().flat_map(|(seed, jobs)| {
        let day = problem(Shape::Day { jobs }, seed);
        let plan = plan(&day, 3).to_json();
        EVENTS.into_iter().map(move |event| {
            let text = after(&day, &plan, event, seed).unwrap();
            (format!("{event:?} on day {seed}"), event, text)
        })
    })
}

#[track_caller]
fn check_kept_rules(text: &str, plan: &Plan, name: &str) -> i64 {
    let verdict = judge(text, &plan.to_json()).unwrap();
    assert_eq!(verdict.broken, [], "{name}: {text}\n{}", plan.to_json());
    i64::try_from(verdict.cost).unwrap()
}

#[test]
fn the_first_answer_keeps_every_rule_and_is_no_worse_than_right_shift() {
    let (mut impossible, mut repaired, mut by_hand) = (0, 0, 0);
    for (name, _, text) in days_after() {
        let first = plan(&text, 0);
        if first.status == PlanStatus::Impossible {
            impossible += 1;
            continue;
        }
        let cost = check_kept_rules(&text, &first, &name);
        let searched = plan(&text, 2);
        assert!(check_kept_rules(&text, &searched, &name) <= cost, "{name}");
        if let Some(shifted) = right_shift(&Problem::from_json(&text).unwrap()) {
            repaired += 1;
            assert!(cost <= check_kept_rules(&text, &shifted, &name), "{name}");
        }
        // Where somebody must be left out who may not be, right shift gives no plan to compare with.
        let other = shifted_by_hand(&text).unwrap();
        let verdict = judged_with_its_cost(&text, &other);
        if verdict.broken.is_empty() {
            by_hand += 1;
            assert!(i128::from(cost) <= verdict.cost, "{name}: {cost} and {}", verdict.cost);
        }
    }
    let all = DAYS.len() * EVENTS.len() - impossible;
    // A comparison that is hardly ever made would prove nothing.
    assert!(
        all >= 30 && repaired * 4 >= all * 3 && by_hand * 2 >= all,
        "{repaired} {by_hand} {all}"
    );
}

#[test]
fn when_nothing_happened_a_step_changes_only_where_the_cost_falls() {
    let mut kept = 0;
    for (name, _, text) in days_after().filter(|(_, event, _)| *event == Event::Nothing) {
        let problem = Problem::from_json(&text).unwrap();
        let before = previous_plan(&problem);
        let unchanged = cost_of(&problem, &before).unwrap();
        for epochs in [0, 5] {
            let after = plan(&text, epochs);
            let cost = check_kept_rules(&text, &after, &name);
            assert!(cost <= unchanged, "{name}");
            if cost == unchanged {
                assert_eq!(starts(&after), starts(&before), "{name}, {epochs} epochs");
                kept += 1;
            }
        }
    }
    assert!(kept >= DAYS.len(), "{kept}");
}

/// Judges a plan that states no cost as if it stated the right one.
fn judged_with_its_cost(text: &str, plan: &str) -> Verdict {
    let cost = judge(text, plan).unwrap().cost;
    let mut stated: serde_json::Value = serde_json::from_str(plan).unwrap();
    stated["cost"] = serde_json::json!(i64::try_from(cost).unwrap());
    judge(text, &stated.to_string()).unwrap()
}

/// The previous plan that a problem names.
fn previous_plan(problem: &Problem) -> Plan {
    let draft = problem.to_draft();
    let jobs: Vec<_> = draft
        .jobs
        .iter()
        .map(|job| {
            let steps: Vec<_> = job
                .previous
                .iter()
                .map(|(id, was)| {
                    serde_json::json!({"id": id, "start": was.start, "option": was.option,
                        "uses": was.uses})
                })
                .collect();
            serde_json::json!({"id": job.id, "left_out": steps.is_empty(), "steps": steps})
        })
        .collect();
    let text = serde_json::json!({"format": "planning-plan/1", "status": "feasible", "jobs": jobs});
    Plan::from_json(&text.to_string()).unwrap()
}

/// Per job and step the start, in an order of its own.
fn starts(plan: &Plan) -> Vec<(String, String, i64)> {
    let steps = plan
        .jobs
        .iter()
        .flat_map(|job| job.steps.iter().map(|step| (job.id.clone(), step.id.clone(), step.start)));
    let mut steps: Vec<_> = steps.collect();
    steps.sort();
    steps
}
