//! A file as a tree of values, each with its line. TOML and JSON both become one, so that one
//! reader serves both.

/// A value and the line it begins on, counted from 1.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Node {
    pub(crate) line: usize,
    pub(crate) value: Value,
}

/// What a node holds.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Value {
    Table(Vec<Entry>),
    List(Vec<Node>),
    Text(String),
    /// As read and as written.
    Number(f64, String),
    Flag(bool),
    /// A date or time that the file's own grammar knows, as written.
    Instant(String),
    Null,
}

/// One key of a table with its value.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Entry {
    pub(crate) key: String,
    pub(crate) node: Node,
}

impl Node {
    /// The value as a fault shows it.
    pub(crate) fn shown(&self) -> String {
        match &self.value {
            Value::Table(_) => "a table".to_owned(),
            Value::List(items) => format!("a list of {}", items.len()),
            Value::Text(text) => format!("\"{text}\""),
            Value::Number(_, written) => written.clone(),
            Value::Flag(flag) => flag.to_string(),
            Value::Instant(text) => text.clone(),
            Value::Null => "null".to_owned(),
        }
    }
}

/// Finds the line of a place in a text.
#[derive(Debug)]
pub(crate) struct Lines {
    starts: Vec<usize>,
}

impl Lines {
    pub(crate) fn of(text: &str) -> Self {
        let after_breaks =
            text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(at, _)| at + 1);
        Self { starts: std::iter::once(0).chain(after_breaks).collect() }
    }

    /// The line, counted from 1, of a byte offset.
    pub(crate) fn line_at(&self, offset: usize) -> usize {
        self.starts.partition_point(|start| *start <= offset)
    }
}
