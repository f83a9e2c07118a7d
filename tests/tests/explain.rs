//! Reasons of generated days: every remedy is judged by the referee on a problem that is changed here
//! by itself, and one minute less finds no plan under the same effort.
#![cfg(test)]

use baywright_core::planner::explain::{
    Change, ExplainOptions, JobReasons, NotInTime, Remedy, Side, explain, try_change,
};
use baywright_core::planner::{Plan, PlanStatus, Problem, SolveOptions, solve};
use baywright_tests::generator::{Shape, problem};
use baywright_tests::referee::judge;
use rstest::rstest;
use serde_json::{Value, json};
use std::collections::BTreeMap;

const OPTIONS: ExplainOptions = ExplainOptions { seed: 11, epochs: 2, jobs_max: 4 };

/// A problem with a plan that a short search found.
fn planned(shape: Shape, seed: u64) -> Option<(String, Problem, Plan)> {
    let text = problem(shape, seed);
    let problem = Problem::from_json(&text).unwrap();
    let options = SolveOptions { seed: 5, threads: 1, epochs: Some(3) };
    let plan = solve(&problem, options, &mut |_| false).ok()?;
    (plan.status != PlanStatus::Impossible).then_some((text, problem, plan))
}

/// The file with a change, written without the planner's code.
fn changed(text: &str, change: &Change) -> String {
    let mut file: Value = serde_json::from_str(text).unwrap();
    let horizon = file["horizon"].clone();
    match change {
        Change::Nothing => {}
        Change::PromiseLater { job, minutes } => {
            add(named(&mut file["jobs"], job), "due", *minutes);
        }
        Change::JobRelease { job, release, minutes } => {
            named(&mut file["jobs"], job)["release"] = json!(release - minutes);
        }
        Change::StepRelease { job, step, release, minutes } => {
            let job = named(&mut file["jobs"], job);
            named(&mut job["steps"], step)["release"] = json!(release - minutes);
        }
        Change::PlaceOpen { place, side, at, minutes } => {
            open(named(&mut file["places"], place), &horizon, span(*side, *at, *minutes));
        }
        Change::ResourceOpen { resource, side, at, minutes, with_places } => {
            let more = span(*side, *at, *minutes);
            open(named(&mut file["resources"], resource), &horizon, more);
            let places = file["places"].as_array_mut().unwrap();
            for place in places.iter_mut().filter(|_| *with_places) {
                if windows(place, &horizon).iter().any(|w| w[0] <= more[1] && more[0] <= w[1]) {
                    open(place, &horizon, more);
                }
            }
        }
        Change::OneMore { like } => {
            let mut more = named(&mut file["resources"], like).clone();
            let id = format!("{like} (2)");
            more["id"] = json!(id);
            file["resources"].as_array_mut().unwrap().push(more);
            for job in file["jobs"].as_array_mut().unwrap() {
                for step in job["steps"].as_array_mut().unwrap() {
                    for option in step["options"].as_array_mut().unwrap() {
                        let groups = option.get_mut("needs").and_then(Value::as_array_mut);
                        for group in groups.into_iter().flatten() {
                            let group = group.as_array_mut().unwrap();
                            if group.iter().any(|id| id == like) {
                                group.push(json!(id));
                            }
                        }
                    }
                }
            }
        }
    }
    file.to_string()
}

fn named<'v>(list: &'v mut Value, id: &str) -> &'v mut Value {
    list.as_array_mut().unwrap().iter_mut().find(|one| one["id"] == id).unwrap()
}

fn add(object: &mut Value, key: &str, minutes: i64) {
    object[key] = json!(object[key].as_i64().unwrap() + minutes);
}

fn span(side: Side, at: i64, minutes: i64) -> [i64; 2] {
    match side {
        Side::Before => [at - minutes, at],
        Side::After => [at, at + minutes],
    }
}

fn windows(calendar: &Value, horizon: &Value) -> Vec<[i64; 2]> {
    match calendar.get("open") {
        Some(open) => serde_json::from_value(open.clone()).unwrap(),
        None => vec![[0, horizon.as_i64().unwrap()]],
    }
}

/// One window out of all that the new minutes touch.
fn open(calendar: &mut Value, horizon: &Value, more: [i64; 2]) {
    let (mut joined, mut all) = (more, Vec::new());
    for window in windows(calendar, horizon).into_iter().filter(|w| w[0] < w[1]) {
        if window[0] <= more[1] && more[0] <= window[1] {
            joined = [joined[0].min(window[0]), joined[1].max(window[1])];
        } else {
            all.push(window);
        }
    }
    all.push(joined);
    calendar["open"] = json!(all);
}

/// Per job, its finish by the plan and its due; none of a job that is left out.
fn finishes(text: &str, plan: &Plan) -> BTreeMap<String, Option<(i64, Option<i64>)>> {
    let file: Value = serde_json::from_str(text).unwrap();
    let jobs = file["jobs"].as_array().unwrap().iter().map(|job| {
        let id = job["id"].as_str().unwrap().to_owned();
        let planned = plan.jobs.iter().find(|one| one.id == id).filter(|one| !one.left_out);
        let finish = planned.map(|planned| {
            let ends = planned.steps.iter().map(|step| {
                let spec = job["steps"].as_array().unwrap().iter().find(|s| s["id"] == step.id);
                let written = spec.unwrap()["options"][step.option]["minutes"].as_i64();
                let in_fact = job["fixed"][&step.id]["minutes"].as_i64();
                step.start + in_fact.or(written).unwrap()
            });
            (ends.max().unwrap(), job["due"].as_i64())
        });
        (id, finish)
    });
    jobs.collect()
}

#[track_caller]
fn check_remedy(text: &str, plan: &Plan, reasons: &JobReasons, remedy: &Remedy, name: &str) {
    let changed = changed(text, &remedy.change);
    let verdict = judge(&changed, &remedy.plan.to_json()).unwrap();
    assert_eq!(verdict.broken, [], "{name}: {:?}\n{changed}", remedy.change);
    assert_eq!(verdict.cost, i128::from(remedy.cost_after), "{name}");
    assert_eq!(plan.cost, Some(remedy.cost_before), "{name}");
    let (before, after) = (finishes(text, plan), finishes(&changed, &remedy.plan));
    let (finish, due) = after[&reasons.job].unwrap();
    assert_eq!(finish, remedy.finish, "{name}");
    assert!(due.is_none_or(|due| finish <= due), "{name}: {:?}", remedy.change);
    for (job, stood) in before.iter().filter(|(job, _)| **job != reasons.job) {
        let Some((was, due)) = stood else { continue };
        let (now, _) = after[job].unwrap_or_else(|| panic!("{name}: {job} dropped out"));
        assert!(due.is_none_or(|due| now <= due.max(*was)), "{name}: {job} suffers");
    }
}

#[rstest]
#[case::nasty(Shape::Nasty, 0..80, (30, 15))]
#[case::day(Shape::Day { jobs: 20 }, 0..4, (5, 3))]
fn a_remedy_brings_its_job_in_time_and_one_minute_less_does_not(
    #[case] shape: Shape,
    #[case] seeds: std::ops::Range<u64>,
    #[case] at_least: (usize, usize),
) {
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    for seed in seeds {
        let Some((text, problem, plan)) = planned(shape, seed) else { continue };
        let name = format!("{shape:?} {seed}");
        for reasons in explain(&problem, &plan, OPTIONS, &mut || false).unwrap() {
            assert!(reasons.complete, "{name}");
            for remedy in &reasons.remedies {
                check_remedy(&text, &plan, &reasons, remedy, &name);
                let kind = serde_json::to_value(&remedy.change).unwrap()["kind"].to_string();
                *kinds.entry(kind).or_default() += 1;
                let Some(minutes) = remedy.change.minutes() else { continue };
                let less = remedy.change.with_minutes(minutes - 1);
                let less = try_change(&problem, &plan, &reasons.job, &less, OPTIONS).unwrap();
                assert_eq!(less, None, "{name}: {:?}", remedy.change);
            }
        }
    }
    println!("{shape:?}: {kinds:?}");
    let promises = kinds.remove("\"promise-later\"").unwrap_or(0);
    let others: usize = kinds.values().sum();
    // A search that finds nothing would be tested on nothing.
    assert!(promises >= at_least.0 && others >= at_least.1, "{promises} {others}");
}

/// Every late and every left-out job is named, none that is in time, and the first link of a late one is
/// the step that ends last.
#[test]
fn the_jobs_that_are_explained_are_those_that_are_not_in_time() {
    let all = ExplainOptions { jobs_max: 1_000, epochs: 0, ..OPTIONS };
    let mut seen = 0;
    for seed in 0..60 {
        let Some((text, problem, plan)) = planned(Shape::Nasty, seed) else { continue };
        let reasons = explain(&problem, &plan, all, &mut || true).unwrap();
        let finishes = finishes(&text, &plan);
        let late = |stood: &Option<(i64, Option<i64>)>| match stood {
            Some((finish, due)) => due.is_some_and(|due| *finish > due),
            None => true,
        };
        let expected: Vec<_> =
            finishes.iter().filter(|(_, stood)| late(stood)).map(|(id, _)| id).collect();
        let mut told: Vec<_> = reasons.iter().map(|one| &one.job).collect();
        told.sort();
        assert_eq!(told, expected, "{seed}");
        for one in &reasons {
            let NotInTime::Late { finish, .. } = one.standing else { continue };
            let first = &one.waits[0];
            assert!(first.job == one.job && first.start < finish, "{seed}: {first:?}");
            seen += 1;
        }
    }
    assert!(seen > 30, "{seen}");
}
