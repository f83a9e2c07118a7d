//! Checks the program against folders of reference cases:
//! `cargo run --release -p baywright-tests --bin reference -- FOLDER...`.
//!
//! Every `*.json` file that lies directly in a folder given is read. Standard output takes a line
//! for each failing case and closes with `N passed, N failed, N skipped`; what was skipped is told
//! on standard error. The exit code is 1 when a case failed, 2 when no folder was given.

use baywright_tests::reference;
use std::ffi::OsStr;
use std::io::{self, Write as _};
use std::path::PathBuf;
use std::process::ExitCode;

fn main() -> ExitCode {
    let folders: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    if folders.is_empty() || folders.iter().any(|folder| looks_like_an_option(folder.as_os_str())) {
        return match writeln!(io::stderr(), "usage: reference FOLDER...") {
            Ok(()) | Err(_) => ExitCode::from(2),
        };
    }
    match reference::run(&folders, &mut io::stdout().lock(), &mut io::stderr().lock()) {
        Ok(tally) if tally.failed == 0 => ExitCode::SUCCESS,
        // Output that nobody takes is a failure too.
        Ok(_) | Err(_) => ExitCode::FAILURE,
    }
}

fn looks_like_an_option(argument: &OsStr) -> bool {
    argument.as_encoded_bytes().starts_with(b"-")
}
