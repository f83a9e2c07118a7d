//! The last moves on small invented shops.

use super::finished;
use crate::planner::board::{Board, Worth};
use crate::planner::polish::previous_placements;
use crate::planner::shop::Shop;
use crate::planner::{Plan, Problem, bound, stood};

/// Three vehicles in one bay, ten minutes each, that stood at 0, 10 and 20.
fn problem(weights: [i64; 3]) -> Problem {
    let job = |(at, weight): (usize, i64)| {
        format!(
            r#"{{"id": "{at}", "weight": {weight}, "due": 0, "steps": [{{"id": "scan", "options": [{{"minutes": 10, "place": "bay-1"}}]}}],
                "previous": {{"scan": {{"start": {}, "option": 0, "uses": []}}}}}}"#,
            10 * at
        )
    };
    let jobs: Vec<String> = weights.into_iter().enumerate().map(job).collect();
    let text = format!(
        r#"{{"format": "planning-problem/1", "name": "three", "horizon": 100, "places": [{{"id": "bay-1"}}],
            "resources": [], "cost": {{"lateness": 1, "change": 60}}, "jobs": [{}]}}"#,
        jobs.join(",")
    );
    Problem::from_json(&text).unwrap()
}

/// Finishes the plan in which they stand at these minutes.
fn finish(problem: &Problem, starts: [i64; 3], epochs: u64) -> Worth {
    let jobs: Vec<String> = (0..3)
        .map(|at| {
            format!(
                r#"{{"id": "{at}", "steps": [{{"id": "scan", "start": {}, "option": 0, "uses": []}}]}}"#,
                starts[at]
            )
        })
        .collect();
    let text = format!(
        r#"{{"format": "planning-plan/1", "status": "feasible", "jobs": [{}]}}"#,
        jobs.join(",")
    );
    let standing = stood::standings(problem, &Plan::from_json(&text).unwrap()).unwrap();
    let shop = Shop::new(problem);
    let (previous, alone) = (previous_placements(&shop), bound::alone(problem, 1));
    let board = Board::with(&shop, &standing);
    let (worth, standing) = finished(board, &alone.least, &previous, 1, epochs);
    assert_eq!(Board::with(&shop, &standing).worth(), worth);
    worth
}

#[test]
fn vehicles_that_changed_places_in_a_ring_change_back() {
    let problem = problem([1, 1, 1]);
    // By hand: 10 + 20 + 30 minutes late in any order, and 60 for each change.
    assert_eq!(finish(&problem, [10, 20, 0], 0), Worth { missing: 0, cost: 60 + 180 });
    assert_eq!(finish(&problem, [10, 20, 0], 1), Worth { missing: 0, cost: 60 });
}

#[test]
fn a_change_that_pays_stays() {
    let problem = problem([1, 1, 20]);
    // By hand: the heavy one first, 20 * 10 + 20 + 30 and 180 or, with the second left at 10, 20 * 10 + 20 + 30 and 120;
    // as before, 10 + 20 + 20 * 30.
    let kept = Worth { missing: 0, cost: 200 + 20 + 30 + 120 };
    assert_eq!(finish(&problem, [20, 10, 0], 1), kept);
    assert_eq!(finish(&problem, [10, 20, 0], 1), kept);
}
