//! Reading a message field by field while every fault is noted under its path.
//!
//! A checking constructor wants whole parts, but a caller wants all faults at once. So a part that
//! was refused is noted and replaced by a stand-in, the constructor checks the rest, and what it
//! says about a stand-in is left out again. A stand-in never leaves: the message is refused by then.

use baywright_core::fault::{Fault, FaultList, Faults};
use std::collections::BTreeSet;
use std::ops::{Bound, RangeInclusive};

/// The longest text of one line, in characters.
pub(crate) const LINE_LENGTH_MAX: usize = 300;
/// The longest note, in characters; it may have several lines.
pub(crate) const NOTE_LENGTH_MAX: usize = 2_000;

/// A name that stands in for one that was refused.
const STAND_IN: &str = "stand-in";

/// Ways of noting faults under paths. Readers give none only where not even a stand-in exists.
pub(crate) trait Reading {
    /// Reads a part whose faults stand under the path `outer`.
    fn inside<T>(&mut self, outer: &str, read: impl FnOnce(&mut FaultList) -> T) -> T;

    /// Takes the value of `result`, or notes its faults under their own paths.
    fn own<T>(&mut self, result: Result<T, Faults>) -> Option<T>;

    /// Takes a single value; its faults stand at `field`, whatever they were named inside.
    fn leaf<T>(&mut self, field: &str, result: Result<T, Faults>) -> Option<T>;

    /// Takes a name; a stand-in when it is refused.
    fn name<T>(
        &mut self,
        field: &str,
        text: &str,
        make: impl Fn(String) -> Result<T, Faults>,
    ) -> Option<T> {
        self.leaf(field, make(text.to_owned())).or_else(|| make(STAND_IN.to_owned()).ok())
    }

    /// Takes a name that may be left out.
    fn name_or_none<T>(
        &mut self,
        field: &str,
        text: &str,
        make: impl Fn(String) -> Result<T, Faults>,
    ) -> Option<T> {
        if text.is_empty() { None } else { self.leaf(field, make(text.to_owned())) }
    }

    /// Takes a list of names.
    fn names<T, C: FromIterator<T>>(
        &mut self,
        list: &str,
        texts: &[String],
        make: impl Fn(String) -> Result<T, Faults>,
    ) -> C {
        let texts = texts.iter().enumerate();
        texts.filter_map(|(at, text)| self.name(&format!("{list}[{at}]"), text, &make)).collect()
    }

    /// Reads every message of a list.
    fn each<M, T, C: FromIterator<T>>(
        &mut self,
        list: &str,
        messages: &[M],
        read: impl Fn(&mut FaultList, &M) -> Option<T>,
    ) -> C {
        let messages = messages.iter().enumerate();
        messages
            .filter_map(|(at, message)| {
                self.inside(&format!("{list}[{at}]"), |faults| read(faults, message))
            })
            .collect()
    }

    /// Reads a message that must be there; a stand-in made of an empty message when it is not.
    fn required<M: Default, T>(
        &mut self,
        field: &str,
        message: Option<&M>,
        read: impl FnOnce(&mut FaultList, &M) -> Option<T>,
    ) -> Option<T> {
        if let Some(message) = message {
            return self.inside(field, |faults| read(faults, message));
        }
        self.note(field, "absent", "be given", "fill it in");
        read(&mut FaultList::new(), &M::default())
    }

    /// Reads a message that may be absent.
    fn optional<M, T>(
        &mut self,
        field: &str,
        message: Option<&M>,
        read: impl FnOnce(&mut FaultList, &M) -> Option<T>,
    ) -> Option<T> {
        message.and_then(|message| self.inside(field, |faults| read(faults, message)))
    }

    /// Notes a fault.
    fn note(&mut self, field: &str, value: impl std::fmt::Display, limit: &str, remedy: &str);

    /// Notes a fault when a list has another number of members than the contract allows.
    fn count(&mut self, list: &str, count: usize, allowed: RangeInclusive<usize>) {
        if !allowed.contains(&count) {
            let limit = format!("hold {} to {}", allowed.start(), allowed.end());
            self.note(list, format!("a list of {count}"), &limit, "add or leave out some");
        }
    }

    /// Takes a text of one line that must be there.
    fn line(&mut self, field: &str, text: &str) -> String {
        if text.trim().is_empty() {
            self.note(field, "empty", "be stated", "write it in a few words");
        }
        self.line_or_empty(field, text)
    }

    /// Takes a text of one line that may be empty.
    fn line_or_empty(&mut self, field: &str, text: &str) -> String {
        if text.chars().count() > LINE_LENGTH_MAX || text.chars().any(char::is_control) {
            let value = format!("\"{}\"", text.escape_debug());
            let limit = format!("be one line of at most {LINE_LENGTH_MAX} characters");
            self.note(field, value, &limit, "write it in a few words");
        }
        text.to_owned()
    }

    /// Takes a text that may be empty and may have several lines.
    fn note_or_empty(&mut self, field: &str, text: &str) -> String {
        if text.chars().count() > NOTE_LENGTH_MAX {
            let value = format!("\"{}\"", text.escape_debug());
            let limit = format!("have at most {NOTE_LENGTH_MAX} characters");
            self.note(field, value, &limit, "shorten it");
        }
        text.to_owned()
    }
}

impl Reading for FaultList {
    fn inside<T>(&mut self, outer: &str, read: impl FnOnce(&mut FaultList) -> T) -> T {
        let mut inner = FaultList::new();
        let value = read(&mut inner);
        let _noted: Option<()> = self.take(outer, inner.finish(()));
        value
    }

    fn own<T>(&mut self, result: Result<T, Faults>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(faults) => {
                faults.into_list().into_iter().for_each(|fault| self.push(fault));
                None
            }
        }
    }

    fn leaf<T>(&mut self, field: &str, result: Result<T, Faults>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(faults) => {
                for fault in faults.into_list() {
                    self.push(Fault { field: field.to_owned(), ..fault });
                }
                None
            }
        }
    }

    fn note(&mut self, field: &str, value: impl std::fmt::Display, limit: &str, remedy: &str) {
        self.push(Fault::new(field, value, limit, remedy));
    }
}

/// Reads a whole message and makes it into a core value with a checking constructor.
///
/// `in_contract` turns a path of the core into one of the contract.
pub(crate) fn whole<D, T>(
    read: impl FnOnce(&mut FaultList) -> Option<D>,
    make: impl FnOnce(D) -> Result<T, Faults>,
    in_contract: impl Fn(Fault) -> Fault,
) -> Result<T, Faults> {
    let mut faults = FaultList::new();
    match read(&mut faults).map(make) {
        Some(Ok(value)) => faults.finish(value),
        Some(Err(refused)) => with_found(faults, refused, in_contract),
        None => {
            let nothing = Fault::new("", "unreadable", "be a whole message", "send it again");
            faults.finish(()).and(Err(nothing.into()))
        }
    }
}

/// Reads a message whose core type has no checking constructor.
pub(crate) fn plain<T>(read: impl FnOnce(&mut FaultList) -> Option<T>) -> Result<T, Faults> {
    whole(read, Ok, |fault| fault)
}

/// All faults of reading, and those of the constructor that are not about a stand-in.
fn with_found<T>(
    faults: FaultList,
    refused: Faults,
    in_contract: impl Fn(Fault) -> Fault,
) -> Result<T, Faults> {
    let Err(noted) = faults.finish(()) else {
        let mut all = FaultList::new();
        refused.list().iter().cloned().map(in_contract).for_each(|fault| all.push(fault));
        return all.finish(()).and(Err(refused));
    };
    let fields: BTreeSet<String> = noted.list().iter().map(|fault| fault.field.clone()).collect();
    let mut all = FaultList::new();
    noted.list().iter().cloned().for_each(|fault| all.push(fault));
    for fault in refused.into_list().into_iter().map(in_contract) {
        if !is_about_a_stand_in(&fields, &fault.field) {
            all.push(fault);
        }
    }
    all.finish(()).and(Err(noted))
}

/// Whether the field, a message around it or a field inside of it was refused before.
fn is_about_a_stand_in(refused: &BTreeSet<String>, field: &str) -> bool {
    let around = field.match_indices('.').any(|(at, _)| refused.contains(&field[..at]));
    let member = format!("{field}.");
    let mut after = refused.range::<str, _>((Bound::Included(member.as_str()), Bound::Unbounded));
    around || refused.contains(field) || after.next().is_some_and(|next| next.starts_with(&member))
}

/// A path with some of its steps renamed; a rule names a step, with the list before it or `""` for
/// any, and what the contract calls it: `("stations", "id", "station_id")`.
pub(crate) fn renamed(mut fault: Fault, rules: &[(&str, &str, &str)]) -> Fault {
    let mut before = "";
    let mut steps = Vec::new();
    for step in fault.field.split('.') {
        let (name, index) = step.find('[').map_or((step, ""), |bracket| step.split_at(bracket));
        let rule = rules
            .iter()
            .find(|(list, own, _)| *own == name && (list.is_empty() || *list == before));
        steps.push(format!("{}{index}", rule.map_or(name, |(_, _, new)| *new)));
        before = name;
    }
    fault.field = steps.join(".");
    fault
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_core::ids::BayId;

    #[test]
    fn a_name_stands_in_for_one_that_was_refused() {
        let mut faults = FaultList::new();
        let taken = faults.name("bay_id", "no name", BayId::new).unwrap();
        assert_eq!(taken, BayId::new(STAND_IN).unwrap());
        assert_eq!(faults.finish(()).unwrap_err().list().len(), 1);
    }

    #[test]
    fn what_a_constructor_says_about_a_stand_in_is_left_out() {
        let refused: BTreeSet<String> =
            ["stations[0].pose.x_mm", "lines[1].operation_id", "document"]
                .map(str::to_owned)
                .into();
        assert!(is_about_a_stand_in(&refused, "stations[0].pose"));
        assert!(is_about_a_stand_in(&refused, "lines[1].operation_id"));
        assert!(is_about_a_stand_in(&refused, "document.reference"));
        assert!(!is_about_a_stand_in(&refused, "lines"));
        assert!(!is_about_a_stand_in(&refused, "stations[0].pos"));
    }

    #[test]
    fn steps_of_a_path_get_the_contracts_names() {
        let rules = [("stations", "id", "station_id"), ("", "outline_mm", "outline")];
        let at = |field: &str| renamed(Fault::new(field, "", "", ""), &rules).field;
        assert_eq!(at("stations[2].id"), "stations[2].station_id");
        assert_eq!(at("obstructions[1].outline_mm[3].x_mm"), "obstructions[1].outline[3].x_mm");
        assert_eq!(at("methods[0].id"), "methods[0].id");
        assert_eq!(at(""), "");
    }
}
