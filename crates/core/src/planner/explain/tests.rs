//! Small days whose reasons can be worked out by hand.

use super::*;
use crate::planner::{SolveOptions, solve};
use rstest::rstest;

const OPTIONS: ExplainOptions = ExplainOptions { seed: 3, epochs: 2, jobs_max: 10 };

fn planned(text: &str) -> (Problem, Plan) {
    let problem = Problem::from_json(text).unwrap();
    let options = SolveOptions { seed: 3, threads: 1, epochs: Some(8) };
    let plan = solve(&problem, options, &mut |_| false).unwrap();
    (problem, plan)
}

fn explained(text: &str) -> Vec<JobReasons> {
    let (problem, plan) = planned(text);
    explain(&problem, &plan, OPTIONS, &mut || false).unwrap()
}

/// Two jobs of 30 minutes for one technician at two bays: the lighter one comes second, at 60.
fn two_jobs(due: i64, more: &str) -> String {
    format!(
        r#"{{
        "format": "planning-problem/1", "horizon": 200, "cost": {{"lateness": 1, "finish": 1}},
        "places": [{{"id": "bay-1"}}, {{"id": "bay-2"}}],
        "resources": [{{"id": "ines", "open": [[0, 100]]}}],
        "jobs": [
          {{"id": "A", "due": 30, "weight": 100, "leave_out_cost": 90000, "steps": [
            {{"id": "aim", "options": [{{"minutes": 30, "place": "bay-1", "needs": [["ines"]]}}]}}]}},
          {{"id": "B", "due": {due}, "leave_out_cost": 9000, "steps": [
            {{"id": "aim", "options": [{{"minutes": 30, "place": "bay-2", "needs": [["ines"]]}}]}}]}}
          {more}
        ]}}"#
    )
}

#[track_caller]
fn of<'r>(reasons: &'r JobReasons, kind: &str) -> Option<&'r Remedy> {
    reasons
        .remedies
        .iter()
        .find(|remedy| serde_json::to_value(&remedy.change).unwrap()["kind"] == kind)
}

#[test]
fn a_late_job_waits_for_the_technician_of_another() {
    let reasons = explained(&two_jobs(45, ""));
    let [late] = &reasons[..] else { panic!("{reasons:?}") };
    assert_eq!(late.job, "B");
    assert_eq!(late.standing, NotInTime::Late { finish: 60, due: 45, minutes: 15 });
    assert_eq!(late.earliest_alone, Some(30));
    let Cause::ResourceBusy { resource, by_job, until, .. } = &late.waits[0].cause else {
        panic!("{late:?}")
    };
    assert_eq!((resource.as_str(), by_job.as_str(), *until), ("ines", "A", 30));
    assert_eq!((late.waits[1].job.as_str(), &late.waits[1].cause), ("A", &Cause::Now));
}

#[test]
fn a_promise_is_moved_by_just_what_is_missing_and_a_second_technician_does_it_too() {
    let reasons = explained(&two_jobs(45, ""));
    let promise = of(&reasons[0], "promise-later").unwrap();
    // As it is: A at 30, B at 60 and 15 late. With the promise: the same without the lateness.
    assert_eq!((promise.change.minutes(), promise.finish), (Some(15), 60));
    assert_eq!((promise.cost_before, promise.cost_after), (105, 90));
    let second = of(&reasons[0], "one-more").unwrap();
    assert_eq!((second.cost_after, second.others_before, second.others_after), (60, 30, 30));
    assert!(second.plan.to_json().contains("ines (2)"));
    // Longer hours do not help: she is there all the time already.
    assert!(of(&reasons[0], "resource-open").is_none());
}

/// B may begin at 60 only, when its part comes, and takes until 90; by 80 it had to come 10 earlier.
#[test]
fn a_part_is_to_come_earlier_by_what_is_missing() {
    let text = two_jobs(80, "").replace(
        r#"{"id": "aim", "options": [{"minutes": 30, "place": "bay-2""#,
        r#"{"id": "aim", "release": 60, "options": [{"minutes": 30, "place": "bay-2""#,
    );
    let reasons = explained(&text);
    let release = of(&reasons[0], "step-release").unwrap();
    assert_eq!((release.change.minutes(), release.finish), (Some(10), 80));
    assert_eq!(reasons[0].waits[0].cause, Cause::StepRelease { until: 60 });
    assert_eq!(reasons[0].earliest_alone, Some(90));
}

/// The technician leaves at 50 and comes back at 150; B would end at 60.
#[rstest]
#[case::the_bay_stays_open("", false)]
#[case::the_bay_closes_too(r#", "open": [[0, 50], [150, 200]]"#, true)]
fn a_technician_stays_just_long_enough(#[case] bay: &str, #[case] with_places: bool) {
    let text = two_jobs(70, "")
        .replace("[[0, 100]]", "[[0, 50], [150, 200]]")
        .replace(r#"{"id": "bay-2""#, &format!(r#"{{"id": "bay-2"{bay}"#));
    let reasons = explained(&text);
    let stays = of(&reasons[0], "resource-open").unwrap();
    let expected = Change::ResourceOpen {
        resource: "ines".to_owned(),
        side: Side::After,
        at: 50,
        minutes: 10,
        with_places,
    };
    assert_eq!((&stays.change, stays.finish), (&expected, 60));
    assert_eq!(reasons[0].waits[0].cause, Cause::ResourceAway { resource: "ines".to_owned() });
}

/// The bay opens at 80 (a vehicle stands there until then); by 100 it has to be free at 70.
#[test]
fn a_bay_is_open_from_an_earlier_minute() {
    let text =
        two_jobs(100, "").replace(r#"{"id": "bay-2"}"#, r#"{"id": "bay-2", "open": [[80, 200]]}"#);
    let text = text.replace("[[0, 100]]", "[[0, 200]]");
    let reasons = explained(&text);
    let open = of(&reasons[0], "place-open").unwrap();
    let expected =
        Change::PlaceOpen { place: "bay-2".to_owned(), side: Side::Before, at: 80, minutes: 10 };
    assert_eq!((&open.change, open.finish), (&expected, 100));
    assert_eq!(reasons[0].waits[0].cause, Cause::PlaceClosed { place: "bay-2".to_owned() });
}

/// C fits nowhere before the technician leaves: A and B come first.
#[test]
fn a_job_that_is_left_out_says_who_stands_in_its_way() {
    let more = r#", {"id": "C", "due": 40, "leave_out_cost": 10, "steps": [
        {"id": "aim", "options": [{"minutes": 50, "place": "bay-2", "needs": [["ines"]]}]}]}"#;
    let reasons = explained(&two_jobs(60, more));
    let [out] = &reasons[..] else { panic!("{reasons:?}") };
    assert_eq!(out.standing, NotInTime::LeftOut { cost: 10, due: Some(40) });
    assert_eq!(out.earliest_alone, Some(50));
    let by: Vec<_> = out.waits.iter().map(|wait| &wait.cause).collect();
    assert!(
        by.iter().any(|cause| matches!(cause, Cause::ResourceBusy { by_job, .. } if by_job == "A")),
        "{by:?}"
    );
    // Even alone it would end at 50, so only a later promise, with more hours or hands, could help.
    assert!(of(out, "one-more").is_none());
}

#[test]
fn one_minute_less_finds_no_plan_under_the_same_effort() {
    let text = two_jobs(45, "");
    let (problem, plan) = planned(&text);
    let mut seen = 0;
    for reasons in explain(&problem, &plan, OPTIONS, &mut || false).unwrap() {
        for remedy in &reasons.remedies {
            let again = try_change(&problem, &plan, &reasons.job, &remedy.change, OPTIONS);
            assert_eq!(again.unwrap().map(|again| again.finish), Some(remedy.finish));
            let Some(minutes) = remedy.change.minutes() else { continue };
            let less = remedy.change.with_minutes(minutes - 1);
            assert_eq!(try_change(&problem, &plan, &reasons.job, &less, OPTIONS).unwrap(), None);
            seen += 1;
        }
    }
    assert!(seen > 0);
}

#[test]
fn a_caller_that_stops_gets_what_is_known_and_is_told_so() {
    let (problem, plan) = planned(&two_jobs(45, ""));
    let reasons = explain(&problem, &plan, OPTIONS, &mut || true).unwrap();
    assert!(!reasons[0].complete && reasons[0].remedies.is_empty());
    assert!(!reasons[0].waits.is_empty());
}

#[test]
fn a_plan_that_breaks_a_rule_is_not_explained() {
    let (problem, mut plan) = planned(&two_jobs(45, ""));
    plan.jobs[1].steps[0].start = 10;
    let refused = explain(&problem, &plan, OPTIONS, &mut || false).unwrap_err();
    assert!(matches!(refused, ExplainError::Plan(BrokenRule::Meet { .. })), "{refused:?}");
}

/// Three jobs of 6 minutes that must be done within 10 in one bay, and one elsewhere: any two are too much.
const TOO_MUCH: &str = r#"{
    "format": "planning-problem/1", "horizon": 10, "cost": {},
    "places": [{"id": "bay-1"}, {"id": "bay-2"}], "resources": [{"id": "ines"}, {"id": "omar"}],
    "jobs": [
      {"id": "A", "steps": [{"id": "s", "options": [
        {"minutes": 6, "place": "bay-1", "needs": [["ines", "omar"]]}]}]},
      {"id": "B", "steps": [{"id": "s", "options": [
        {"minutes": 6, "place": "bay-1", "needs": [["ines", "omar"]]}]}]},
      {"id": "C", "steps": [{"id": "s", "options": [{"minutes": 6, "place": "bay-2"}]}]},
      {"id": "D", "leave_out_cost": 5, "steps": [{"id": "s", "options": [
        {"minutes": 10, "place": "bay-2"}]}]}
    ]}"#;

#[test]
fn two_jobs_and_the_bay_that_they_both_need_are_a_smallest_conflict() {
    let problem = Problem::from_json(TOO_MUCH).unwrap();
    let found = conflict(&problem, OPTIONS, &mut || false).unwrap();
    let expected = Conflict {
        jobs: vec!["A".to_owned(), "B".to_owned()],
        limits: vec!["bay-1".to_owned()],
        proved: true,
        complete: true,
    };
    assert_eq!(found, expected);
    let stopped = conflict(&problem, OPTIONS, &mut || true);
    assert_eq!(stopped, None, "nothing was tried, so nothing is said");
}

#[rstest]
// It takes 12 minutes of the 10 that there are, whoever is free.
#[case::too_long_by_itself("\"minutes\": 12, \"place\": \"bay-2\"", &[])]
// The one technician who can do it is never there.
#[case::nobody_there("\"minutes\": 6, \"place\": \"bay-2\", \"needs\": [[\"nobody\"]]", &["nobody"])]
fn a_job_without_any_way_is_a_conflict_by_itself(#[case] way: &str, #[case] limits: &[&str]) {
    let text = TOO_MUCH
        .replacen("\"minutes\": 6, \"place\": \"bay-2\"", way, 1)
        .replace("{\"id\": \"omar\"}", "{\"id\": \"omar\"}, {\"id\": \"nobody\", \"open\": []}");
    let text = text.replace("\"id\": \"B\"", "\"leave_out_cost\": 1, \"id\": \"B\"");
    let found = conflict(&Problem::from_json(&text).unwrap(), OPTIONS, &mut || false).unwrap();
    assert_eq!((&found.jobs[..], found.proved), (&["C".to_owned()][..], true));
    assert_eq!(found.limits, limits);
}

#[test]
fn jobs_that_all_have_a_plan_are_no_conflict() {
    let problem = Problem::from_json(&two_jobs(45, "")).unwrap();
    assert_eq!(conflict(&problem, OPTIONS, &mut || false), None);
}
