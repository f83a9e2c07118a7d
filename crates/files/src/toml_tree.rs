//! Reads TOML into a tree. Every fault of the grammar is reported, not the first alone.

use crate::file_fault::FaultSink;
use crate::tree::{Entry, Lines, Node, Value};
use baywright_core::fault::Fault;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The tree of a TOML text; what could not be read is noted and left out.
pub(crate) fn parse(text: &str, faults: &FaultSink) -> Node {
    let lines = Lines::of(text);
    let (table, errors) = DeTable::parse_recoverable(text);
    for error in errors {
        let span = error.span().unwrap_or(0..0);
        let given = text.get(span.clone()).unwrap_or_default();
        faults.push(
            lines.line_at(span.start),
            Fault::new(
                "the text",
                format!("\"{}\"", given.escape_debug()),
                format!("be TOML: {}", error.message().replace('\n', ", ")),
                "mend the line; names of keys and quotes are the usual cause",
            ),
        );
    }
    Node { line: 1, value: table_value(table.get_ref(), &lines) }
}

fn table_value(table: &DeTable<'_>, lines: &Lines) -> Value {
    let mut entries: Vec<Entry> = table
        .iter()
        .map(|(key, value)| {
            let mut node = node(value, lines);
            node.line = lines.line_at(key.span().start);
            Entry { key: key.get_ref().to_string(), node }
        })
        .collect();
    entries.sort_by_key(|entry| entry.node.line);
    Value::Table(entries)
}

fn node(value: &Spanned<DeValue<'_>>, lines: &Lines) -> Node {
    let line = lines.line_at(value.span().start);
    let value = match value.get_ref() {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Integer(number) => i64::from_str_radix(number.as_str(), number.radix()).map_or(
            Value::Text(number.to_string()),
            |whole| {
                #[expect(
                    clippy::cast_precision_loss,
                    reason = "whole numbers past 2^53 are out of every range here"
                )]
                Value::Number(whole as f64, whole.to_string())
            },
        ),
        DeValue::Float(number) => {
            number.as_str().parse().map_or(Value::Text(number.to_string()), |real| {
                Value::Number(real, number.to_string())
            })
        }
        DeValue::Boolean(flag) => Value::Flag(*flag),
        DeValue::Datetime(instant) => Value::Instant(instant.to_string()),
        DeValue::Array(items) => Value::List(items.iter().map(|item| node(item, lines)).collect()),
        DeValue::Table(table) => table_value(table, lines),
    };
    Node { line, value }
}
