//! Our plans and bounds beside those of a general-purpose constraint solver, on the same problems: neither
//! may prove what the other's plan refutes.
//!
//! Source of the other side: CP-SAT of OR-Tools, through `tests/reference/plan_with_cp_sat.py`, which models the format
//! of the planning problem by itself. The shop's days and the solver's costs for minutes: the same script.
#![cfg(test)]
#![cfg(unix)]

#[expect(dead_code, reason = "only the script runner is used here")]
mod common;
#[path = "common/python.rs"]
mod python;

use baywright_core::planner::{Plan, PlanStatus, Problem, SolveOptions, solve};
use baywright_tests::generator::{Shape, cases, problem};
use rstest::rstest;
use serde_json::Value;
use std::path::{Path, PathBuf};

/// Effort of ours; the other side's is in seconds, and enough for nearly all of these.
const EPOCHS: u64 = 40;
const SECONDS: &str = "15";

#[rstest]
#[case::all_that_the_format_knows(Shape::Nasty, 40)]
#[case::days_of_five_jobs(Shape::Day { jobs: 5 }, 6)]
fn neither_solver_proves_what_the_other_refutes(#[case] shape: Shape, #[case] count: u64) {
    let count = cases(count);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join(format!("general-solver-{shape:?}").replace([' ', '{', '}', ':'], ""));
    std::fs::create_dir_all(&folder).unwrap();
    let files: Vec<PathBuf> = (0..count).map(|seed| folder.join(format!("{seed}.json"))).collect();
    for (seed, file) in (0..).zip(&files) {
        std::fs::write(file, problem(shape, seed)).unwrap();
    }
    let mut arguments = vec!["--whole", SECONDS];
    arguments.extend(files.iter().map(|file| file.to_str().unwrap()));
    let run = python::script("../reference/plan_with_cp_sat.py", &arguments);
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let told = String::from_utf8(run.stdout).unwrap();
    let theirs: Vec<Value> = told.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(theirs.len(), files.len(), "{told}");

    let (mut compared, mut both_proved, mut impossible, mut missed) = (0, 0, 0, 0);
    for (file, theirs) in files.iter().zip(&theirs) {
        let ours = plan(&std::fs::read_to_string(file).unwrap());
        let status = theirs["status"].as_str().unwrap();
        let name = file.display();
        match (ours, status) {
            (Some(ours), "proved-best" | "feasible") if ours.status != PlanStatus::Impossible => {
                let (cost, bound) = (ours.cost.unwrap(), ours.bound.unwrap());
                let (their_cost, their_bound) =
                    (theirs["cost"].as_i64().unwrap(), theirs["bound"].as_i64().unwrap());
                assert!(bound <= their_cost, "{name}: our bound {bound}, {theirs}");
                assert!(their_bound <= cost, "{name}: our cost {cost}, {theirs}");
                compared += 1;
                let proved = ours.status == PlanStatus::ProvedBest && status == "proved-best";
                both_proved += u64::from(proved);
                if proved {
                    assert_eq!(cost, their_cost, "{name}");
                }
            }
            // Ours gives up without a proof where it has found none.
            (None, "proved-best" | "feasible") => {
                println!("{name}: we found no plan, {theirs}");
                missed += 1;
            }
            (Some(ours), "impossible") => {
                assert_eq!(ours.status, PlanStatus::Impossible, "{name}: {theirs}");
                impossible += 1;
            }
            (Some(ours), "proved-best" | "feasible") => {
                panic!("{name}: we say {:?}, but {theirs}", ours.status)
            }
            _ => {}
        }
    }
    println!(
        "{compared} compared, {both_proved} proved by both, {impossible} impossible for both, {missed} missed"
    );
    assert!(missed * 20 <= count, "{missed} of {count} missed");
    assert!(compared * 2 >= count && both_proved * 3 >= compared, "{compared} {both_proved}");
}

/// Our plan; none where no plan was found and it is not proved that there is none.
fn plan(text: &str) -> Option<Plan> {
    let problem = Problem::from_json(text).unwrap();
    let options = SolveOptions { seed: 1, threads: 1, epochs: Some(EPOCHS) };
    solve(&problem, options, &mut |_| false).ok()
}
