//! Offline planning: the plan is written whole, the same again, and faults are all named.

use super::baywright;
use std::fs;
use std::path::Path;

const PROBLEM: &str = r#"{
  "format": "planning-problem/1", "name": "two", "horizon": 100,
  "places": [{"id": "bay-1"}], "resources": [], "cost": {"finish": 1},
  "jobs": [
    {"id": "A", "steps": [{"id": "scan", "options": [{"minutes": 30, "place": "bay-1"}]}]},
    {"id": "B", "steps": [{"id": "scan", "options": [{"minutes": 10, "place": "bay-1"}]}]}
  ]
}"#;

#[test]
fn a_plan_is_written_whole_and_the_same_again() {
    let folder = tempfile::tempdir().unwrap();
    let plans = ["a.json", "b.json"].map(|name| {
        let out = folder.path().join(name);
        let run = solve(folder.path(), PROBLEM, &out, &["--epochs", "2", "--seed", "7"]);
        assert_eq!(run.code, 0, "{}", run.stderr);
        // By hand: the short job first, 10 + 40.
        assert!(run.stdout.contains("cost 50") && run.stdout.contains("seed 7"), "{}", run.stdout);
        fs::read_to_string(out).unwrap()
    });
    assert_eq!(plans[0], plans[1]);
    assert!(plans[0].contains("\"format\": \"planning-plan/1\""), "{}", plans[0]);
    let names = fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(names, 3, "the problem and two plans, no part is left behind");
}

#[test]
fn the_search_stops_when_its_seconds_are_over() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("plan.json");
    let begun = std::time::Instant::now();
    let run = solve(folder.path(), PROBLEM, &out, &["--seconds", "1"]);
    assert_eq!(run.code, 0, "{}", run.stderr);
    // An epoch of two jobs takes milliseconds; the rest is for a busy machine.
    assert!(begun.elapsed().as_secs() < 20);
}

#[test]
fn every_fault_of_a_problem_stands_with_its_path_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("plan.json");
    let problem = PROBLEM.replace("\"minutes\": 30", "\"minutes\": -30").replace("100", "\"x\"");
    let run = solve(folder.path(), &problem, &out, &["--epochs", "1"]);
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    assert!(run.stderr.contains("problem.json: horizon is \"x\""), "{}", run.stderr);
    assert!(
        run.stderr.contains("problem.json: jobs[0].steps[0].options[0].minutes is -30"),
        "{}",
        run.stderr
    );
    assert!(!out.exists());
}

/// One bay, two jobs of 30 and 10 minutes, both due at 30: the long one comes second and is 10 late.
#[test]
fn reasons_say_what_a_late_job_waits_for_and_what_brings_it_in_time() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("plan.json");
    let problem = PROBLEM
        .replace("\"id\": \"A\"", "\"id\": \"A\", \"due\": 30")
        .replace("\"id\": \"B\"", "\"id\": \"B\", \"due\": 30, \"weight\": 9")
        .replace("\"finish\": 1", "\"finish\": 1, \"lateness\": 1");
    let run = solve(folder.path(), &problem, &out, &["--epochs", "2", "--explain"]);
    assert_eq!(run.code, 0, "{}", run.stderr);
    for part in [
        "Job A finishes at 40, 10 minutes after it is due at 30. Without the other jobs it could finish at 30.",
        "step scan of job A at 10: bay-1 is taken by job B, step scan, until 10",
        "step scan of job B at 0: the plan begins then",
        "job A due 10 minutes later: finish 40, cost 60 -> 50, others 10 -> 10 (0 moved)",
    ] {
        assert!(run.stdout.contains(part), "{part}: {}", run.stdout);
    }
    let plain = fs::read_to_string(&out).unwrap();
    let run = solve(folder.path(), &problem, &out, &["--epochs", "2", "--explain", "--json"]);
    let shown: serde_json::Value = serde_json::from_str(&run.stdout).unwrap();
    assert_eq!(shown["reasons"][0]["standing"]["late"]["minutes"], 10);
    assert_eq!(shown["reasons"][0]["remedies"][0]["change"]["kind"], "promise-later");
    assert_eq!(fs::read_to_string(&out).unwrap(), plain, "the plan's file is the same");
}

#[test]
fn a_problem_without_a_plan_gives_code_1() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("plan.json");
    let problem = PROBLEM.replace("\"minutes\": 30", "\"minutes\": 300");
    let run = solve(folder.path(), &problem, &out, &["--epochs", "1"]);
    assert_eq!(run.code, 1, "{}", run.stderr);
    assert!(run.stderr.contains('A'), "{}", run.stderr);
    assert!(fs::read_to_string(out).unwrap().contains("impossible"));
}

/// By hand: A stands first in the previous plan and costs 30 + 40; the other way round 10 + 40 and two changes.
#[test]
fn the_front_shows_what_steadiness_costs() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("plan.json");
    let was = |start: i64| {
        format!(r#""previous": {{"scan": {{"start": {start}, "option": 0}}}}, "steps": "#)
    };
    let problem = PROBLEM
        .replace(r#""finish": 1"#, r#""finish": 1, "change": 4"#)
        .replacen(r#""steps": "#, &was(0), 1)
        .replace(r#""id": "B", "steps": "#, &format!(r#""id": "B", {}"#, was(30)));
    let run = solve(folder.path(), &problem, &out, &["--front", "--epochs", "2"]);
    assert_eq!(run.code, 0, "{}", run.stderr);
    let expected = "\
CHANGE PRICE  COST  LESS CHANGES  CHANGED STEPS     MINUTES MOVED  TECHNICIAN  BAY  LEFT OUT
x0            58    50            2 of 2 (100.0 %)  40             0           0    0
x1            58    50            2 of 2 (100.0 %)  40             0           0    0
x4            70    70            0 of 2 (0.0 %)    0              0           0    0";
    assert_eq!(run.stdout.trim_end(), expected);
    assert!(fs::read_to_string(&out).unwrap().contains("\"cost\": 58"));
    let run = solve(folder.path(), &problem, &out, &["--front", "--epochs", "2", "--json"]);
    let front: serde_json::Value = serde_json::from_str(&run.stdout).unwrap();
    let changed: Vec<_> =
        [0, 1, 2].map(|at| front["points"][at]["changed_steps"].as_u64()).to_vec();
    assert_eq!(changed, [Some(2), Some(2), Some(0)]);
    assert_eq!(front["points"][2]["plan"]["cost"], 70);
}

/// Both take more than half of the time that there is, at the one bay.
#[test]
fn where_there_is_no_plan_a_smallest_set_of_jobs_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("plan.json");
    let problem = PROBLEM.replace("10,", "60,").replace("30,", "60,");
    let run = solve(folder.path(), &problem, &out, &["--epochs", "2", "--explain"]);
    assert_eq!(run.code, 1, "{}", run.stderr);
    for part in ["These jobs have no plan together: A, B.", "What limits them: bay-1."] {
        assert!(run.stdout.contains(part), "{part}: {}", run.stdout);
    }
    let run = solve(folder.path(), &problem, &out, &["--epochs", "2", "--explain", "--json"]);
    let shown: serde_json::Value = serde_json::from_str(&run.stdout).unwrap();
    assert_eq!(
        (shown["conflict"]["proved"].as_bool(), shown["conflict"]["jobs"][1].as_str()),
        (Some(true), Some("B"))
    );
    assert!(!out.exists());
}

#[test]
fn a_folder_that_is_not_there_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("none").join("plan.json");
    let run = solve(folder.path(), PROBLEM, &out, &["--epochs", "1"]);
    assert_eq!(run.code, 2);
    assert!(run.stderr.contains("cannot be used"), "{}", run.stderr);
}

fn solve(folder: &Path, problem: &str, out: &Path, options: &[&str]) -> super::Run {
    let path = folder.join("problem.json");
    fs::write(&path, problem).unwrap();
    let mut arguments = vec!["solve", path.to_str().unwrap(), "--out", out.to_str().unwrap()];
    arguments.extend(options);
    baywright(&arguments)
}
