//! The audit trail: an entry's heading, then a line for each field that changed.

use crate::clock::ShopClock;
use baywright_api::v1::{AuditEntry, FieldChange, ThingChange};
use baywright_files::words::Word as _;

/// Characters of a value that are shown; `--json` has the rest.
const VALUE_CHARS_MAX: usize = 80;

/// All entries, in the order given.
pub(crate) fn list(entries: &[AuditEntry], clock: ShopClock) -> String {
    if entries.is_empty() {
        return "No entries.".to_owned();
    }
    entries.iter().map(|entry| text(entry, clock)).collect::<Vec<_>>().join("\n\n")
}

fn text(entry: &AuditEntry, clock: ShopClock) -> String {
    let mut lines = vec![format!(
        "{}  {}  {} {} {} by {} ({}, request {})",
        entry.number,
        clock.show(entry.time.as_ref()),
        entry.kind,
        entry.thing_id,
        ThingChange::word_of(entry.change),
        entry.actor,
        entry.method,
        entry.request_id
    )];
    lines.extend(entry.fields.iter().map(field));
    if entry.more_fields > 0 {
        lines.push(format!("  and {} more fields", entry.more_fields));
    }
    lines.join("\n")
}

fn field(field: &FieldChange) -> String {
    let FieldChange { path, before, after } = field;
    match (before.as_str(), after.as_str()) {
        ("", after) => format!("  {path}: {}", short(after)),
        (before, "") => format!("  {path}: {} -> nothing", short(before)),
        (before, after) => format!("  {path}: {} -> {}", short(before), short(after)),
    }
}

fn short(value: &str) -> String {
    match value.char_indices().nth(VALUE_CHARS_MAX) {
        Some((end, _)) => format!("{}...", value.get(..end).unwrap_or(value)),
        None => value.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use prost_types::Timestamp;

    #[test]
    fn an_entry_says_who_changed_what_from_which_value_to_which() {
        let change = |path: &str, before: &str, after: &str| FieldChange {
            path: path.to_owned(),
            before: before.to_owned(),
            after: after.to_owned(),
        };
        let entry = AuditEntry {
            number: 17,
            time: Some(Timestamp { seconds: 1_777_962_600, nanos: 0 }),
            actor: "ines".to_owned(),
            method: "PullTask".to_owned(),
            request_id: "6f3c".to_owned(),
            kind: "job".to_owned(),
            thing_id: "J-1001".to_owned(),
            change: ThingChange::Changed.into(),
            fields: vec![
                change("tasks[pre-scan].state", "\"TASK_STATE_OPEN\"", "\"TASK_STATE_HELD\""),
                change("weight", "", "3"),
                change("note", &"x".repeat(90), ""),
            ],
            more_fields: 2,
        };
        let clock = ShopClock::new("Europe/Lisbon").unwrap();
        let expected = format!(
            "17  2026-05-05 07:30 WEST  job J-1001 changed by ines (PullTask, request 6f3c)\n  \
             tasks[pre-scan].state: \"TASK_STATE_OPEN\" -> \"TASK_STATE_HELD\"\n  weight: 3\n  \
             note: {}... -> nothing\n  and 2 more fields",
            "x".repeat(80)
        );
        assert_eq!(list(&[entry], clock), expected);
        assert_eq!(list(&[], clock), "No entries.");
    }
}
