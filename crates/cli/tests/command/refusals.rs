//! Refusals before anything is sent: each on standard error, with its exit code.

use super::{NOBODY, baywright, demo};
use rstest::rstest;
use std::fs;

#[test]
fn a_missing_file_is_named_with_a_hint() {
    let run = baywright(&["apply", "no-such-shop.toml"]);
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    assert_eq!(
        run.stderr,
        "error: no-such-shop.toml cannot be used: No such file or directory (os error 2).\n\
         hint: check the path and your rights to it.\n"
    );
}

#[rstest]
#[case::apply(&["apply", &demo("shop.toml")])]
#[case::survey(&["survey", "bay-1", &demo("survey-bay-1.csv"), "--shop", "demo"])]
#[case::estimate(&["estimate", &demo("estimate-1001-windshield.json"), "--shop", "demo"])]
#[case::jobs(&["jobs", "--shop", "demo"])]
#[case::looked_up_fence(&["finish", "J-1", "scan", "--technician", "ines", "--shop", "demo"])]
fn a_service_that_is_away_gives_code_3(#[case] arguments: &[&str]) {
    let arguments: Vec<&str> = arguments.iter().copied().chain(["--server", NOBODY]).collect();
    let run = baywright(&arguments);
    assert_eq!((run.code, run.stdout.as_str()), (3, ""), "{}", run.stderr);
    assert!(
        run.stderr.starts_with(&format!("error: the service at {NOBODY} cannot be reached: ")),
        "{}",
        run.stderr
    );
    assert!(run.stderr.contains("hint: start it with `baywright-service serve`"), "{}", run.stderr);
}

#[rstest]
#[case::no_shop(&["jobs"], "no shop was named.")]
#[case::bad_address(&["jobs", "--server", "not an address", "--shop", "s"], "it must be an address")]
#[case::two_files_one_id(&["estimate", &demo("estimate-1001-windshield.json"), &demo("estimate-1002-rear-bumper.json"),
    "--shop", "s", "--request-id", "6f3c2a52-8f2b-4c6e-9a07-3f1d2b9e4c11"], "each has its own")]
#[case::exception_without_reason(&["hand-back", "J-1", "--except", "task:glass", "--manager", "m", "--shop", "s"], "KEY=REASON")]
#[case::answered_twice(&["start", "J-1", "t", "--technician", "ines", "--yes", "a", "--no", "a", "--shop", "s"], "answered twice")]
fn arguments_that_do_not_go_together_give_code_2(
    #[case] arguments: &[&str],
    #[case] sentence: &str,
) {
    let run = baywright(arguments);
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    assert!(run.stderr.starts_with("error: ") && run.stderr.contains(sentence), "{}", run.stderr);
    assert!(run.stderr.contains("\nhint: "), "{}", run.stderr);
}

#[rstest]
#[case::decline_without_reason(&["accept", "J-1", "--decline", "t"])]
#[case::decide_nothing_said(&["decide", "J-1", "1", "--reason", "r"])]
#[case::preparation_without_prerequisite(&["fail", "J-1", "t", "--technician", "i", "--cause", "preparation", "--note", "n"])]
#[case::all_met_without_evidence(&["start", "J-1", "t", "--technician", "i", "--all-met"])]
#[case::glass_by_halves(&["finish", "J-1", "t", "--technician", "i", "--adhesive", "a"])]
#[case::unknown_state(&["prerequisite", "J-1", "p", "--state", "done"])]
#[case::no_uuid(&["arrive", "J-1", "--request-id", "1"])]
#[case::no_command(&[])]
fn the_grammar_of_the_command_line_is_kept(#[case] arguments: &[&str]) {
    let run = baywright(arguments);
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    assert!(!run.stderr.is_empty());
}

#[test]
fn every_fault_of_a_shop_file_stands_with_its_line() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.toml");
    let text = fs::read_to_string(demo("shop.toml")).unwrap();
    let faulty = text.replacen("ceiling_mm = 4500", "ceiling_mm = 45", 1).replacen(
        "capacity = 24",
        "capacity = \"twelve\"",
        1,
    );
    fs::write(&path, faulty).unwrap();
    let run = baywright(&["apply", path.to_str().unwrap(), "--server", NOBODY]);
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    let file = path.display();
    assert_eq!(
        run.stderr,
        format!(
            "error: {file}:22: shop.spot[0].capacity is \"twelve\"; it must be a whole number from 1 to 1000\n\
             hint: correct the number\n\
             error: {file}:48: bay[0].ceiling_mm is 45; it must be a number from 1000 to 30000 mm\n\
             hint: correct the number or its unit\n\
             2 faults; nothing was sent.\n"
        )
    );
}

#[test]
fn the_faults_of_all_estimates_are_reported_before_anything_is_sent() {
    let folder = tempfile::tempdir().unwrap();
    let paths = ["a.json", "b.json"].map(|name| folder.path().join(name));
    for path in &paths {
        fs::write(path, "{\"job_id\": 7}").unwrap();
    }
    let good = demo("estimate-1002-rear-bumper.json");
    let run = baywright(&[
        "estimate",
        paths[0].to_str().unwrap(),
        &good,
        paths[1].to_str().unwrap(),
        "--shop",
        "demo",
        "--server",
        NOBODY,
    ]);
    assert_eq!(run.code, 2);
    for path in &paths {
        assert!(
            run.stderr.contains(&format!("error: {}:1: job_id is 7", path.display())),
            "{}",
            run.stderr
        );
    }
    assert!(run.stderr.ends_with("faults; nothing was sent.\n"));
}

#[test]
fn a_survey_fault_names_the_row() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("survey.csv");
    let text = fs::read_to_string(demo("survey-bay-3.csv")).unwrap();
    fs::write(&path, format!("{text}height,500,15000,4120,,\n")).unwrap();
    let run = baywright(&[
        "survey",
        "bay-3",
        path.to_str().unwrap(),
        "--shop",
        "demo",
        "--server",
        NOBODY,
    ]);
    assert_eq!(run.code, 2);
    let line = text.lines().count() + 1;
    assert_eq!(
        run.stderr,
        format!(
            "error: {}:{line}: height_mm is \"4120\"; it must be a number from -500 to 500 mm\n\
             hint: heights are measured from the survey's datum, in millimetres\n\
             1 fault; nothing was sent.\n",
            path.display()
        )
    );
}
