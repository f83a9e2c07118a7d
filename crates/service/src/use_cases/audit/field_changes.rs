//! Which fields differ between two messages, both as canonical JSON.
//!
//! Elements of a list that carry a name of their own, `task_id` in `tasks`, are matched by it, so
//! that a new element does not make all that stand behind it look changed. Others are matched by
//! their place.

use crate::limits::{AUDIT_FIELDS_MAX, AUDIT_VALUE_CHARS_MAX};
use baywright_api::v1::FieldChange;
use serde_json::{Map, Value};
use std::collections::BTreeSet;

/// The fields that differ: those that are listed, and how many are not.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Changes {
    pub(super) listed: Vec<FieldChange>,
    pub(super) more: u32,
}

/// What differs between a message before and after. Where one of them is absent, the other's fields
/// at the top.
pub(super) fn field_changes(before: Option<Value>, after: Option<Value>) -> Changes {
    let mut changes = Changes::default();
    match (before, after) {
        (Some(before), Some(after)) => changes.compare("", Some(&before), Some(&after)),
        (Some(Value::Object(before)), None) => changes.tell(&before, |value| (Some(value), None)),
        (None, Some(Value::Object(after))) => changes.tell(&after, |value| (None, Some(value))),
        (_, _) => {}
    }
    changes
}

impl Changes {
    fn tell<'v>(
        &mut self,
        fields: &'v Map<String, Value>,
        side: impl Fn(&'v Value) -> (Option<&'v Value>, Option<&'v Value>),
    ) {
        for (name, value) in fields {
            let (before, after) = side(value);
            self.push(name, before, after);
        }
    }

    fn compare(&mut self, path: &str, before: Option<&Value>, after: Option<&Value>) {
        match (before, after) {
            (before, after) if before == after => {}
            (Some(Value::Object(before)), Some(Value::Object(after))) => {
                let names: BTreeSet<&String> = before.keys().chain(after.keys()).collect();
                for name in names {
                    let dot = if path.is_empty() { "" } else { "." };
                    let path = format!("{path}{dot}{name}");
                    self.compare(&path, before.get(name), after.get(name));
                }
            }
            (Some(Value::Array(before)), Some(Value::Array(after))) => {
                self.compare_lists(path, before, after);
            }
            (before, after) => self.push(path, before, after),
        }
    }

    fn compare_lists(&mut self, path: &str, before: &[Value], after: &[Value]) {
        let (Some(old), Some(new)) = (named(path, before), named(path, after)) else {
            for index in 0..before.len().max(after.len()) {
                self.compare(&format!("{path}[{index}]"), before.get(index), after.get(index));
            }
            return;
        };
        let find = |list: &[(&str, &'_ Value)], name: &str| {
            list.iter().position(|(other, _)| *other == name)
        };
        let gone = old.iter().filter(|(name, _)| find(&new, name).is_none());
        for (name, _) in new.iter().chain(gone) {
            let (before, after) = (find(&old, name), find(&new, name));
            let before = before.and_then(|at| old.get(at)).map(|(_, value)| *value);
            let after = after.and_then(|at| new.get(at)).map(|(_, value)| *value);
            self.compare(&format!("{path}[{name}]"), before, after);
        }
    }

    fn push(&mut self, path: &str, before: Option<&Value>, after: Option<&Value>) {
        if self.listed.len() >= AUDIT_FIELDS_MAX {
            self.more = self.more.saturating_add(1);
            return;
        }
        let path = path.to_owned();
        self.listed.push(FieldChange { path, before: shown(before), after: shown(after) });
    }
}

/// The elements with their own names; none where an element has no name or two have the same.
fn named<'v>(path: &str, list: &'v [Value]) -> Option<Vec<(&'v str, &'v Value)>> {
    let last = path.rsplit(['.', ']']).next().unwrap_or(path);
    let key = format!("{}_id", last.strip_suffix('s')?);
    let all: Vec<(&str, &Value)> = list
        .iter()
        .map(|element| Some((element.get(&key)?.as_str()?, element)))
        .collect::<Option<_>>()?;
    let names: BTreeSet<&str> = all.iter().map(|(name, _)| *name).collect();
    (names.len() == all.len()).then_some(all)
}

fn shown(value: Option<&Value>) -> String {
    let text = value.map(Value::to_string).unwrap_or_default();
    match text.char_indices().nth(AUDIT_VALUE_CHARS_MAX) {
        Some((end, _)) => format!("{}...", &text[..end]),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;
    use serde_json::json;

    #[rstest]
    #[case::nothing(json!({"a": 1}), json!({"a": 1}), &[])]
    #[case::a_value(json!({"a": 1}), json!({"a": 2}), &["a: 1 -> 2"])]
    #[case::set_and_cleared(json!({"a": "x"}), json!({"b": true}), &["a: \"x\" -> ", "b:  -> true"])]
    #[case::inside(json!({"a": {"b": {"c": 1, "d": 1}}}), json!({"a": {"b": {"c": 2, "d": 1}}}), &["a.b.c: 1 -> 2"])]
    #[case::named_elements(
        json!({"tasks": [{"task_id": "one", "state": 1}, {"task_id": "two", "state": 1}]}),
        json!({"tasks": [{"task_id": "new"}, {"task_id": "one", "state": 1}, {"task_id": "two", "state": 2}]}),
        &["tasks[new]:  -> {\"task_id\":\"new\"}", "tasks[two].state: 1 -> 2"],
    )]
    #[case::a_named_element_is_gone(
        json!({"tasks": [{"task_id": "one"}, {"task_id": "two"}]}),
        json!({"tasks": [{"task_id": "two"}]}),
        &["tasks[one]: {\"task_id\":\"one\"} -> "],
    )]
    #[case::elements_without_names(
        json!({"codes": [{"code": "A"}, {"code": "B"}]}),
        json!({"codes": [{"code": "A"}, {"code": "C"}, {"code": "D"}]}),
        &["codes[1].code: \"B\" -> \"C\"", "codes[2]:  -> {\"code\":\"D\"}"],
    )]
    #[case::one_name_twice(
        json!({"tasks": [{"task_id": "one", "x": 1}, {"task_id": "one", "x": 2}]}),
        json!({"tasks": [{"task_id": "one", "x": 1}]}),
        &["tasks[1]: {\"task_id\":\"one\",\"x\":2} -> "],
    )]
    #[case::a_list_within_an_element(
        json!({"tasks": [{"task_id": "one", "units": [{"unit_id": "a", "n": 1}]}]}),
        json!({"tasks": [{"task_id": "one", "units": [{"unit_id": "a", "n": 2}]}]}),
        &["tasks[one].units[a].n: 1 -> 2"],
    )]
    fn what_differs_is_named_by_its_path(
        #[case] before: Value,
        #[case] after: Value,
        #[case] expected: &[&str],
    ) {
        let changes = field_changes(Some(before), Some(after));
        let said: Vec<_> = changes
            .listed
            .iter()
            .map(|FieldChange { path, before, after }| format!("{path}: {before} -> {after}"))
            .collect();
        assert_eq!(said, expected);
        assert_eq!(changes.more, 0);
    }

    #[test]
    fn what_is_new_or_gone_tells_its_fields_at_the_top() {
        let thing = json!({"a": {"b": 1}, "c": [1, 2]});
        let new = field_changes(None, Some(thing.clone())).listed;
        let paths: Vec<_> = new.iter().map(|one| (one.path.as_str(), one.after.as_str())).collect();
        assert_eq!(paths, [("a", "{\"b\":1}"), ("c", "[1,2]")]);
        let gone = field_changes(Some(thing), None).listed;
        assert_eq!((gone.len(), gone[0].after.as_str()), (2, ""));
    }

    #[test]
    fn long_lists_and_values_are_cut_and_it_shows() {
        let fields = (0..AUDIT_FIELDS_MAX + 7).map(|n| (format!("f{n:04}"), json!(n)));
        let changes = field_changes(None, Some(Value::Object(fields.collect())));
        assert_eq!((changes.listed.len(), changes.more), (AUDIT_FIELDS_MAX, 7));
        let long = json!({"a": "\u{e9}".repeat(3_000)});
        let shown = field_changes(None, Some(long)).listed.remove(0).after;
        assert_eq!(shown.chars().count(), AUDIT_VALUE_CHARS_MAX + 3);
        assert!(shown.ends_with("..."));
    }
}
