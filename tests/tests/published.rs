//! Published scheduling instances: the planner reaches their optimum, and no bound lies above it.
//!
//! Instances, values and their sources: `tests/reference/published-schedules`. The effort is counted in
//! epochs, never in seconds. Whole sets: the benchmark `published` of the core.
#![cfg(test)]

use baywright_core::planner::{EpochReport, Plan, Problem, SolveOptions, solve};
use baywright_tests::referee::{derive, judge};
use rstest::rstest;
use serde_json::{Value, json};

fn instances(kind: &str) -> Vec<Value> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/reference/published-schedules");
    let text = std::fs::read_to_string(format!("{folder}/instances.json")).unwrap();
    let mut all: Value = serde_json::from_str(&text).unwrap();
    serde_json::from_value(all[kind].take()).unwrap()
}

fn instance(kind: &str, name: &str) -> Value {
    instances(kind).into_iter().find(|instance| instance["name"] == name).unwrap()
}

/// One machine: jobs of a single step.
fn one_machine(instance: &Value) -> Value {
    let minutes = instance["minutes"].as_array().unwrap();
    let jobs = minutes.iter().enumerate().map(|(at, minutes)| {
        json!({"id": format!("j{at}"), "due": instance["dues"][at], "weight": instance["weights"][at],
            "steps": [{"id": "s", "options": [{"minutes": minutes, "needs": [["machine"]]}]}]})
    });
    let horizon: i64 = minutes.iter().map(|minutes| minutes.as_i64().unwrap()).sum();
    json!({"format": "planning-problem/1", "horizon": horizon, "places": [],
        "resources": [{"id": "machine"}], "jobs": jobs.collect::<Vec<_>>(), "cost": {"lateness": 1}})
}

/// A shop of machines: chains of steps.
fn shop(instance: &Value) -> Value {
    let mut horizon = 0;
    let mut jobs = Vec::new();
    for (at, chain) in instance["jobs"].as_array().unwrap().iter().enumerate() {
        let mut steps = Vec::new();
        for (number, ways) in chain.as_array().unwrap().iter().enumerate() {
            let ways = ways.as_array().unwrap();
            horizon += ways.iter().map(|way| way[1].as_i64().unwrap()).max().unwrap();
            let options = ways
                .iter()
                .map(|way| json!({"minutes": way[1], "needs": [[format!("m{}", way[0])]]}));
            steps.push(json!({"id": format!("s{number}"), "options": options.collect::<Vec<_>>()}));
        }
        let mut job = json!({"id": format!("j{at}"), "steps": steps});
        if let Some(dues) = instance["dues"].as_array() {
            job["due"] = dues[at].clone();
            job["weight"] = instance["weights"][at].clone();
        }
        jobs.push(job);
    }
    let machines = 0..instance["machines"].as_u64().unwrap();
    let cost = if instance["dues"].is_array() { "lateness" } else { "makespan" };
    json!({"format": "planning-problem/1", "horizon": horizon, "places": [],
        "resources": machines.map(|m| json!({"id": format!("m{m}")})).collect::<Vec<_>>(),
        "jobs": jobs, "cost": {cost: 1}})
}

/// Plans and has the plan judged.
#[track_caller]
fn plan(text: &str, seed: u64, threads: u32, epochs: u64) -> Plan {
    plan_until(text, SolveOptions { seed, threads, epochs: Some(epochs) }, None)
}

/// Plans until a cost is reached, and has the plan judged.
#[track_caller]
fn plan_until(text: &str, options: SolveOptions, cost: Option<i64>) -> Plan {
    let problem = Problem::from_json(text).unwrap();
    let is_reached = |report: &EpochReport| report.missing == 0 && Some(report.cost) <= cost;
    let plan = solve(&problem, options, &mut |report| is_reached(report)).unwrap();
    assert_eq!(judge(text, &plan.to_json()).unwrap().broken, []);
    plan
}

#[track_caller]
fn check_optimum(name: &str, text: &str, best: &Value, epochs: u64) {
    let best = best.as_i64();
    let options = SolveOptions { seed: 1, threads: 1, epochs: Some(epochs) };
    let plan = plan_until(text, options, best);
    assert_eq!(plan.cost, best, "{name}");
    assert!(plan.bound <= best && plan.bound >= Some(0), "{name}: bound {:?}", plan.bound);
    if plan.bound == best && plan.certificate.is_some() {
        assert_eq!(derive(text, &plan.to_json()).ok(), best.map(i128::from), "{name}");
    }
}

#[test]
fn one_machines_optimum_is_reached() {
    let all = instances("one_machine");
    assert_eq!(all.len(), 7);
    for instance in all {
        let name = instance["name"].as_str().unwrap();
        check_optimum(name, &one_machine(&instance).to_string(), &instance["best"], 20);
    }
}

#[rstest]
#[case::ft06("ft06", 5)]
#[case::ft10("ft10", 100)]
#[case::ft20("ft20", 100)]
#[case::la01("la01", 2)]
#[case::la02("la02", 10)]
#[case::la05("la05", 2)]
#[case::la06("la06", 2)]
#[case::mk01("mk01", 10)]
#[case::mk03("mk03", 5)]
#[case::mk04("mk04", 10)]
#[case::mk08("mk08", 5)]
#[case::la17_latest("la17-f1.3", 60)]
#[case::la17_late("la17-f1.5", 20)]
#[case::la17_less_late("la17-f1.6", 20)]
#[case::ft10_late("ft10-f1.5", 60)]
#[case::orb02_late("orb02-f1.5", 60)]
#[case::orb02_less_late("orb02-f1.6", 60)]
#[case::orb05_late("orb05-f1.5", 60)]
fn a_shops_optimum_is_reached(#[case] name: &str, #[case] epochs: u64) {
    let instance = instance("shops", name);
    check_optimum(name, &shop(&instance).to_string(), &instance["best"], epochs);
}

/// Where each machine by itself shows the optimum, it is proved.
#[rstest]
#[case::la01("la01")]
#[case::la05("la05")]
#[case::la06("la06")]
#[case::mk03("mk03")]
#[case::mk08("mk08")]
fn a_shops_optimum_is_proved_by_its_busiest_machine(#[case] name: &str) {
    let text = shop(&instance("shops", name)).to_string();
    let plan = plan(&text, 1, 1, 5);
    assert_eq!(plan.bound, plan.cost);
    assert_eq!(derive(&text, &plan.to_json()).ok(), plan.cost.map(i128::from));
    // A step counts once.
    let mut file: Value = serde_json::from_str(&plan.to_json()).unwrap();
    let steps = &mut file["certificate"]["shared_work"]["steps"];
    *steps = json!(format!("{},0 0,0 0", steps.as_str().unwrap()));
    assert!(derive(&text, &file.to_string()).unwrap_err().contains("need not be done"));
}

#[rstest]
#[case::one_machine(one_machine(&instance("one_machine", "wt50-37")))]
#[case::shop(shop(&instance("shops", "ft10")))]
#[case::late_shop(shop(&instance("shops", "la17-f1.5")))]
fn two_workers_end_no_worse_than_one_and_always_alike(#[case] problem: Value) {
    let text = problem.to_string();
    for seed in [1, 2] {
        let (one, two) = (plan(&text, seed, 1, 2), plan(&text, seed, 2, 2));
        assert!(two.cost <= one.cost);
        assert_eq!(two.to_json(), plan(&text, seed, 2, 2).to_json());
    }
}
