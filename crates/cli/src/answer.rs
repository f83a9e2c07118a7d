//! Writes an answer to standard output.

use crate::failure::Failure;
use std::io::{ErrorKind, Write as _};

/// Writes the text and a line end. A reader that has gone away is no fault.
pub(crate) fn write(text: &str) -> Result<(), Failure> {
    write_on(text).map(|_reader| ())
}

/// Whether there is still somebody who reads standard output.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Reader {
    There,
    Gone,
}

/// Writes the text and a line end, one of many.
pub(crate) fn write_on(text: &str) -> Result<Reader, Failure> {
    let mut out = std::io::stdout().lock();
    let written = writeln!(out, "{}", text.trim_end()).and_then(|()| out.flush());
    match written {
        Ok(()) => Ok(Reader::There),
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(Reader::Gone),
        Err(error) => Err(Failure::Output(error)),
    }
}
