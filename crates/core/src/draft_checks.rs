//! The checks that several drafts share: texts, list lengths and names that must differ.

use crate::fault::{Fault, FaultList};
use std::collections::BTreeMap;
use std::fmt;

/// The longest text of one line: a title, a question, a document's reference; in characters.
pub(crate) const TEXT_LENGTH_MAX: usize = 300;

/// Notes a fault unless `text` is one line of 1 to [`TEXT_LENGTH_MAX`] characters, not all blank.
pub(crate) fn one_line(faults: &mut FaultList, field: &str, text: &str) {
    let fits = !text.trim().is_empty()
        && text.chars().count() <= TEXT_LENGTH_MAX
        && !text.chars().any(char::is_control);
    if !fits {
        faults.push(Fault::new(
            field,
            format!("\"{}\"", text.escape_debug()),
            format!("be one line of 1 to {TEXT_LENGTH_MAX} characters"),
            "write it in a few words",
        ));
    }
}

/// Notes a fault when a list is longer than `most`.
pub(crate) fn at_most(faults: &mut FaultList, field: &str, count: usize, most: usize) {
    if count > most {
        faults.push(Fault::new(
            field,
            format!("a list of {count}"),
            format!("hold at most {most}"),
            "split it or leave some out",
        ));
    }
}

/// Notes a fault for every name that stood earlier in the list.
pub(crate) fn unique<'a, T: Ord + fmt::Display + 'a>(
    faults: &mut FaultList,
    list: &str,
    names: impl IntoIterator<Item = &'a T>,
) {
    let mut first_at = BTreeMap::new();
    for (at, name) in names.into_iter().enumerate() {
        if let Some(first) = first_at.get(name) {
            faults.push(Fault::new(
                format!("{list}[{at}].id"),
                name,
                format!("differ from {list}[{first}].id"),
                "give each its own name",
            ));
        } else {
            first_at.insert(name, at);
        }
    }
}

/// Notes a fault when a half-open range of dates is empty.
pub(crate) fn dates_in_order(
    faults: &mut FaultList,
    field: &str,
    from: chrono::NaiveDate,
    until: chrono::NaiveDate,
) {
    if until <= from {
        faults.push(Fault::new(
            field,
            until,
            format!("be later than {from}"),
            "name the first day on which it no longer holds",
        ));
    }
}
