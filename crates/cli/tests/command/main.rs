//! The command as a person runs it: help, refusals, files with faults, offline planning, and the
//! talk with a service that is away or says no.
#![cfg(test)]

mod calls;
mod exporting;
mod help;
mod refusals;
mod solving;
mod stand_in;
mod streams;

use std::process::{Command, Output};

/// An address at which nothing listens: the first port, long out of use.
const NOBODY: &str = "http://127.0.0.1:1";

/// One run of the command.
struct Run {
    code: i32,
    stdout: String,
    stderr: String,
}

/// Runs the command without the environment's own settings.
fn baywright(arguments: &[&str]) -> Run {
    let mut command = Command::new(env!("CARGO_BIN_EXE_baywright"));
    command.args(arguments);
    for name in ["BAYWRIGHT_SERVER", "BAYWRIGHT_SHOP", "BAYWRIGHT_ACTOR"] {
        command.env_remove(name);
    }
    run(command)
}

fn run(mut command: Command) -> Run {
    let Output { status, stdout, stderr } = command.output().unwrap();
    Run {
        code: status.code().unwrap(),
        stdout: String::from_utf8(stdout).unwrap(),
        stderr: String::from_utf8(stderr).unwrap(),
    }
}

/// A file of the demo shop.
fn demo(name: &str) -> String {
    format!("{}/../service/demo/{name}", env!("CARGO_MANIFEST_DIR"))
}
