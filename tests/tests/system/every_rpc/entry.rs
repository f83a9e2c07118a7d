//! What is stated about one call: a request that is answered, and how its fields may be spoilt.

use super::shops::Shops;
use prost::Message;
use prost_reflect::{DynamicMessage, FieldDescriptor, ReflectMessage as _, Value};
use std::pin::Pin;

/// Makes a request, and brings about what it needs.
type Build = Box<dyn for<'s> Fn(&'s Shops) -> Building<'s>>;
/// The encoded request, once it is made.
pub(super) type Building<'s> = Pin<Box<dyn Future<Output = Vec<u8>> + 's>>;
type Spoil = fn(&mut DynamicMessage);

/// What becomes of a name of another shop.
#[derive(Debug, Clone, Copy)]
pub(super) enum Foreign {
    /// It is refused as a name that is not there.
    Refused,
    /// The same, with this name, which the other shop has and this one has not.
    Named(&'static str),
    /// It is a name that the sender gives: there is no other shop's for it.
    SendersOwn,
    /// It narrows a list, which is then empty.
    FindsNothing,
}

/// One call.
pub(super) struct Entry {
    /// `JobService/GetJob`.
    pub(super) rpc: &'static str,
    /// A request that is answered.
    pub(super) request: Build,
    /// The field that is refused, and what spoils it.
    pub(super) bad: Vec<(&'static str, Spoil)>,
    /// Names, or what paths of names begin with, that are not just refused.
    pub(super) foreign: Vec<(&'static str, Foreign)>,
    /// Whether the request names nothing but its shop that another shop would not have: no name at all,
    /// or one that each shop gives by counting.
    pub(super) shop_alone: bool,
    /// What makes another body of the request; else its actor or its fencing number.
    pub(super) other: Option<(&'static str, Value)>,
}

/// An entry whose names are all refused when they are foreign.
pub(super) fn rpc(
    rpc: &'static str,
    request: impl for<'s> Fn(&'s Shops) -> Building<'s> + 'static,
) -> Entry {
    Entry {
        rpc,
        request: Box::new(request),
        bad: Vec::new(),
        foreign: Vec::new(),
        shop_alone: false,
        other: None,
    }
}

/// A field of a message.
pub(super) fn field(message: &DynamicMessage, name: &str) -> FieldDescriptor {
    message.descriptor().get_field_by_name(name).unwrap()
}

/// A message as an element of `field`.
pub(super) fn dynamic(field: &FieldDescriptor, message: &impl Message) -> DynamicMessage {
    let kind = field.kind();
    let bytes = message.encode_to_vec();
    DynamicMessage::decode(kind.as_message().unwrap().clone(), bytes.as_slice()).unwrap()
}

/// The bytes of a request.
pub(super) fn sent(request: &impl Message) -> Vec<u8> {
    request.encode_to_vec()
}

impl Entry {
    /// A field that is refused when it is spoilt so.
    pub(super) fn bad(mut self, field: &'static str, spoil: Spoil) -> Self {
        self.bad.push((field, spoil));
        self
    }

    pub(super) fn foreign(mut self, path: &'static str, foreign: Foreign) -> Self {
        self.foreign.push((path, foreign));
        self
    }

    /// The request names nothing but its shop that another shop would not have.
    pub(super) fn shop_alone(mut self) -> Self {
        self.shop_alone = true;
        self
    }

    pub(super) fn other(mut self, path: &'static str, value: Value) -> Self {
        self.other = Some((path, value));
        self
    }

    pub(super) fn foreign_at(&self, path: &str) -> Foreign {
        let stated = self.foreign.iter().find(|(stated, _)| path.starts_with(stated));
        stated.map_or(Foreign::Refused, |(_, foreign)| *foreign)
    }
}
