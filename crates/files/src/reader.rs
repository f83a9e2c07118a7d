//! Reads a tree by key, and notes every fault instead of stopping at the first.
//!
//! A reader always gives a value back: where a fault was noted, a stand-in that nobody sees,
//! because a file with a fault gives no message at all. Keys that were not asked for are faults.

use crate::file_fault::FaultSink;
use crate::tree::{Entry, Node, Value};
use crate::words::Word;
use baywright_core::fault::{Fault, Faults};
use baywright_core::ids::JobId;
use chrono::{DateTime, NaiveDate};
use prost_types::Timestamp;
use std::cell::RefCell;
use std::ops::RangeInclusive;

/// The longest text of a value, in characters.
pub(crate) const TEXT_LENGTH_MAX: usize = 300;

/// A table that is being read.
pub(crate) struct Table<'a> {
    faults: &'a FaultSink,
    entries: &'a [Entry],
    path: String,
    line: usize,
    known: RefCell<Vec<&'static str>>,
}

/// A value that is being read.
pub(crate) struct Field<'a> {
    faults: &'a FaultSink,
    node: &'a Node,
    path: String,
}

impl<'a> Table<'a> {
    /// Reads the outermost table of a file.
    pub(crate) fn read_file<T>(
        node: &'a Node,
        faults: &'a FaultSink,
        read: impl FnOnce(&Self) -> T,
    ) -> Option<T> {
        Field { faults, node, path: String::new() }.table(read)
    }

    fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    /// The value of a key that may be absent.
    pub(crate) fn optional(&self, key: &'static str) -> Option<Field<'a>> {
        self.known.borrow_mut().push(key);
        let entry = self.entries.iter().find(|entry| entry.key == key)?;
        if entry.node.value == Value::Null {
            return None;
        }
        Some(Field { faults: self.faults, node: &entry.node, path: self.path_of(key) })
    }

    /// The value of a key that must be there.
    pub(crate) fn required(&self, key: &'static str, limit: &str) -> Option<Field<'a>> {
        let field = self.optional(key);
        if field.is_none() {
            let remedy = format!("add \"{key}\" here");
            self.faults.push(self.line, Fault::new(self.path_of(key), "missing", limit, remedy));
        }
        field
    }

    /// Notes a fault of the table as a whole, under one of its keys.
    pub(crate) fn fault(&self, key: &str, value: &str, limit: &str, remedy: &str) {
        let line = self
            .entries
            .iter()
            .find(|entry| entry.key == key)
            .map_or(self.line, |entry| entry.node.line);
        self.faults.push(line, Fault::new(self.path_of(key), value, limit, remedy));
    }

    pub(crate) fn id(&self, key: &'static str) -> String {
        self.required(key, "be a short name").and_then(|field| field.id()).unwrap_or_default()
    }

    pub(crate) fn id_or_empty(&self, key: &'static str) -> String {
        self.optional(key).and_then(|field| field.id()).unwrap_or_default()
    }

    pub(crate) fn text(&self, key: &'static str) -> String {
        self.required(key, "be a text").and_then(|field| field.text()).unwrap_or_default()
    }

    pub(crate) fn text_or_empty(&self, key: &'static str) -> String {
        self.optional(key).and_then(|field| field.text()).unwrap_or_default()
    }

    pub(crate) fn number(&self, key: &'static str, range: RangeInclusive<f64>, unit: &str) -> f64 {
        self.required(key, "be a number")
            .and_then(|field| field.number(range, unit))
            .unwrap_or_default()
    }

    pub(crate) fn number_if_any(
        &self,
        key: &'static str,
        range: RangeInclusive<f64>,
        unit: &str,
    ) -> Option<f64> {
        self.optional(key).and_then(|field| field.number(range, unit))
    }

    pub(crate) fn whole(&self, key: &'static str, range: RangeInclusive<u32>) -> u32 {
        self.required(key, "be a whole number")
            .and_then(|field| field.whole(range))
            .unwrap_or_default()
    }

    pub(crate) fn whole_if_any(
        &self,
        key: &'static str,
        range: RangeInclusive<u32>,
    ) -> Option<u32> {
        self.optional(key).and_then(|field| field.whole(range))
    }

    pub(crate) fn flag_or_no(&self, key: &'static str) -> bool {
        self.optional(key).and_then(|field| field.flag()).unwrap_or_default()
    }

    pub(crate) fn date(&self, key: &'static str) -> String {
        self.required(key, "be a date").and_then(|field| field.date()).unwrap_or_default()
    }

    pub(crate) fn date_or_empty(&self, key: &'static str) -> String {
        self.optional(key).and_then(|field| field.date()).unwrap_or_default()
    }

    pub(crate) fn instant(&self, key: &'static str) -> Option<Timestamp> {
        self.required(key, "be a time").and_then(|field| field.instant())
    }

    pub(crate) fn word<W: Word>(&self, key: &'static str) -> i32 {
        self.required(key, &one_of::<W>()).and_then(|field| field.word::<W>()).map_or(0, Into::into)
    }

    /// The value of a key with a nested table.
    pub(crate) fn nested<T>(
        &self,
        key: &'static str,
        read: impl FnOnce(&Table<'_>) -> T,
    ) -> Option<T> {
        self.required(key, "be a table").and_then(|field| field.table(read))
    }

    /// Each value of a list, which may be absent, read by `read`.
    pub(crate) fn each<T>(
        &self,
        key: &'static str,
        most: usize,
        read: impl Fn(&Field<'a>) -> Option<T>,
    ) -> Vec<T> {
        let fields = self.optional(key).map(|field| field.list(most)).unwrap_or_default();
        fields.iter().filter_map(read).collect()
    }

    /// Each table of a list, which may be absent.
    pub(crate) fn tables<T>(
        &self,
        key: &'static str,
        most: usize,
        read: impl Fn(&Table<'_>) -> T,
    ) -> Vec<T> {
        self.each(key, most, |field| field.table(&read))
    }

    /// Notes a fault when a list that must hold something does not.
    pub(crate) fn some_of(&self, key: &'static str, remedy: &str) {
        let empty = self.entries.iter().find(|entry| entry.key == key).is_none_or(
            |entry| matches!(&entry.node.value, Value::List(items) if items.is_empty()),
        );
        if empty {
            self.fault(key, "empty", "hold at least one", remedy);
        }
    }

    fn refuse_unknown_keys(&self) {
        let known = self.known.borrow();
        for entry in self.entries {
            if !known.contains(&entry.key.as_str()) {
                self.faults.push(
                    entry.node.line,
                    Fault::new(
                        self.path_of(&entry.key),
                        "a key that is not known here",
                        format!("be one of {}", known.join(", ")),
                        "correct the spelling or leave it out",
                    ),
                );
            }
        }
    }
}

impl<'a> Field<'a> {
    /// Notes that the value is not as it must be.
    pub(crate) fn refuse(&self, limit: impl Into<String>, remedy: impl Into<String>) {
        self.faults
            .push(self.node.line, Fault::new(self.path.clone(), self.node.shown(), limit, remedy));
    }

    /// Takes the value of `result`, or notes the core's faults here.
    pub(crate) fn take<T>(&self, result: Result<T, Faults>) -> Option<T> {
        result
            .map_err(|faults| {
                for fault in faults.into_list() {
                    self.refuse(fault.limit, fault.remedy);
                }
            })
            .ok()
    }

    /// The text as it stands, whatever it says.
    pub(crate) fn raw_text(&self) -> Option<&'a str> {
        if let Value::Text(text) = &self.node.value {
            return Some(text);
        }
        self.refuse("be a text in quotes", "put it in quotes");
        None
    }

    /// One line of text.
    pub(crate) fn text(&self) -> Option<String> {
        let text = self.raw_text()?;
        let fits = !text.trim().is_empty()
            && text.chars().count() <= TEXT_LENGTH_MAX
            && !text.chars().any(char::is_control);
        if !fits {
            self.refuse(
                format!("be one line of 1 to {TEXT_LENGTH_MAX} characters"),
                "write it in a few words",
            );
            return None;
        }
        Some(text.to_owned())
    }

    /// A name; all kinds of names follow the same rule.
    pub(crate) fn id(&self) -> Option<String> {
        let text = self.raw_text()?;
        self.take(JobId::new(text)).map(|_| text.to_owned())
    }

    pub(crate) fn number(&self, range: RangeInclusive<f64>, unit: &str) -> Option<f64> {
        if let Value::Number(number, _) = &self.node.value
            && range.contains(number)
        {
            return Some(*number);
        }
        let limit = format!("be a number from {} to {} {unit}", range.start(), range.end());
        self.refuse(limit.trim_end(), "correct the number or its unit");
        None
    }

    pub(crate) fn whole(&self, range: RangeInclusive<u32>) -> Option<u32> {
        if let Value::Number(_, written) = &self.node.value
            && let Ok(whole) = written.parse::<u32>()
            && range.contains(&whole)
        {
            return Some(whole);
        }
        self.refuse(
            format!("be a whole number from {} to {}", range.start(), range.end()),
            "correct the number",
        );
        None
    }

    pub(crate) fn flag(&self) -> Option<bool> {
        if let Value::Flag(flag) = self.node.value {
            return Some(flag);
        }
        self.refuse("be true or false", "write true or false, without quotes");
        None
    }

    /// A date as `YYYY-MM-DD`, in quotes or, in TOML, without.
    pub(crate) fn date(&self) -> Option<String> {
        if let Value::Text(text) | Value::Instant(text) = &self.node.value
            && is_date(text)
        {
            return Some(text.clone());
        }
        self.refuse("be a date such as 2026-05-05", "write year, month and day");
        None
    }

    /// An instant after RFC 3339.
    pub(crate) fn instant(&self) -> Option<Timestamp> {
        if let Value::Text(text) | Value::Instant(text) = &self.node.value
            && let Ok(instant) = DateTime::parse_from_rfc3339(text)
        {
            let seconds = instant.timestamp();
            let nanos = i32::try_from(instant.timestamp_subsec_nanos()).unwrap_or(0);
            return Some(Timestamp { seconds, nanos });
        }
        self.refuse(
            "be a time with its offset, such as 2026-05-05T07:30:00+01:00 (RFC 3339)",
            "write date, time and the offset from UTC",
        );
        None
    }

    pub(crate) fn word<W: Word>(&self) -> Option<W> {
        let word = W::from_word(self.raw_text()?);
        if word.is_none() {
            self.refuse(one_of::<W>(), "use one of these spellings");
        }
        word
    }

    pub(crate) fn list(&self, most: usize) -> Vec<Field<'a>> {
        let Value::List(items) = &self.node.value else {
            self.refuse(
                "be a list",
                "write it as a list, in square brackets or as tables of that name",
            );
            return Vec::new();
        };
        if items.len() > most {
            self.refuse(format!("hold at most {most}"), "split it or leave some out");
            return Vec::new();
        }
        items
            .iter()
            .enumerate()
            .map(|(at, node)| Field {
                faults: self.faults,
                node,
                path: format!("{}[{at}]", self.path),
            })
            .collect()
    }

    pub(crate) fn is_table(&self) -> bool {
        matches!(self.node.value, Value::Table(_))
    }

    /// Reads a table, then refuses the keys that were not asked for.
    pub(crate) fn table<T>(&self, read: impl FnOnce(&Table<'a>) -> T) -> Option<T> {
        let Value::Table(entries) = &self.node.value else {
            self.refuse("be a table", "write it with its keys and values");
            return None;
        };
        let table = Table {
            faults: self.faults,
            entries,
            path: self.path.clone(),
            line: self.node.line,
            known: RefCell::new(Vec::new()),
        };
        let value = read(&table);
        table.refuse_unknown_keys();
        Some(value)
    }
}

fn one_of<W: Word>() -> String {
    let words: Vec<String> = W::all().into_iter().map(Word::word).collect();
    format!("be one of {}", words.join(", "))
}

/// Whether a text is a date of the calendar, as `YYYY-MM-DD`.
pub(crate) fn is_date(text: &str) -> bool {
    text.len() == 10 && NaiveDate::parse_from_str(text, "%Y-%m-%d").is_ok()
}
