//! Who calls what with which request id, and what the call has done.

use super::AuditEntry;
use crate::{error::ServiceError, limits::ACTOR_CHARS_MAX};
use baywright_core::{
    fault::{Fault, FaultList},
    ids::ShopId,
};
use chrono::{DateTime, Utc};
use prost::Message;
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

/// One call that writes. The same call sent again has the same shop, method, request id and body;
/// it gets the same answer and changes nothing a second time.
#[derive(Debug, Clone)]
pub struct Call {
    pub(super) shop_id: ShopId,
    pub(super) method: &'static str,
    pub(super) request_id: Uuid,
    pub(super) actor: String,
    pub(super) body_hash: [u8; 32],
    pub(super) at: DateTime<Utc>,
}

/// What a [`Call`] is made from.
#[derive(Debug, Clone, Copy)]
pub struct CallParts<'a> {
    /// The shop.
    pub shop_id: &'a str,
    /// The method's name in the contract: `SubmitEstimate`.
    pub method: &'static str,
    /// The caller's request id.
    pub request_id: &'a str,
    /// Who acts, as the audit trail shows it.
    pub actor: &'a str,
    /// The instant of the call.
    pub at: DateTime<Utc>,
}

impl Call {
    /// Checks the parts and takes the hash of the whole request.
    ///
    /// The hash is over the request as this service encodes it, so the order in which a caller
    /// wrote its fields does not matter. It stands for the body because the contract has no `map`
    /// fields, whose encoding has no order.
    ///
    /// # Errors
    /// [`ServiceError::InvalidFields`] with every fault: a shop id that is no name, a request id
    /// that is no UUID, an actor that is empty or too long.
    pub fn new(parts: CallParts<'_>, request: &impl Message) -> Result<Self, ServiceError> {
        let mut faults = FaultList::new();
        let shop_id = match ShopId::new(parts.shop_id) {
            Ok(shop_id) => Some(shop_id),
            Err(wrong) => {
                wrong.into_list().into_iter().for_each(|fault| faults.push(fault));
                None
            }
        };
        let request_id = Uuid::try_parse(parts.request_id).ok();
        if request_id.is_none() {
            faults.push(Fault::new(
                "request_id",
                format!("\"{}\"", parts.request_id),
                "be a UUID",
                "make a new random UUID for each new request and keep it for its repeats",
            ));
        }
        let actor_length = parts.actor.chars().count();
        if parts.actor.trim().is_empty() || actor_length > ACTOR_CHARS_MAX {
            faults.push(Fault::new(
                "actor",
                format!("\"{}\"", parts.actor),
                format!("be 1 to {ACTOR_CHARS_MAX} characters"),
                "give the name of the person or system that acts",
            ));
        }
        faults.finish(())?;
        let (Some(shop_id), Some(request_id)) = (shop_id, request_id) else {
            return Err(ServiceError::internal("a part that is absent left no fault"));
        };
        Ok(Self {
            shop_id,
            method: parts.method,
            request_id,
            actor: parts.actor.to_owned(),
            body_hash: Sha256::digest(request.encode_to_vec()).into(),
            at: parts.at,
        })
    }

    /// The shop.
    pub const fn shop_id(&self) -> &ShopId {
        &self.shop_id
    }

    /// Who acts.
    pub fn actor(&self) -> &str {
        &self.actor
    }

    /// The instant of the call: the same in every try of its transaction.
    pub const fn at(&self) -> DateTime<Utc> {
        self.at
    }
}

/// What a call has done: its answer, and one audit entry for each thing that it changed.
#[derive(Debug, Clone)]
pub struct Done<T> {
    pub(super) reply: T,
    pub(super) audit: Vec<AuditEntry>,
}

impl<T> Done<T> {
    /// An answer; nothing changed so far.
    pub const fn new(reply: T) -> Self {
        Self { reply, audit: Vec::new() }
    }

    /// Notes that a thing changed: absent before means that it is new, absent after that it is gone
    /// from use.
    #[must_use]
    pub fn changed<M: Message>(
        mut self,
        kind: &'static str,
        thing_id: impl Into<String>,
        before: Option<&M>,
        after: Option<&M>,
    ) -> Self {
        self.audit.push(AuditEntry {
            kind,
            thing_id: thing_id.into(),
            before: before.map(Message::encode_to_vec),
            after: after.map(Message::encode_to_vec),
        });
        self
    }

    /// Notes that a thing changed whose messages are encoded already.
    #[must_use]
    pub fn changed_bytes(
        mut self,
        kind: &'static str,
        thing_id: impl Into<String>,
        before: Option<Vec<u8>>,
        after: Option<Vec<u8>>,
    ) -> Self {
        self.audit.push(AuditEntry { kind, thing_id: thing_id.into(), before, after });
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    const REQUEST: &str = "0195563c-8f5c-7c1b-8f53-0f6b6f0d6a01";

    fn parts<'a>(shop_id: &'a str, request_id: &'a str, actor: &'a str) -> CallParts<'a> {
        CallParts { shop_id, method: "Test", request_id, actor, at: DateTime::UNIX_EPOCH }
    }

    #[rstest]
    #[case::fine("shop-1", REQUEST, "Ada", &[])]
    #[case::no_shop("", REQUEST, "Ada", &["shop_id"])]
    #[case::no_request_id("shop-1", "", "Ada", &["request_id"])]
    #[case::a_word_as_request_id("shop-1", "again", "Ada", &["request_id"])]
    #[case::nobody_acts("shop-1", REQUEST, " ", &["actor"])]
    #[case::all_at_once("a shop", "again", "", &["shop_id", "request_id", "actor"])]
    fn every_fault_of_a_call_is_named(
        #[case] shop_id: &str,
        #[case] request_id: &str,
        #[case] actor: &str,
        #[case] expected: &[&str],
    ) {
        let fields: Vec<String> = match Call::new(parts(shop_id, request_id, actor), &()) {
            Ok(_) => Vec::new(),
            Err(ServiceError::InvalidFields(faults)) => {
                faults.into_list().into_iter().map(|fault| fault.field).collect()
            }
            Err(other) => panic!("{other}"),
        };
        assert_eq!(fields, expected);
    }

    #[test]
    fn the_hash_is_over_the_whole_request() {
        let hash = |text: &str| Call::new(parts("s", REQUEST, "a"), &text.to_owned()).unwrap();
        assert_eq!(hash("one").body_hash, hash("one").body_hash);
        assert_ne!(hash("one").body_hash, hash("two").body_hash);
    }
}
