//! The survey file: what was measured in a bay on a day, as CSV.
//!
//! Leading lines `# key: value` say when, with what and how well it was measured; then a line
//! that names the columns; then one row per point. The layout is described in `docs/files.md`.

mod header;
mod rows;

use crate::file_fault::{FaultSink, FileFaults, check_size};
use baywright_api::v1::Survey;

/// The longest survey file, bytes.
pub const SURVEY_FILE_BYTES_MAX: usize = 4 * 1024 * 1024;

/// The most points of one kind, as the contract states.
pub const POINTS_MAX: usize = 20_000;

/// Reads a survey file for the bay of that name.
///
/// # Errors
/// Every fault with its line: header lines that are missing, doubled or not known, rows that
/// have other columns, values out of range.
pub fn parse(text: &str, bay_id: &str) -> Result<Survey, FileFaults> {
    check_size(text, SURVEY_FILE_BYTES_MAX)?;
    let faults = FaultSink::default();
    let (header_lines, rows_text) = split(text);
    let mut survey = header::read(&header_lines, &faults);
    bay_id.clone_into(&mut survey.bay_id);
    rows::read(rows_text, header_lines.len(), &mut survey, &faults);
    faults.finish(survey)
}

/// The leading lines that are empty or begin with `#`, and the rest.
fn split(text: &str) -> (Vec<&str>, &str) {
    let mut header = Vec::new();
    let mut rest = text.strip_prefix('\u{feff}').unwrap_or(text);
    while let Some(line) = rest.lines().next() {
        if !(line.trim().is_empty() || line.starts_with('#')) {
            break;
        }
        header.push(line);
        rest = rest.split_once('\n').map_or("", |(_, after)| after);
    }
    (header, rest)
}

#[cfg(test)]
mod tests;
