//! Reads a problem's JSON into a draft, noting every value of the wrong kind with its path.
//!
//! A value that cannot be read is replaced by a harmless one so that the rest is read and checked
//! too; unknown keys are ignored. Ranges and references are checked later, on the draft.

use super::draft::{
    CalendarDraft, CostWeights, FixedDraft, JobDraft, OptionDraft, PROBLEM_FORMAT, PreviousDraft,
    ProblemDraft, StepDraft, WindowDraft,
};
use super::limits::{
    CLASHES_MAX, JOBS_MAX, NEEDS_MAX, OPTIONS_MAX, PLACES_MAX, RESOURCES_MAX, STEPS_MAX,
    TEXT_BYTES_MAX, WINDOWS_MAX,
};
use crate::fault::{Fault, FaultList, Faults};
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// Parses text of at most [`TEXT_BYTES_MAX`] bytes into one JSON object.
pub(super) fn parse_object(what: &str, text: &str) -> Result<Map<String, Value>, Faults> {
    let fault = |value: String, limit: &str, remedy: &str| Fault::new(what, value, limit, remedy);
    if text.len() > TEXT_BYTES_MAX {
        return Err(fault(
            format!("{} bytes long", text.len()),
            &format!("be at most {TEXT_BYTES_MAX} bytes long"),
            "split it into smaller ones",
        )
        .into());
    }
    match serde_json::from_str(text) {
        Ok(Value::Object(object)) => Ok(object),
        Ok(other) => Err(fault(shown(&other), "be a JSON object", "put it between { and }").into()),
        Err(error) => {
            Err(fault(format!("not JSON ({error})"), "be JSON text", "mend it at that line").into())
        }
    }
}

/// Reads a problem; the draft is complete only when no fault was noted.
pub(super) fn read_problem(object: &Map<String, Value>, faults: &mut FaultList) -> ProblemDraft {
    let mut reader = Reader { faults };
    let root = Node { object, path: String::new() };
    let tag = reader.text(&root, "format");
    if tag.as_deref().is_some_and(|tag| tag != PROBLEM_FORMAT) {
        reader.faults.push(Fault::new(
            "format",
            shown(&object["format"]),
            format!("be \"{PROBLEM_FORMAT}\""),
            "give a problem of this format",
        ));
    }
    ProblemDraft {
        name: reader.text_or_empty(&root, "name"),
        now: reader.number(&root, "now").unwrap_or(0),
        horizon: reader.required_number(&root, "horizon", 0),
        places: reader.required_objects(&root, "places", Reader::calendar),
        resources: reader.required_objects(&root, "resources", Reader::calendar),
        clashes: reader.clashes(&root),
        jobs: reader.required_objects(&root, "jobs", Reader::job),
        cost: reader.cost(&root),
    }
}

/// A value as a fault shows it.
pub(super) fn shown(value: &Value) -> String {
    match value {
        Value::Array(list) => format!("a list of {}", list.len()),
        Value::Object(map) => format!("an object with {} keys", map.len()),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => value.to_string(),
    }
}

/// The most entries of the list under a key; plans have lists by the same names.
fn most_entries(key: &str) -> usize {
    match key {
        "jobs" => JOBS_MAX,
        "places" => PLACES_MAX,
        "resources" => RESOURCES_MAX,
        "clashes" => CLASHES_MAX,
        "steps" => STEPS_MAX,
        "options" => OPTIONS_MAX,
        "needs" | "uses" => NEEDS_MAX,
        _ => WINDOWS_MAX,
    }
}

/// One object of the file and where it stands.
pub(super) struct Node<'a> {
    pub(super) object: &'a Map<String, Value>,
    pub(super) path: String,
}

impl Node<'_> {
    fn at(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    /// The value under a key; null counts as absent.
    fn value(&self, key: &str) -> Option<&Value> {
        self.object.get(key).filter(|value| !value.is_null())
    }
}

/// Takes values out of objects, noting what is of the wrong kind.
pub(super) struct Reader<'f> {
    pub(super) faults: &'f mut FaultList,
}

impl Reader<'_> {
    fn wrong(&mut self, path: String, value: &Value, limit: &str) {
        self.faults.push(Fault::new(path, shown(value), limit, "correct the value"));
    }

    fn missing(&mut self, path: String, limit: &str) {
        self.faults.push(Fault::new(path, "absent", limit, "add it"));
    }

    fn whole(&mut self, path: String, value: &Value) -> Option<i64> {
        let number = value.as_i64();
        if number.is_none() {
            self.wrong(path, value, "be a whole number, without fraction or exponent");
        }
        number
    }

    /// A number that may be absent.
    pub(super) fn number(&mut self, node: &Node<'_>, key: &str) -> Option<i64> {
        let value = node.value(key)?;
        self.whole(node.at(key), value)
    }

    /// A number that must be there; `harmless` stands in for a broken one.
    pub(super) fn required_number(&mut self, node: &Node<'_>, key: &str, harmless: i64) -> i64 {
        if node.value(key).is_none() {
            self.missing(node.at(key), "be a whole number");
            return harmless;
        }
        self.number(node, key).unwrap_or(harmless)
    }

    /// A text that must be there.
    pub(super) fn text(&mut self, node: &Node<'_>, key: &str) -> Option<String> {
        match node.value(key) {
            Some(Value::String(text)) => Some(text.clone()),
            Some(other) => {
                self.wrong(node.at(key), other, "be a text");
                None
            }
            None => {
                self.missing(node.at(key), "be a text");
                None
            }
        }
    }

    fn text_or_empty(&mut self, node: &Node<'_>, key: &str) -> String {
        if node.value(key).is_none() {
            return String::new();
        }
        self.text(node, key).unwrap_or_default()
    }

    fn list<'v>(&mut self, node: &'v Node<'_>, key: &str) -> Option<&'v Vec<Value>> {
        match node.value(key)? {
            // What is far too long is not read entry by entry.
            Value::Array(list) if list.len() > most_entries(key) => {
                let limit = format!("have at most {} entries", most_entries(key));
                let value = format!("a list of {}", list.len());
                self.faults.push(Fault::new(node.at(key), value, limit, "split the problem"));
                None
            }
            Value::Array(list) => Some(list),
            other => {
                self.wrong(node.at(key), other, "be a list");
                None
            }
        }
    }

    fn map<'v>(&mut self, node: &'v Node<'_>, key: &str) -> Option<&'v Map<String, Value>> {
        match node.value(key)? {
            Value::Object(map) => Some(map),
            other => {
                self.wrong(node.at(key), other, "be an object");
                None
            }
        }
    }

    /// A list of objects, each read by `read`; an element of another kind is noted and skipped.
    pub(super) fn required_objects<T>(
        &mut self,
        node: &Node<'_>,
        key: &str,
        read: fn(&mut Self, &Node<'_>) -> T,
    ) -> Vec<T> {
        if node.value(key).is_none() {
            self.missing(node.at(key), "be a list");
        }
        let Some(list) = self.list(node, key) else { return Vec::new() };
        let mut out = Vec::with_capacity(list.len());
        for (index, value) in list.iter().enumerate() {
            let path = format!("{}[{index}]", node.at(key));
            match value {
                Value::Object(object) => out.push(read(self, &Node { object, path })),
                other => self.wrong(path, other, "be an object"),
            }
        }
        out
    }

    /// An object whose values are objects, such as `fixed`.
    fn keyed<T>(
        &mut self,
        node: &Node<'_>,
        key: &str,
        read: fn(&mut Self, &Node<'_>) -> T,
    ) -> BTreeMap<String, T> {
        let Some(map) = self.map(node, key) else { return BTreeMap::new() };
        let mut out = BTreeMap::new();
        for (name, value) in map {
            let path = format!("{}.{name}", node.at(key));
            if let Value::Object(object) = value {
                out.insert(name.clone(), read(self, &Node { object, path }));
            } else {
                self.wrong(path, value, "be an object");
            }
        }
        out
    }

    /// A list of texts; absent means empty.
    pub(super) fn texts(&mut self, node: &Node<'_>, key: &str) -> Vec<String> {
        let Some(list) = self.list(node, key) else { return Vec::new() };
        self.texts_of(&node.at(key), list)
    }

    fn texts_of(&mut self, path: &str, list: &[Value]) -> Vec<String> {
        let mut out = Vec::with_capacity(list.len());
        for (index, value) in list.iter().enumerate() {
            match value {
                Value::String(text) => out.push(text.clone()),
                other => self.wrong(format!("{path}[{index}]"), other, "be a text"),
            }
        }
        out
    }

    fn windows(&mut self, node: &Node<'_>, key: &str) -> Option<Vec<WindowDraft>> {
        let list = self.list(node, key)?;
        let mut out = Vec::with_capacity(list.len());
        for (index, value) in list.iter().enumerate() {
            let path = format!("{}[{index}]", node.at(key));
            if let Some([from, to]) = value.as_array().map(Vec::as_slice) {
                let from = self.whole(format!("{path}[0]"), from);
                let to = self.whole(format!("{path}[1]"), to);
                out.extend(from.zip(to).map(|(from, to)| [from, to]));
            } else {
                self.wrong(path, value, "be a pair [from, to]");
            }
        }
        Some(out)
    }

    fn calendar(&mut self, node: &Node<'_>) -> CalendarDraft {
        CalendarDraft {
            id: self.text(node, "id").unwrap_or_default(),
            open: self.windows(node, "open"),
        }
    }

    fn clashes(&mut self, node: &Node<'_>) -> Vec<[String; 2]> {
        let Some(list) = self.list(node, "clashes") else { return Vec::new() };
        let mut out = Vec::with_capacity(list.len());
        for (index, value) in list.iter().enumerate() {
            if let Some([Value::String(a), Value::String(b)]) = value.as_array().map(Vec::as_slice)
            {
                out.push([a.clone(), b.clone()]);
            } else {
                self.wrong(format!("clashes[{index}]"), value, "be a pair of place ids");
            }
        }
        out
    }

    fn cost(&mut self, root: &Node<'_>) -> CostWeights {
        let Some(object) = self.map(root, "cost") else {
            if root.value("cost").is_none() {
                self.missing("cost".to_owned(), "be an object");
            }
            return CostWeights::default();
        };
        let node = Node { object, path: "cost".to_owned() };
        CostWeights {
            lateness: self.number(&node, "lateness").unwrap_or(0),
            finish: self.number(&node, "finish").unwrap_or(0),
            place_change: self.number(&node, "move").unwrap_or(0),
            change: self.number(&node, "change").unwrap_or(0),
            makespan: self.number(&node, "makespan").unwrap_or(0),
        }
    }

    fn job(&mut self, node: &Node<'_>) -> JobDraft {
        JobDraft {
            id: self.text(node, "id").unwrap_or_default(),
            release: self.number(node, "release").unwrap_or(0),
            due: self.number(node, "due"),
            weight: self.number(node, "weight").unwrap_or(1),
            leave_out_cost: self.number(node, "leave_out_cost"),
            move_minutes: self.number(node, "move_minutes").unwrap_or(0),
            steps: self.required_objects(node, "steps", Reader::step),
            fixed: self.keyed(node, "fixed", Reader::fixed),
            previous: self.keyed(node, "previous", Reader::previous),
        }
    }

    fn step(&mut self, node: &Node<'_>) -> StepDraft {
        let after = self.map(node, "after").map(|map| {
            let mut out = BTreeMap::new();
            for (name, value) in map {
                let gap = self.whole(format!("{}.{name}", node.at("after")), value);
                out.insert(name.clone(), gap.unwrap_or(0));
            }
            out
        });
        StepDraft {
            id: self.text(node, "id").unwrap_or_default(),
            after,
            release: self.number(node, "release").unwrap_or(0),
            options: self.required_objects(node, "options", Reader::option),
        }
    }

    fn option(&mut self, node: &Node<'_>) -> OptionDraft {
        let mut needs = Vec::new();
        if let Some(list) = self.list(node, "needs") {
            for (index, value) in list.iter().enumerate() {
                let path = format!("{}[{index}]", node.at("needs"));
                match value {
                    Value::Array(group) => needs.push(self.texts_of(&path, group)),
                    other => self.wrong(path, other, "be a list of resource ids"),
                }
            }
        }
        OptionDraft {
            minutes: self.required_number(node, "minutes", 1),
            place: node.value("place").and_then(|_| self.text(node, "place")),
            starts: self.windows(node, "starts"),
            needs,
        }
    }

    fn fixed(&mut self, node: &Node<'_>) -> FixedDraft {
        FixedDraft {
            start: self.required_number(node, "start", 0),
            minutes: self.number(node, "minutes"),
            option: self.required_number(node, "option", 0),
            uses: self.texts(node, "uses"),
        }
    }

    fn previous(&mut self, node: &Node<'_>) -> PreviousDraft {
        PreviousDraft {
            start: self.required_number(node, "start", 0),
            option: self.number(node, "option"),
            uses: self.texts(node, "uses"),
        }
    }
}
