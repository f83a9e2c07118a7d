//! Chains of jobs that go back to where they stood, on small invented shops.

use crate::planner::{Problem, SolveOptions, solve};

#[test]
fn previous_placements_in_each_others_way_push_each_other_only_once() {
    let job = |id: &str, start: i64| {
        format!(
            r#"{{"id": "{id}", "steps": [{{"id": "scan", "options": [{{"minutes": 10, "place": "bay-1"}}]}}],
                "previous": {{"scan": {{"start": {start}, "option": 0, "uses": []}}}}}}"#
        )
    };
    let text = format!(
        r#"{{"format": "planning-problem/1", "name": "both", "horizon": 100, "places": [{{"id": "bay-1"}}],
            "resources": [], "cost": {{"finish": 1, "change": 2}}, "jobs": [{}, {}]}}"#,
        job("A", 15),
        job("B", 16)
    );
    let problem = Problem::from_json(&text).unwrap();
    let options = SolveOptions { seed: 1, threads: 1, epochs: Some(2) };
    let plan = solve(&problem, options, &mut |_| false).unwrap();
    // By hand: both moved, to 0 and 10; one of them left at 15 would cost 25 instead of 22.
    assert_eq!(plan.cost, Some((10 + 2) + (20 + 2)));
}
