//! Splitting a file into cases.
//!
//! Files differ in their layout: a list of entries, an object with `cases`, an object with several
//! named lists, or one planning problem. The rule covers them all: an object that names its
//! `format` is one case; each object in a list is one case; an object at the top without such lists
//! below it is one case; whatever else stands beside cases is a setting that holds for them.

use super::Mismatch;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

/// One case, and where it stands in its file.
#[derive(Debug, Clone)]
pub struct Case<'a> {
    /// The keys above the case, joined by dots: `degenerate.no_plane`; empty for a plain list.
    pub section: String,
    /// Its place in the section's list, from 0; none when the section is the case.
    pub index: Option<usize>,
    /// The case itself.
    pub value: &'a Map<String, Value>,
    /// The objects around it, outermost first.
    enclosing: Vec<&'a Map<String, Value>>,
}

impl Case<'_> {
    /// Section and place: `cases[17]`.
    pub fn label(&self) -> String {
        self.index
            .map_or_else(|| self.section.clone(), |index| format!("{}[{index}]", self.section))
    }

    /// Whether the case has every one of the keys.
    pub fn has(&self, keys: &[&str]) -> bool {
        keys.iter().all(|key| self.value.contains_key(*key))
    }

    /// Whether the case has the key, with a text.
    pub fn has_text(&self, key: &str) -> bool {
        self.value.get(key).is_some_and(Value::is_string)
    }

    /// The case as a type; keys that the type does not know are ignored.
    ///
    /// # Errors
    /// A mismatch when a key is missing or has another type.
    pub fn read<T: DeserializeOwned>(&self) -> Result<T, Mismatch> {
        T::deserialize(Value::Object(self.value.clone()))
            .map_err(|error| Mismatch::new("a case of the form described", error.to_string()))
    }

    /// The list that stands beside the case in its section.
    pub fn list_around(&self, name: &str) -> Option<&Vec<Value>> {
        self.enclosing.iter().rev().find_map(|object| object.get(name)?.as_array())
    }

    /// A number that the nearest object around the case sets, such as a tolerance.
    pub fn setting(&self, name: &str) -> Option<f64> {
        self.enclosing.iter().rev().find_map(|object| object.get(name)?.as_f64())
    }
}

/// All cases of a file, in its order.
pub fn split(document: &Value) -> Vec<Case<'_>> {
    let mut found = Vec::new();
    let place = Place { section: String::new(), enclosing: Vec::new() };
    match document {
        Value::Object(object) if !object.contains_key("format") => place.split(object, &mut found),
        Value::Object(object) => found.push(place.case(object, None)),
        Value::Array(list) => place.list(list, &mut found),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
    found
}

/// Where the splitting stands.
#[derive(Clone)]
struct Place<'a> {
    section: String,
    enclosing: Vec<&'a Map<String, Value>>,
}

impl<'a> Place<'a> {
    fn case(&self, value: &'a Map<String, Value>, index: Option<usize>) -> Case<'a> {
        Case { section: self.section.clone(), index, value, enclosing: self.enclosing.clone() }
    }

    fn below(&self, object: &'a Map<String, Value>, key: &str) -> Self {
        let section = if self.section.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.section)
        };
        let enclosing = self.enclosing.iter().copied().chain([object]).collect();
        Self { section, enclosing }
    }

    fn list(&self, list: &'a [Value], found: &mut Vec<Case<'a>>) {
        for (index, entry) in list.iter().enumerate() {
            found.extend(entry.as_object().map(|object| self.case(object, Some(index))));
        }
    }

    fn split(&self, object: &'a Map<String, Value>, found: &mut Vec<Case<'a>>) {
        for (key, value) in object {
            let below = self.below(object, key);
            match value {
                Value::Array(list) => below.list(list, found),
                Value::Object(inner) if holds_a_list_of_cases(inner) => below.split(inner, found),
                Value::Object(inner) if self.section.is_empty() => {
                    found.push(below.case(inner, None));
                }
                // Settings of the cases beside them.
                Value::Object(_)
                | Value::Null
                | Value::Bool(_)
                | Value::Number(_)
                | Value::String(_) => {}
            }
        }
    }
}

fn holds_a_list_of_cases(object: &Map<String, Value>) -> bool {
    let is_list = |value: &Value| {
        value.as_array().is_some_and(|list| list.first().is_some_and(Value::is_object))
    };
    object.values().any(is_list)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[track_caller]
    fn check_split(document: &Value, expected: &[&str]) {
        let labels: Vec<_> = split(document).iter().map(Case::label).collect();
        assert_eq!(labels, expected);
    }

    #[test]
    fn a_list_of_entries_is_a_case_each() {
        check_split(&json!([{"name": "a", "jobs": [{"p": 1}]}, {"name": "b"}]), &["[0]", "[1]"]);
    }

    #[test]
    fn an_object_is_split_into_its_lists_and_its_single_examples() {
        check_split(
            &json!({
                "tolerance": 1e-9,
                "cases": [{"x": 1}, {"x": 2}],
                "degenerate": {"tolerance": 1e-6, "of": {"u": 1}, "no_plane": [{"why": "line"}]},
                "example": {"a": 1, "points": [[1, 2], [3, 4]]},
            }),
            &["cases[0]", "cases[1]", "degenerate.no_plane[0]", "example"],
        );
    }

    #[test]
    fn a_planning_problem_is_one_case() {
        check_split(&json!({"format": "planning-problem/1", "jobs": [{"id": "J1"}]}), &[""]);
    }

    #[test]
    fn the_nearest_setting_holds() {
        let document = json!({
            "tolerance": 1.0,
            "cases": [{}],
            "degenerate": {"tolerance": 2.0, "no_plane": [{}]},
        });
        let found: Vec<_> = split(&document).iter().map(|case| case.setting("tolerance")).collect();
        assert_eq!(found, [Some(1.0), Some(2.0)]);
    }
}
