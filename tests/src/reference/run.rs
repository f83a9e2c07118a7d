//! Reading folders, judging their cases and telling the outcome.

use super::{Case, KINDS, Mismatch, split};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fmt;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// How many cases had which outcome.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Cases whose values we meet.
    pub passed: usize,
    /// Cases whose values we miss, and files that cannot be read.
    pub failed: usize,
    /// Cases of a kind that is not checked.
    pub skipped: usize,
}

impl fmt::Display for Tally {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} passed, {} failed, {} skipped", self.passed, self.failed, self.skipped)
    }
}

/// Judges every case in the `*.json` files that lie directly in the folders. `out` takes a line
/// for each failure and the tally; `notes` what was skipped and why.
///
/// # Errors
/// When `out` or `notes` cannot be written.
pub fn run(folders: &[PathBuf], out: &mut dyn Write, notes: &mut dyn Write) -> io::Result<Tally> {
    let mut tally = Tally::default();
    for folder in folders {
        match json_files(folder) {
            Ok(files) => {
                for file in files {
                    judge_file(&file, &mut tally, out, notes)?;
                }
            }
            Err(error) => fail(&mut tally, out, folder, "", &unreadable("a folder", &error))?,
        }
    }
    writeln!(out, "{tally}")?;
    Ok(tally)
}

/// The case files of a folder, by name.
fn json_files(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.extension().is_some_and(|extension| extension == "json") && !path.is_dir() {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

fn judge_file(
    file: &Path,
    tally: &mut Tally,
    out: &mut dyn Write,
    notes: &mut dyn Write,
) -> io::Result<()> {
    let document: Value = match fs::read(file).map(|bytes| serde_json::from_slice(&bytes)) {
        Ok(Ok(document)) => document,
        Ok(Err(error)) => return fail(tally, out, file, "", &unreadable("JSON", &error)),
        Err(error) => return fail(tally, out, file, "", &unreadable("a file", &error)),
    };
    let cases = split(&document);
    if cases.is_empty() {
        return fail(tally, out, file, "", &Mismatch::new("cases", "none in a form described"));
    }
    let mut skipped: BTreeMap<&str, usize> = BTreeMap::new();
    for case in &cases {
        match judge(case) {
            None => *skipped.entry(&case.section).or_default() += 1,
            Some(Ok(())) => tally.passed += 1,
            Some(Err(mismatch)) => fail(tally, out, file, &case.label(), &mismatch)?,
        }
    }
    for (section, count) in skipped {
        tally.skipped += count;
        let file = file.display();
        writeln!(notes, "skipped {file} {section}: {count} of a kind that is not checked")?;
    }
    Ok(())
}

/// The outcome of a case, if a kind recognises it.
fn judge(case: &Case<'_>) -> Option<Result<(), Mismatch>> {
    let kind = KINDS.iter().find(|kind| (kind.recognises)(case))?;
    Some((kind.check)(case))
}

fn unreadable(what: &str, error: &dyn fmt::Display) -> Mismatch {
    Mismatch::new(format!("{what} that can be read"), error.to_string())
}

fn fail(
    tally: &mut Tally,
    out: &mut dyn Write,
    file: &Path,
    case: &str,
    mismatch: &Mismatch,
) -> io::Result<()> {
    tally.failed += 1;
    let gap = if case.is_empty() { "" } else { " " };
    writeln!(out, "FAIL {}{gap}{case}: {mismatch}", file.display())
}

#[cfg(test)]
mod tests;
