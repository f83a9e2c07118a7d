//! Writes TOML in the layout of the shop file: tables in order, one key on a line.

use crate::words::Word;
use std::fmt::{Display, Write as _};

/// A list longer than this stands on several lines.
const ONE_LINE_ITEMS_MAX: usize = 8;

/// The keys of one table in the order given. What is absent is left out.
#[derive(Debug, Default)]
pub(crate) struct Keys(Vec<(&'static str, String)>);

impl Keys {
    /// A value that is TOML already.
    pub(crate) fn raw(mut self, key: &'static str, value: impl Display) -> Self {
        self.0.push((key, value.to_string()));
        self
    }

    pub(crate) fn raw_if_any(self, key: &'static str, value: Option<impl Display>) -> Self {
        match value {
            Some(value) => self.raw(key, value),
            None => self,
        }
    }

    pub(crate) fn text(self, key: &'static str, text: &str) -> Self {
        self.raw(key, quoted(text))
    }

    pub(crate) fn text_if_any(self, key: &'static str, text: &str) -> Self {
        if text.is_empty() { self } else { self.text(key, text) }
    }

    /// A number that is mostly written with its decimals, such as an angle.
    pub(crate) fn real(self, key: &'static str, number: f64) -> Self {
        self.raw(key, format!("{number:?}"))
    }

    /// A number that stands only where it is not the usual 0.
    pub(crate) fn number_unless_0(self, key: &'static str, number: f64) -> Self {
        if number == 0.0 { self } else { self.raw(key, number) }
    }

    pub(crate) fn whole_unless_0(self, key: &'static str, number: u32) -> Self {
        if number == 0 { self } else { self.raw(key, number) }
    }

    pub(crate) fn word<W: Word>(self, key: &'static str, number: i32) -> Self {
        self.text(key, &W::word_of(number))
    }

    pub(crate) fn date(self, key: &'static str, date: &str) -> Self {
        self.raw(key, date_text(date))
    }

    pub(crate) fn date_if_any(self, key: &'static str, date: &str) -> Self {
        if date.is_empty() { self } else { self.date(key, date) }
    }

    /// A list of names.
    pub(crate) fn names(self, key: &'static str, names: &[String]) -> Self {
        let names: Vec<String> = names.iter().map(|name| quoted(name)).collect();
        self.list(key, &names)
    }

    /// A list of values that are TOML already; an empty one is left out.
    pub(crate) fn list(self, key: &'static str, items: &[String]) -> Self {
        if items.is_empty() {
            return self;
        }
        if items.len() > ONE_LINE_ITEMS_MAX {
            return self.list_in_lines(key, items);
        }
        self.raw(key, format!("[{}]", items.join(", ")))
    }

    /// A list with one value on a line.
    pub(crate) fn list_in_lines(self, key: &'static str, items: &[String]) -> Self {
        if items.is_empty() {
            return self;
        }
        self.raw(key, format!("[\n  {},\n]", items.join(",\n  ")))
    }

    /// The table as a value: `{ reference = "page 2", checked_on = 2026-04-20 }`.
    pub(crate) fn inline(self) -> String {
        if self.0.is_empty() {
            return "{}".to_owned();
        }
        let pairs: Vec<String> =
            self.0.into_iter().map(|(key, value)| format!("{key} = {value}")).collect();
        format!("{{ {} }}", pairs.join(", "))
    }
}

/// A file that is being written.
#[derive(Debug)]
pub(crate) struct TomlText(String);

impl TomlText {
    /// Begins with a remark of one or more lines.
    pub(crate) fn begin(remark: &str) -> Self {
        Self(remark.lines().fold(String::new(), |text, line| text + "# " + line + "\n"))
    }

    /// Adds `[name]` with its keys.
    pub(crate) fn table(&mut self, name: &str, keys: Keys) {
        self.headed(&format!("[{name}]"), keys);
    }

    /// Adds `[[name]]` with its keys: one more of that name.
    pub(crate) fn item(&mut self, name: &str, keys: Keys) {
        self.headed(&format!("[[{name}]]"), keys);
    }

    fn headed(&mut self, head: &str, keys: Keys) {
        // Writing into a text cannot fail.
        let _written = writeln!(self.0, "\n{head}");
        for (key, value) in keys.0 {
            let _written = writeln!(self.0, "{key} = {value}");
        }
    }

    pub(crate) fn end(self) -> String {
        self.0
    }
}

/// A text in quotes, with what cannot stand there escaped (TOML 1.0, basic strings).
pub(crate) fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for character in text.chars() {
        match character {
            '"' | '\\' => quoted.extend(['\\', character]),
            control if control.is_control() => {
                // Writing into a text cannot fail.
                let _written = write!(quoted, "\\u{:04X}", u32::from(control));
            }
            other => quoted.push(other),
        }
    }
    quoted.push('"');
    quoted
}

/// A date stands without quotes where it has TOML's own form.
fn date_text(date: &str) -> String {
    let plain = date.len() == 10
        && date.bytes().enumerate().all(|(at, byte)| match at {
            4 | 7 => byte == b'-',
            _ => byte.is_ascii_digit(),
        });
    if plain { date.to_owned() } else { quoted(date) }
}
