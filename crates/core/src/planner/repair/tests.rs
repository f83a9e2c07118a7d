//! Right shift by hand on small invented days.

use super::right_shift;
use crate::planner::Problem;
use rstest::rstest;

/// Three vehicles in turn with one technician; each is scanned outside and aimed in the one bay. The first scan is
/// `minutes` long in fact.
fn day(minutes: i64, open: &str, horizon: i64) -> Problem {
    let job = |id: &str, fixed: &str, scan: i64| {
        let aim = scan + 20;
        format!(
            r#"{{"id": "{id}", "leave_out_cost": 5000, "steps": [
                {{"id": "scan", "options": [{{"minutes": 10, "needs": [["tech-1", "tech-2"]]}}]}},
                {{"id": "aim", "options": [{{"minutes": 20, "place": "bay-1", "needs": [["tech-1", "tech-2"]]}}]}}],
              "previous": {{"scan": {{"start": {scan}, "option": 0, "uses": ["tech-1"]}},
                            "aim": {{"start": {aim}, "option": 0, "uses": ["tech-2"]}}}}{fixed}}}"#
        )
    };
    let fixed = format!(
        r#", "fixed": {{"scan": {{"start": 0, "minutes": {minutes}, "option": 0, "uses": ["tech-1"]}}}}"#
    );
    let jobs = [job("A", &fixed, 0), job("B", "", 20), job("C", "", 60)].join(",");
    let text = format!(
        r#"{{"format": "planning-problem/1", "name": "shift", "now": 5, "horizon": {horizon},
            "places": [{{"id": "bay-1", "open": {open}}}],
            "resources": [{{"id": "tech-1"}}, {{"id": "tech-2"}}],
            "cost": {{"finish": 1, "change": 60}}, "jobs": [{jobs}]}}"#
    );
    Problem::from_json(&text).unwrap()
}

/// The starts of scan and aim of the three vehicles, by hand: what no longer fits starts as soon as its
/// technician, its bay and its own vehicle allow, and no sooner than before.
#[rstest]
#[case::nothing_happened(10, "[[0, 400]]", [[0, 20], [20, 40], [60, 80]])]
#[case::an_overrun_within_the_slack(20, "[[0, 400]]", [[0, 20], [20, 40], [60, 80]])]
#[case::an_overrun_pushes_the_next(35, "[[0, 400]]", [[0, 35], [35, 55], [60, 80]])]
#[case::an_overrun_pushes_all(70, "[[0, 400]]", [[0, 70], [70, 90], [80, 110]])]
#[case::the_bay_is_closed(10, "[[0, 30], [100, 400]]", [[0, 100], [20, 120], [60, 140]])]
fn what_no_longer_fits_is_pushed_on(
    #[case] minutes: i64,
    #[case] open: &str,
    #[case] expected: [[i64; 2]; 3],
) {
    let plan = right_shift(&day(minutes, open, 400)).unwrap();
    let starts = plan.jobs.iter().map(|job| job.steps.iter().map(|step| step.start).collect());
    let starts: Vec<Vec<i64>> = starts.collect();
    assert_eq!(starts, expected.map(|pair| pair.to_vec()).to_vec());
    for step in plan.jobs.iter().flat_map(|job| &job.steps) {
        let expected = if step.id == "scan" { "tech-1" } else { "tech-2" };
        assert_eq!(step.uses, [expected]);
    }
}

#[test]
fn a_vehicle_that_finds_no_room_behind_the_others_is_put_where_it_costs_least() {
    let plan = right_shift(&day(70, "[[0, 400]]", 125)).unwrap();
    // By hand: A's aim from 70 on, B at 70 and 90; C's aim from 110 on would end at 130. It comes
    // first instead, with the technician and in the bay that wait for A: at 5 and 15.
    let starts: Vec<i64> = plan.jobs[2].steps.iter().map(|step| step.start).collect();
    assert_eq!(starts, [5, 15]);
    assert_eq!(plan.cost, Some((90 + 60) + (110 + 120) + (35 + 120)));
}
