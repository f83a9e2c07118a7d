//! Reads JSON into a tree with lines.
//!
//! The JSON library hands out each value as the piece of the text that it is; where the piece
//! begins says on which line it stands.

use crate::file_fault::FaultSink;
use crate::tree::{Entry, Lines, Node, Value};
use baywright_core::fault::Fault;
use serde::Deserialize;
use serde::de::{Deserializer, MapAccess, Visitor};
use serde_json::value::RawValue;
use std::fmt;

/// How deep tables and lists may lie within each other.
const DEPTH_MAX: usize = 16;

/// The tree of a JSON text, or nothing when a fault of the grammar was noted.
pub(crate) fn parse(text: &str, faults: &FaultSink) -> Option<Node> {
    let reader = JsonReader { text, lines: Lines::of(text), faults };
    match serde_json::from_str::<&RawValue>(text) {
        Ok(raw) => reader.node(raw, DEPTH_MAX),
        Err(error) => {
            reader.refuse(error.line().max(1), &error);
            None
        }
    }
}

struct JsonReader<'a> {
    text: &'a str,
    lines: Lines,
    faults: &'a FaultSink,
}

impl JsonReader<'_> {
    fn node(&self, raw: &RawValue, depth_left: usize) -> Option<Node> {
        let piece = raw.get();
        let line =
            self.lines.line_at(piece.as_ptr().addr().saturating_sub(self.text.as_ptr().addr()));
        if depth_left == 0 {
            self.faults.push(
                line,
                Fault::new(
                    "the text",
                    format!("more than {DEPTH_MAX} levels deep"),
                    format!("be at most {DEPTH_MAX} levels deep"),
                    "follow the documented layout",
                ),
            );
            return None;
        }
        let value = match piece.as_bytes().first() {
            Some(b'{') => Value::Table(self.entries(line, piece, depth_left)?),
            Some(b'[') => {
                let items: Vec<&RawValue> = self.read(line, piece)?;
                Value::List(
                    items.into_iter().filter_map(|item| self.node(item, depth_left - 1)).collect(),
                )
            }
            Some(b'"') => Value::Text(self.read(line, piece)?),
            Some(b't' | b'f') => Value::Flag(self.read(line, piece)?),
            Some(b'n') => Value::Null,
            _ => Value::Number(self.read(line, piece)?, piece.to_owned()),
        };
        Some(Node { line, value })
    }

    fn entries(&self, line: usize, piece: &str, depth_left: usize) -> Option<Vec<Entry>> {
        let Pairs(pairs) = self.read(line, piece)?;
        let mut entries: Vec<Entry> = Vec::new();
        for (key, raw) in pairs {
            let Some(node) = self.node(raw, depth_left - 1) else { continue };
            if let Some(first) = entries.iter().find(|entry| entry.key == key) {
                self.faults.push(
                    node.line,
                    Fault::new(
                        key,
                        format!("given twice, first on line {}", first.node.line),
                        "be given once",
                        "leave one of the two out",
                    ),
                );
                continue;
            }
            entries.push(Entry { key, node });
        }
        Some(entries)
    }

    fn read<'de, T: Deserialize<'de>>(&self, line: usize, piece: &'de str) -> Option<T> {
        serde_json::from_str(piece).map_err(|error| self.refuse(line, &error)).ok()
    }

    fn refuse(&self, line: usize, error: &serde_json::Error) {
        self.faults.push(
            line,
            Fault::new(
                "the text",
                "not JSON",
                format!("be JSON: {error}"),
                "mend the line; a missing comma or quote is the usual cause",
            ),
        );
    }
}

/// The keys of a table in the order written, doubles kept.
struct Pairs<'a>(Vec<(String, &'a RawValue)>);

impl<'de: 'a, 'a> Deserialize<'de> for Pairs<'a> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct PairsVisitor;
        impl<'de> Visitor<'de> for PairsVisitor {
            type Value = Pairs<'de>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a table")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut pairs = Vec::new();
                while let Some(pair) = map.next_entry()? {
                    pairs.push(pair);
                }
                Ok(Pairs(pairs))
            }
        }
        deserializer.deserialize_map(PairsVisitor)
    }
}
