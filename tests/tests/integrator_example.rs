//! The example for whoever connects another system, run against the demonstration as a person starts it.
#![cfg(test)]
#![cfg(unix)]

mod common;
#[path = "common/python.rs"]
mod python;

use common::service_binary;
use std::{
    io::{BufRead as _, BufReader},
    process::{Child, ChildStdout, Command, Output, Stdio},
};
use tempfile::TempDir;

/// The demonstration, up and planned; it ends with the value.
struct Demo {
    child: Child,
    address: String,
    /// Kept open, so that the demonstration can go on printing.
    _printed: BufReader<ChildStdout>,
    _temporary: TempDir,
}

impl Demo {
    fn start() -> Self {
        let temporary = tempfile::tempdir().unwrap();
        let mut command = Command::new(service_binary());
        command.args(["demo", "--listen", "127.0.0.1:0"]).current_dir(temporary.path());
        command.env("TMPDIR", temporary.path());
        for name in ["BAYWRIGHT_LISTEN", "BAYWRIGHT_LOG", "BAYWRIGHT_DATABASE"] {
            command.env_remove(name);
        }
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let mut printed = BufReader::new(child.stdout.take().unwrap());
        let mut day = String::new();
        while !day.ends_with("Ctrl-C ends the demo.\n") {
            let read = printed.read_line(&mut day).unwrap();
            assert!(read > 0, "it ended by itself after:\n{day}");
        }
        let (_, rest) = day.split_once("--server ").expect("the day names the server");
        let address = rest.split_whitespace().next().expect("an address").to_owned();
        Self { child, address, _printed: printed, _temporary: temporary }
    }
}

impl Drop for Demo {
    fn drop(&mut self) {
        // It may have ended already; the folder is removed afterwards either way.
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

#[test]
fn the_example_sends_an_estimate_and_reads_tasks_promise_and_its_own_changes() {
    let demo = Demo::start();

    // Twice: each run sends a visit of its own and begins its watch where the shop stands then.
    for (job, plan) in [("INT-1", "plan 2"), ("INT-2", "plan 3")] {
        let run = example(&[&demo.address, "--job", job]);

        let said = String::from_utf8_lossy(&run.stdout);
        assert!(run.status.success(), "{said}{}", String::from_utf8_lossy(&run.stderr));
        for line in [
            "ok  refused, as it should be: estimate.weight: ".to_owned(),
            "ok  proposed: surround-view (Surround view, on floor mats), by mirror\n".to_owned(),
            "ok  4 tasks accepted, the work authorised\n".to_owned(),
            format!("ok  {plan}: {job} finishes 2026-05-06T"),
            format!(": job {job} by SubmitEstimate\n"),
            format!(": {plan} by MakePlan\n"),
        ] {
            assert!(said.contains(&line), "{line:?} is not in {said}");
        }
        assert!(said.ends_with("the integrator met no surprise\n"), "{said}");
    }
}

#[test]
fn a_surprise_ends_the_example_with_a_sentence() {
    let demo = Demo::start();

    let unknown_shop = example(&[&demo.address, "--shop", "nobody"]);
    let taken_job = example(&[&demo.address, "--job", "J-1001"]);

    for run in [unknown_shop, taken_job] {
        assert_eq!(run.status.code(), Some(1));
        let said = String::from_utf8_lossy(&run.stderr);
        assert!(said.starts_with("surprise: ") && said.lines().count() == 1, "{said}");
    }
}

fn example(arguments: &[&str]) -> Output {
    python::script("integrator_example.py", arguments)
}
