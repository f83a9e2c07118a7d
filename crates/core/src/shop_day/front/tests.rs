//! What steadiness costs the invented shop, by hand.

use super::*;
use crate::example_shop::*;
use crate::ids::JobId;
use crate::run_times::BoundRuns;
use crate::shop_day::{HostsByDay, plan_day};
use crate::work::Job;
use std::collections::BTreeSet;

const OPTIONS: SolveOptions = SolveOptions { seed: 1, threads: 1, epochs: Some(4) };

/// A job of a scan and a radar, half an hour each.
fn job(id: &str, promise: &str) -> Job {
    let mut job = accepted_job(&["front-bumper-removed"]);
    job.id = JobId::new(id).unwrap();
    job.promise_at = at(promise);
    job
}

#[test]
fn the_front_goes_from_the_cheapest_plan_to_the_steadiest() {
    let mut draft = definition_draft();
    draft.bays = vec![empty_bay()];
    let shop = crate::shop::ShopDefinition::new(draft).unwrap();
    let state = ShopState {
        shop: &shop,
        jobs: &[job("RO-1", "09:10"), job("RO-2", "17:00")],
        hosts: &HostsByDay::always(hosts_of(&["front-radar"], &["bay-1"])),
        clashes: &BTreeSet::new(),
        runs: &BoundRuns::default(),
        closed: &[],
        holds: &[],
        previous: &[],
        now: at("08:00"),
        days: 1,
    };
    let standing = plan_day(&state, OPTIONS, &mut |_| false).unwrap();
    assert_eq!(standing.steadiness(), Steadiness::default(), "nothing stood before");

    // Nothing has happened: the same plan at every price.
    let unchanged = ShopState { previous: &standing.assignments, ..state };
    let points = front(&unchanged, OPTIONS, &mut |_, _| false).unwrap();
    let factors: Vec<i64> = points.iter().map(|point| point.factor).collect();
    assert_eq!(factors, FRONT_FACTORS);
    for point in &points {
        let tasks = standing.assignments.len();
        let expected = Steadiness { steps: tasks, open: tasks, ..Steadiness::default() };
        assert_eq!((point.steadiness, Some(point.cost)), (expected, standing.plan.cost));
    }

    // The one promised late is now promised first; the one in the one bay first was the other.
    let urgent = [job("RO-1", "17:00"), job("RO-2", "09:10")];
    let turned = ShopState { jobs: &urgent, ..unchanged };
    let points = front(&turned, OPTIONS, &mut |_, _| false).unwrap();
    let changed: Vec<usize> = points.iter().map(|point| point.steadiness.changed).collect();
    assert!(changed[0] > 0 && changed.is_sorted_by(|one, next| one >= next), "{changed:?}");
    let cost: Vec<i64> = points.iter().map(|point| point.outcome.cost_less_changes).collect();
    assert!(cost.is_sorted(), "{cost:?}");
    // RO-2's radar can be over at 9:10; behind that of RO-1 it would be at 9:40.
    assert_eq!(points[0].outcome.late_minutes, 0);
    let again = plan_day(&turned, OPTIONS, &mut |_| false).unwrap();
    assert_eq!(again.steadiness(), points[1].steadiness, "a plan tells what its point tells");
}
