//! Bounds of generated problems: against every plan tried, against their own certificates, and over time.
#![cfg(test)]

use baywright_core::planner::{
    LeastCost, Plan, PlanStatus, Problem, SolveOptions, least_cost, solve,
};
use baywright_tests::generator::{Shape, cases, problem};
use baywright_tests::referee::{cheapest, derive, judge};
use rstest::rstest;

fn plan(text: &str, epochs: u64) -> Option<Plan> {
    let problem = Problem::from_json(text).unwrap();
    let options = SolveOptions { seed: 5, threads: 1, epochs: Some(epochs) };
    solve(&problem, options, &mut |_| false).ok().filter(|p| p.status != PlanStatus::Impossible)
}

/// Ten thousand problems by chance in all, shared out so that they run side by side.
#[rstest]
#[case::first(0)]
#[case::second(1)]
#[case::third(2)]
#[case::fourth(3)]
fn the_exact_search_finds_and_proves_the_cheapest_of_every_plan(#[case] share: u64) {
    let (mut proved, mut planned, mut not_covered) = (0, 0, 0);
    let mut underived = Vec::new();
    let from = 1000 + share * 1_000_000;
    let count = cases(2_500);
    for seed in from..from + count {
        let text = problem(Shape::Tiny, seed);
        let optimum = cheapest(&text).unwrap();
        // The rules that close a problem, without the prices and the search that mostly come first.
        let expected = optimum
            .map_or(LeastCost::NoPlan, |cost| LeastCost::Proved(i64::try_from(cost).unwrap()));
        match least_cost(&Problem::from_json(&text).unwrap(), 100_000_000) {
            LeastCost::NotCovered => not_covered += 1,
            least => assert_eq!(least, expected, "{seed}: {text}"),
        }
        let Some(plan) = plan(&text, 60) else { continue };
        let optimum = optimum.unwrap();
        let (cost, bound) = (i128::from(plan.cost.unwrap()), i128::from(plan.bound.unwrap()));
        assert_eq!(judge(&text, &plan.to_json()).unwrap().broken, [], "{seed}: {text}");
        assert!(bound <= optimum, "{seed}: bound {bound}, optimum {optimum}: {text}");
        planned += 1;
        if plan.status == PlanStatus::ProvedBest {
            assert_eq!(cost, optimum, "{seed}: {text}");
            let derived = derive(&text, &plan.to_json());
            if derived != Ok(optimum) {
                underived.push((seed, optimum, derived));
            }
            proved += 1;
        } else {
            println!("{seed}: cost {cost}, bound {bound}, optimum {optimum}");
        }
    }
    println!("{planned} planned, {proved} proved; {not_covered} not covered by the rules");
    assert_eq!(underived, []);
    assert!(not_covered * 25 < count, "{not_covered}");
    assert!(planned > 50 && proved * 100 >= planned * 95, "{planned} {proved}");
}

#[test]
fn a_longer_search_never_weakens_the_bound() {
    for seed in 0..12 {
        let text = problem(Shape::Nasty, seed);
        let bounds: Vec<i64> =
            [0, 2, 8, 20].iter().filter_map(|epochs| plan(&text, *epochs)?.bound).collect();
        assert!(bounds.is_sorted(), "{seed}: {bounds:?}");
    }
}

#[test]
fn a_job_that_ended_before_now_raises_no_bound() {
    // The first job cost 40 when it ended at 40; now is 100, and nothing of it is left to do.
    let text = r#"{
        "format": "planning-problem/1", "name": "done", "now": 100, "horizon": 300,
        "places": [{"id": "bay-1"}], "resources": [], "cost": {"finish": 1},
        "jobs": [
            {"id": "done", "steps": [{"id": "scan", "options": [{"minutes": 40, "place": "bay-1"}]}],
             "fixed": {"scan": {"start": 0, "minutes": 40, "option": 0, "uses": []}}},
            {"id": "open", "steps": [{"id": "scan", "options": [{"minutes": 20, "place": "bay-1"}]}]}
        ]
    }"#;
    let plan = plan(text, 20).unwrap();
    assert_eq!((plan.cost, plan.bound), (Some(40 + 120), Some(40 + 120)));
}

/// Two fixed steps are not checked against each other: a move between them may take less than a move's minutes.
#[test]
fn a_short_move_between_fixed_steps_hurries_no_other_step() {
    let text = r#"{
        "format": "planning-problem/1", "name": "hurried", "horizon": 40,
        "places": [{"id": "bay-1"}, {"id": "bay-2"}], "resources": [], "cost": {"finish": 1},
        "jobs": [{"id": "J1", "move_minutes": 9, "steps": [
            {"id": "scan", "options": [{"minutes": 6, "place": "bay-1", "starts": [[0, 3]]}], "after": {}},
            {"id": "aim", "options": [{"minutes": 4, "place": "bay-1"}], "after": {}},
            {"id": "drive", "options": [{"minutes": 5, "place": "bay-2"}], "after": {}}
        ], "fixed": {"aim": {"start": 8, "minutes": 4, "option": 0, "uses": []},
                     "drive": {"start": 12, "minutes": 5, "option": 0, "uses": []}}}]
    }"#;
    assert_eq!(cheapest(text).unwrap(), Some(17));
    let least = least_cost(&Problem::from_json(text).unwrap(), 100_000_000);
    assert_eq!(least, LeastCost::Proved(17));
}
