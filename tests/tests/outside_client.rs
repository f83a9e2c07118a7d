//! The running service as a client sees it that shares no code with ours: Python, with nothing but
//! server reflection to learn the contract from.
#![cfg(test)]
#![cfg(unix)]

mod common;
#[path = "common/python.rs"]
mod python;

use common::service_binary;
use std::{
    io::{BufRead as _, BufReader},
    process::{Child, Command, Output, Stdio},
};
use tempfile::TempDir;

/// When the service's clock begins, and its date.
const CLOCK_START: &str = "2026-05-05T06:30:00Z";
const DAY: &str = "2026-05-05";

/// A service on a database of its own; it ends with the value.
struct Served {
    child: Child,
    address: String,
    _folder: TempDir,
}

impl Served {
    fn start() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut child = Command::new(service_binary())
            .args(["serve", "--listen", "127.0.0.1:0", "--clock-start", CLOCK_START])
            .arg("--database")
            .arg(folder.path().join("shop.db"))
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let address = line.strip_prefix("listening on ").expect("the service listens").trim_end();
        Self { child, address: address.to_owned(), _folder: folder }
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        // It may have ended already; the folder is removed afterwards either way.
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

#[test]
fn a_client_without_our_code_takes_a_job_from_estimate_to_hand_back() {
    let served = Served::start();

    // Twice: it brings a shop of its own each time.
    for _ in 0..2 {
        let walk = outside_client(&[&served.address, "--day", DAY]);

        let said = String::from_utf8_lossy(&walk.stdout);
        assert!(walk.status.success(), "{said}{}", String::from_utf8_lossy(&walk.stderr));
        assert!(said.contains("ok  job OUT-1 handed back; 4 records are kept"), "{said}");
        assert!(said.ends_with("the outside client met no surprise\n"), "{said}");
    }
}

#[test]
fn a_surprise_ends_the_client_with_a_sentence() {
    let served = Served::start();

    // Its survey is then taken in the service's future and does not count.
    let walk = outside_client(&[&served.address, "--day", "2027-05-05"]);

    assert_eq!(walk.status.code(), Some(1));
    let said = String::from_utf8_lossy(&walk.stderr);
    assert!(said.starts_with("surprise: "), "{said}");
    assert!(said.trim_end().ends_with('.'), "{said}");
}

fn outside_client(arguments: &[&str]) -> Output {
    python::script("outside_client.py", arguments)
}
