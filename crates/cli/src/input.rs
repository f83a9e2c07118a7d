//! Reads the files that a command was given.

use crate::failure::Failure;
use baywright_files::FileFaults;
use std::path::{Path, PathBuf};

/// The text of a file, refused unread where it is too long.
pub(crate) fn text(path: &Path, bytes_max: usize) -> Result<String, Failure> {
    let access = |cause| Failure::FileAccess { path: path.to_owned(), cause };
    let bytes = std::fs::metadata(path).map_err(access)?.len();
    let bytes_max = u64::try_from(bytes_max).unwrap_or(u64::MAX);
    if bytes > bytes_max {
        return Err(Failure::FileTooLong { path: path.to_owned(), bytes, bytes_max });
    }
    std::fs::read_to_string(path).map_err(access)
}

/// Reads a file into its message, or gives its faults.
pub(crate) fn parsed<T>(
    path: &Path,
    bytes_max: usize,
    parse: impl Fn(&str) -> Result<T, FileFaults>,
) -> Result<T, Failure> {
    let text = text(path, bytes_max)?;
    parse(&text).map_err(|faults| Failure::FileFaults(vec![(path.to_owned(), faults)]))
}

/// Reads every file into its message, or gives the faults of all.
pub(crate) fn all_parsed<T>(
    paths: &[PathBuf],
    bytes_max: usize,
    parse: impl Fn(&str) -> Result<T, FileFaults>,
) -> Result<Vec<T>, Failure> {
    let mut messages = Vec::new();
    let mut faulty = Vec::new();
    for path in paths {
        match parse(&text(path, bytes_max)?) {
            Ok(message) => messages.push(message),
            Err(faults) => faulty.push((path.clone(), faults)),
        }
    }
    if faulty.is_empty() { Ok(messages) } else { Err(Failure::FileFaults(faulty)) }
}
