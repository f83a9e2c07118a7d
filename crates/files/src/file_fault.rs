//! What is wrong with a file: the core's faults, each with the line it stands on.

use baywright_core::fault::Fault;
use std::cell::{Cell, RefCell};
use std::fmt;

/// The most faults that are kept of one file; further ones are counted only.
pub const FAULTS_MAX: usize = 1_000;

/// One fault of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileFault {
    line: usize,
    fault: Fault,
}

impl FileFault {
    /// States a fault on a line, counted from 1.
    pub fn new(line: usize, fault: Fault) -> Self {
        Self { line, fault }
    }

    /// The line, counted from 1.
    pub fn line(&self) -> usize {
        self.line
    }

    /// Path, value, limit and remedy.
    pub fn fault(&self) -> &Fault {
        &self.fault
    }

    /// The two lines that a person reads, with the file's name before the line number.
    pub fn in_file(&self, file: &str) -> String {
        self.sentence(&format!("{file}:{}", self.line))
    }

    fn sentence(&self, place: &str) -> String {
        let Fault { field, value, limit, remedy } = &self.fault;
        format!("error: {place}: {field} is {value}; it must {limit}\nhint: {remedy}")
    }
}

impl fmt::Display for FileFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.sentence(&format!("line {}", self.line)))
    }
}

/// All faults of one file, by line; never empty.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{} fault(s) in the file, the first on line {}", .list.len() + .more, .list[0].line)]
pub struct FileFaults {
    list: Vec<FileFault>,
    more: usize,
}

impl FileFaults {
    /// The faults by line, at most [`FAULTS_MAX`].
    pub fn list(&self) -> &[FileFault] {
        &self.list
    }

    /// How many faults there are beyond the list.
    pub fn more(&self) -> usize {
        self.more
    }
}

impl From<FileFault> for FileFaults {
    fn from(fault: FileFault) -> Self {
        Self { list: vec![fault], more: 0 }
    }
}

/// Collects faults while a file is being read. Readers share it, hence the cells.
#[derive(Debug, Default)]
pub(crate) struct FaultSink {
    list: RefCell<Vec<FileFault>>,
    more: Cell<usize>,
}

impl FaultSink {
    pub(crate) fn push(&self, line: usize, fault: Fault) {
        let mut list = self.list.borrow_mut();
        if list.len() < FAULTS_MAX {
            list.push(FileFault::new(line, fault));
        } else {
            self.more.set(self.more.get() + 1);
        }
    }

    pub(crate) fn finish<T>(self, value: T) -> Result<T, FileFaults> {
        let mut list = self.list.into_inner();
        if list.is_empty() {
            return Ok(value);
        }
        list.sort_by_key(FileFault::line);
        Err(FileFaults { list, more: self.more.get() })
    }
}

/// Refuses a text longer than a file of its sort may be.
pub(crate) fn check_size(text: &str, bytes_max: usize) -> Result<(), FileFaults> {
    if text.len() <= bytes_max {
        return Ok(());
    }
    Err(FileFault::new(
        1,
        Fault::new(
            "the file",
            format!("{} bytes long", text.len()),
            format!("be at most {bytes_max} bytes long"),
            "split the file or leave out what is not needed",
        ),
    )
    .into())
}
