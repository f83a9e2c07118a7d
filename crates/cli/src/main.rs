//! The `baywright` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    baywright_cli::run(std::env::args_os())
}
