//! Writes an answer to standard output.

use crate::failure::Failure;
use std::io::{ErrorKind, Write as _};

/// Writes the text and a line end. A reader that has gone away is no fault.
pub(crate) fn write(text: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    let written = writeln!(out, "{}", text.trim_end()).and_then(|()| out.flush());
    match written {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(Failure::Output(error)),
        _ => Ok(()),
    }
}
