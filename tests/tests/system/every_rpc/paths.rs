//! Fields of a request by their paths, `holding.job_id` or `codes[0].code`: found, changed, listed.

use prost_reflect::{DynamicMessage, Kind, ReflectMessage as _, Value};

/// Sets the field at `path`; the messages and list elements on the way must be there.
pub(super) fn set(message: &mut DynamicMessage, path: &str, value: Value) {
    let (head, rest) = path.split_once('.').map_or((path, None), |(head, rest)| (head, Some(rest)));
    let (name, index) = match head.split_once('[') {
        Some((name, index)) => (name, Some(index.trim_end_matches(']').parse::<usize>().unwrap())),
        None => (head, None),
    };
    let slot = message.get_field_by_name_mut(name).unwrap_or_else(|| panic!("no field {path}"));
    let slot = match index {
        Some(index) => &mut slot.as_list_mut().unwrap()[index],
        None => slot,
    };
    match rest {
        Some(rest) => set(slot.as_message_mut().unwrap(), rest, value),
        None => *slot = value,
    }
}

/// A field of a request that holds something; of a list only its first element stands here.
#[derive(Debug, Clone)]
pub(super) struct Leaf {
    /// Its path.
    pub(super) path: String,
    /// Its name in the contract.
    pub(super) name: String,
    /// Its type.
    pub(super) kind: Kind,
    /// What it holds.
    pub(super) value: Value,
}

impl Leaf {
    /// Whether it names a thing.
    pub(super) fn is_name(&self) -> bool {
        matches!(self.kind, Kind::String)
            && (self.name.ends_with("_id") || self.name.ends_with("_ids"))
            && self.name != "request_id"
    }

    /// A value of its type that no such field may have; none where every value is possible.
    pub(super) fn nonsense(&self) -> Option<Value> {
        match &self.kind {
            Kind::Double => Some(Value::F64(f64::NAN)),
            Kind::Enum(_) => Some(Value::EnumNumber(99)),
            Kind::Message(kind) if kind.full_name() == "google.protobuf.Timestamp" => {
                let mut time = self.value.as_message().unwrap().clone();
                set(&mut time, "nanos", Value::I32(2_000_000_000));
                Some(Value::Message(time))
            }
            _ => match self.name.as_str() {
                "request_id" => Some(Value::String("again".to_owned())),
                "actor" => Some(Value::String(" ".to_owned())),
                _ => None,
            },
        }
    }
}

/// Every field that holds something, down to the ones without fields of their own.
pub(super) fn leaves(message: &DynamicMessage) -> Vec<Leaf> {
    let mut all = Vec::new();
    collect(message, "", &mut all);
    all
}

fn collect(message: &DynamicMessage, before: &str, all: &mut Vec<Leaf>) {
    for (field, value) in message.fields() {
        let (path, value) = match value {
            Value::List(list) => (format!("{before}{}[0]", field.name()), &list[0]),
            value => (format!("{before}{}", field.name()), value),
        };
        match value {
            Value::Message(inner) if inner.descriptor().package_name() == "baywright.v1" => {
                collect(inner, &format!("{path}."), all);
            }
            value => all.push(Leaf {
                path,
                name: field.name().to_owned(),
                kind: field.kind(),
                value: value.clone(),
            }),
        }
    }
}

/// Changes every text field of a message, with its name at hand.
pub(super) fn each_text(message: &mut DynamicMessage, change: &impl Fn(&str, &mut String)) {
    let fields: Vec<_> = message.fields().map(|(field, _)| field).collect();
    for field in fields {
        let value = message.get_field_mut(&field);
        let items = match value {
            Value::List(list) => list.iter_mut().collect(),
            value => vec![value],
        };
        for item in items {
            match item {
                Value::String(text) => change(field.name(), text),
                Value::Message(inner) => each_text(inner, change),
                _ => {}
            }
        }
    }
}
