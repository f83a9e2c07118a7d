//! The `baywright` command: one file per command, which reads its arguments, makes one call and
//! prints the answer.
//!
//! Data goes to standard output, everything else to standard error. Exit codes: 0 done, 1 refused,
//! 2 a fault of usage or of a file, 3 the service cannot be reached.
//!
//! # Example: an unknown command is a fault of usage
//! ```
//! use std::process::ExitCode;
//! let code = baywright_cli::run(["baywright", "no-such-command"].map(Into::into));
//! assert_eq!(format!("{code:?}"), format!("{:?}", ExitCode::from(2)));
//! ```

mod answer;
mod arguments;
mod clock;
mod commands;
mod failure;
mod input;
mod json;
mod output;
mod progress;
mod refusal;
mod session;
mod table;
mod views;

use arguments::Arguments;
use clap::Parser as _;
use failure::Failure;
use std::ffi::OsString;
use std::io::Write as _;
use std::process::ExitCode;

/// Runs the command with these arguments, the first being the program's own name.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(error) => {
            // Help asked for goes to standard output with code 0, faults to standard error with 2.
            let shown = error.print();
            return ExitCode::from(if error.use_stderr() || shown.is_err() { 2 } else { 0 });
        }
    };
    match dispatch(arguments) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            // Nothing is left to do when standard error is closed too.
            let _written = writeln!(std::io::stderr().lock(), "{failure}");
            ExitCode::from(failure.exit_code())
        }
    }
}

fn dispatch(arguments: Arguments) -> Result<(), Failure> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(Failure::Machine)?;
    runtime.block_on(commands::run(arguments))
}
