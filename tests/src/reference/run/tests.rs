//! The runner over small folders of its own.

use super::*;

/// Writes the files into a fresh folder and runs over it: the tally, and what was printed.
fn run_over(files: &[(&str, &str)]) -> (Tally, String, String) {
    let folder = tempfile::tempdir().unwrap();
    for (file, text) in files {
        fs::write(folder.path().join(file), text).unwrap();
    }
    let (mut out, mut notes) = (Vec::new(), Vec::new());
    let tally = run(&[folder.path().to_owned()], &mut out, &mut notes).unwrap();
    (tally, String::from_utf8(out).unwrap(), String::from_utf8(notes).unwrap())
}

#[test]
fn cases_pass_fail_and_are_skipped_and_the_tally_closes_the_output() {
    let (tally, out, notes) = run_over(&[(
        "vin_cases.json",
        // The published example, the same called wrong, and a kind that nobody checks.
        r#"{"cases": [{"vin": "11111111111111111", "valid": true},
                          {"vin": "11111111111111111", "valid": false}],
                "unheard_of": [{"x": 1}, {"x": 2}]}"#,
    )]);
    assert_eq!(tally, Tally { passed: 1, failed: 1, skipped: 2 });
    let lines: Vec<_> = out.lines().collect();
    let [failure, closing] = lines[..] else { panic!("two lines expected: {out}") };
    assert!(failure.starts_with("FAIL "), "{failure}");
    assert!(failure.ends_with("vin_cases.json cases[1]: expected valid false, got true"));
    assert_eq!(closing, "1 passed, 1 failed, 2 skipped");
    assert!(notes.contains("unheard_of: 2"), "{notes}");
}

#[test]
fn what_cannot_be_read_or_has_no_cases_is_a_failure() {
    let (tally, out, _) = run_over(&[
        ("broken.json", "{"),
        ("empty.json", "{}"),
        ("half.json", r#"{"cases": [{"zone": "UTC", "wall": "soon", "utc": []}]}"#),
        ("notes.md", "no case file"),
    ]);
    assert_eq!(tally, Tally { passed: 0, failed: 3, skipped: 0 }, "{out}");
}

#[test]
fn a_folder_that_is_not_there_is_a_failure() {
    let (mut out, mut notes) = (Vec::new(), Vec::new());
    let missing = tempfile::tempdir().unwrap().path().join("missing");
    assert_eq!(run(&[missing], &mut out, &mut notes).unwrap().failed, 1);
}
