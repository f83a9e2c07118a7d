//! The front on a small invented day that can be worked out by hand.

use super::{FRONT_FACTORS, FrontError, front};
use crate::planner::{Problem, Roles, SolveOptions};

const OPTIONS: SolveOptions = SolveOptions { seed: 1, threads: 1, epochs: Some(3) };

/// Two vehicles in one bay, the longer one first in the previous plan. The other way round the finishes sum to
/// 10 + 40 instead of 30 + 40, for two changed steps.
fn day(change: i64) -> Problem {
    let text = format!(
        r#"{{"format": "planning-problem/1", "name": "front", "horizon": 100,
        "places": [{{"id": "bay-1"}}], "resources": [], "cost": {{"finish": 1, "change": {change}}},
        "jobs": [
          {{"id": "A", "steps": [{{"id": "aim", "options": [{{"minutes": 30, "place": "bay-1"}}]}}],
           "previous": {{"aim": {{"start": 0, "option": 0}}}}}},
          {{"id": "B", "steps": [{{"id": "aim", "options": [{{"minutes": 10, "place": "bay-1"}}]}}],
           "previous": {{"aim": {{"start": 30, "option": 0}}}}}}
        ]}}"#
    );
    Problem::from_json(&text).unwrap()
}

#[test]
fn what_is_worth_changing_depends_on_the_price_of_a_change() {
    // Two changes save 20: at 4 each they pay, at four times 4 they do not.
    let points = front(&day(4), &FRONT_FACTORS, OPTIONS, Roles::by_id(), &mut |_, _| false);
    let points = points.unwrap();
    let told: Vec<_> = points
        .iter()
        .map(|point| {
            let changed = point.steadiness.changed;
            (point.factor, point.plan.cost, point.cost_less_changes, changed)
        })
        .collect();
    assert_eq!(told, [(0, Some(58), 50, 2), (1, Some(58), 50, 2), (4, Some(70), 70, 0)]);
}

#[test]
fn a_factor_past_the_limit_of_a_price_is_refused() {
    let refused = front(&day(4), &[i64::MAX], OPTIONS, Roles::by_id(), &mut |_, _| false);
    assert!(matches!(refused, Err(FrontError::Factor { .. })), "{refused:?}");
    assert!(refused.unwrap_err().to_string().contains("cost.change"));
}
