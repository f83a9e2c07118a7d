//! The survey file: what was measured in a bay on a day, as CSV.
//!
//! Leading lines `# key: value` say when, with what and how well it was measured; then a line
//! that names the columns; then one row per point. The layout is described in `docs/files.md`.

mod header;
mod rows;

use crate::file_fault::{FaultSink, FileFaults, check_size};
use crate::words::Word as _;
use baywright_api::v1::{LightPlane, Survey};
use std::fmt::Write as _;

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

/// Writes a survey file: for every survey that [`parse`] gives, `parse(&write(&survey), bay)` gives it
/// again. Heights come first, then light readings.
///
/// # Edge cases
/// A datum that the survey does not state is written as `not stated`, because a file must name one.
///
/// # Example: a file read and written says the same
/// ```
/// use baywright_files::survey_file::{parse, write};
/// let text = "# survey: may\n# taken on: 2026-05-04\n# valid until: 2027-05-04\n# instrument: level\
///     \n# datum: door mark\n# unit: mm\n# height uncertainty: 0.5 mm\
///     \nkind,x_mm,y_mm,height_mm,plane,lux\nheight,500,500,2.1,,\n";
/// let survey = parse(text, "bay-1").unwrap();
/// assert_eq!(parse(&write(&survey), "bay-1").unwrap(), survey);
/// ```
pub fn write(survey: &Survey) -> String {
    let mut text = header::text(survey);
    text.push_str(&rows::COLUMNS.join(","));
    text.push('\n');
    // Writing into a text cannot fail.
    for point in &survey.heights {
        let _written = writeln!(text, "height,{},{},{},,", point.x_mm, point.y_mm, point.height_mm);
    }
    for point in &survey.light {
        let plane = LightPlane::word_of(point.plane);
        let (x, y, height, lux) = (point.x_mm, point.y_mm, point.height_mm, point.lux);
        let _written = writeln!(text, "light,{x},{y},{height},{plane},{lux}");
    }
    text
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
