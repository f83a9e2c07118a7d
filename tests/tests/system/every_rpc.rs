//! Every call of the contract, by its descriptors: bad input, a foreign shop's names, a repeat.
//!
//! Each call has an entry that makes a request which is answered. From that one request follow the
//! others: each field spoilt by its type, and as the entry says; each name replaced by one of another
//! shop; the same request again, and under its id another body. What is refused must write nothing:
//! the database file itself says so. A call without an entry, and an entry without its call, fail.

mod definitions;
mod entry;
mod jobs;
mod offers;
mod paths;
mod questions;
mod roads;
mod shops;
mod wire;
mod work;

use baywright_tests::system::Refusal;
use entry::{Entry, Foreign};
use paths::{Leaf, leaves, set};
use prost_reflect::{DynamicMessage, MethodDescriptor, Value};
use shops::{FOREIGN, Shops, told};
use std::{collections::BTreeSet, fmt::Debug, sync::Mutex};
use tonic::Code;

/// A shop that is nowhere.
const NOWHERE: &str = "nowhere";

fn entries() -> Vec<Entry> {
    let mut all = definitions::entries();
    all.extend(jobs::entries());
    all.extend(offers::entries());
    all.extend(work::entries());
    all.extend(questions::entries());
    all.extend(roads::entries());
    all
}

/// One call with the request that it is tried with, and what was found wanting so far.
struct Tried<'a> {
    shops: &'a Shops,
    entry: &'a Entry,
    method: MethodDescriptor,
    request: DynamicMessage,
    gaps: Mutex<Vec<String>>,
}

impl Tried<'_> {
    fn leaf(&self, name: &str) -> Option<Leaf> {
        leaves(&self.request).into_iter().find(|leaf| leaf.name == name)
    }

    fn with(&self, path: &str, value: Value) -> DynamicMessage {
        let mut request = self.request.clone();
        set(&mut request, path, value);
        request
    }

    fn takes(&self, field: &str) -> bool {
        self.method.input().get_field_by_name(field).is_some()
    }

    fn demand(&self, holds: bool, what: &str, found: &impl Debug) {
        if !holds {
            let rpc = self.entry.rpc;
            self.gaps.lock().unwrap().push(format!("{rpc}: {what}: {found:?}"));
        }
    }

    /// Sends a request that must be refused and write nothing.
    async fn refused(&self, request: &DynamicMessage, what: &str) -> Option<(Refusal, String)> {
        let before = self.shops.version().await;
        let answer = self.shops.send(&self.method, request).await;
        let after = self.shops.version().await;
        self.demand(answer.is_err(), &format!("{what} is answered"), &());
        self.demand(before == after, &format!("{what} writes something"), &());
        Some(told(&answer.err()?))
    }

    async fn check_bad(&self, request: &DynamicMessage, field: &str, what: &str) {
        let Some((refusal, text)) = self.refused(request, what).await else { return };
        // The very field, or one within it.
        let inside = format!("{field}.");
        let named = |one: &String| *one == field || one.starts_with(&inside);
        let fine = refusal.code == Code::InvalidArgument
            && refusal.reason == "INVALID_FIELDS"
            && refusal.fields.iter().any(named);
        self.demand(fine, what, &(refusal, text));
    }

    /// Fields spoilt by their type, by what every list has, and as the entry says.
    async fn bad_input(&self) {
        for leaf in leaves(&self.request) {
            if let Some(nonsense) = leaf.nonsense() {
                let request = self.with(&leaf.path, nonsense);
                self.check_bad(&request, &leaf.path, &format!("nonsense as {}", leaf.path)).await;
            }
        }
        for (name, value) in
            [("page_size", Value::I32(-1)), ("page_token", Value::String("no token".to_owned()))]
        {
            if self.takes(name) {
                self.check_bad(&self.with(name, value), name, &format!("a bad {name}")).await;
            }
        }
        for (field, spoil) in &self.entry.bad {
            let mut request = self.request.clone();
            spoil(&mut request);
            self.check_bad(&request, field, &format!("a bad {field}")).await;
        }
        if self.takes("etag") {
            let request = self.with("etag", Value::String("old".to_owned()));
            if let Some((refusal, text)) = self.refused(&request, "an old etag").await {
                self.demand(refusal.reason == "ETAG_MISMATCH", "an old etag", &text);
            }
        }
    }

    /// Each name in the request replaced by one of another shop.
    async fn foreign_names(&self) {
        let names: Vec<_> = leaves(&self.request).into_iter().filter(Leaf::is_name).collect();
        for (path, _) in &self.entry.foreign {
            let used = names.iter().any(|leaf| leaf.path.starts_with(path));
            self.demand(used, "the entry speaks of a name that the request has not", path);
        }
        for leaf in &names {
            match self.entry.foreign_at(&leaf.path) {
                _ if leaf.path == "shop_id" => self.foreign_shop().await,
                Foreign::SendersOwn => {}
                Foreign::Refused => self.foreign_name(leaf, None).await,
                Foreign::Named(name) => self.foreign_name(leaf, Some(name)).await,
                Foreign::FindsNothing => {
                    let name = format!("{FOREIGN}{}", leaf.value.as_str().unwrap());
                    let request = self.with(&leaf.path, Value::String(name));
                    let answer = self.shops.send(&self.method, &request).await;
                    let empty = answer.as_ref().is_ok_and(Vec::is_empty);
                    self.demand(empty, "a foreign name finds something", &answer);
                }
            }
        }
        if self.takes("holding") {
            let request = self.with("holding.fence", Value::U64(self.shops.foreign_fence));
            if let Some((refusal, text)) = self.refused(&request, "a foreign fence").await {
                self.demand(refusal.reason == "FENCE_LOST", "a foreign fence", &text);
            }
        }
    }

    async fn foreign_name(&self, leaf: &Leaf, name: Option<&str>) {
        let own = leaf.value.as_str().unwrap();
        let name = match (name, leaf.name.as_str()) {
            (Some(name), _) => name.to_owned(),
            (None, "job_id") => format!("{FOREIGN}J-1"),
            (None, _) => format!("{FOREIGN}{own}"),
        };
        let request = self.with(&leaf.path, Value::String(name.clone()));
        let what = format!("{name} as {}", leaf.path);
        let Some((refusal, text)) = self.refused(&request, &what).await else { return };
        let not_found = refusal.reason == "NOT_FOUND" && refusal.metadata["id"].contains(&name);
        let bad_field = refusal.reason == "INVALID_FIELDS" && refusal.fields == [leaf.path.clone()];
        let not_holder = refusal.reason == "NOT_HOLDER" && leaf.path == "holding.technician_id";
        self.demand(not_found || bad_field || not_holder, &what, &(refusal, &text));
        let leaked = text.replace(&name, "").contains(FOREIGN);
        self.demand(!leaked, &format!("{what} tells of the other shop"), &text);
    }

    /// The request sent to another shop, which knows none of its names.
    async fn foreign_shop(&self) {
        let nowhere = self.with("shop_id", Value::String(NOWHERE.to_owned()));
        if let Some((refusal, text)) = self.refused(&nowhere, "a shop that is nowhere").await {
            let kind = refusal.metadata.get("kind").map(String::as_str);
            let fine = refusal.reason == "NOT_FOUND" && kind == Some("shop");
            self.demand(fine, "a shop that is nowhere", &text);
        }
        let other = format!("{FOREIGN}test");
        let foreign = self.with("shop_id", Value::String(other.clone()));
        if self.entry.shop_alone {
            if !self.takes("request_id") {
                let answer = self.shops.send(&self.method, &foreign).await;
                self.demand(answer.is_ok(), "another shop is not read", &answer);
                self.check_names(&answer.unwrap_or_default(), true);
            }
            return;
        }
        let Some((refusal, text)) = self.refused(&foreign, "somebody else's shop").await else {
            return;
        };
        let fine = ["NOT_FOUND", "INVALID_FIELDS"].contains(&refusal.reason.as_str());
        self.demand(fine, "somebody else's shop", &(refusal, &text));
        let leaked = text.replace(&other, "").contains(FOREIGN);
        self.demand(!leaked, "somebody else's shop is told of", &text);
    }

    /// Every shop, job, bay and so on that the answer names is of the right shop.
    fn check_names(&self, answer: &[u8], foreign: bool) {
        let message = DynamicMessage::decode(self.method.output(), answer).unwrap();
        for leaf in leaves(&message).iter().filter(|leaf| leaf.is_name()) {
            let of_shop = ["shop_id", "job_id", "bay_id", "technician_id", "procedure_id"];
            if of_shop.contains(&leaf.name.as_str()) {
                let name = leaf.value.as_str().unwrap();
                self.demand(name.starts_with(FOREIGN) == foreign, "names another shop's", &leaf);
            }
        }
        if !foreign {
            let text = String::from_utf8_lossy(answer).into_owned();
            self.demand(!text.contains(FOREIGN), "tells of another shop", &text);
        }
    }

    /// The request itself, and where it writes, the same again and another body under its id.
    async fn repeats(&self) {
        let writes = self.takes("request_id");
        let before = self.shops.version().await;
        let answer = self.shops.send(&self.method, &self.request).await;
        let after = self.shops.version().await;
        self.demand(answer.is_ok(), "the request itself is refused", &answer);
        let Ok(answer) = answer else { return };
        self.demand((before != after) == writes, "what writes has a request id", &writes);
        self.check_names(&answer, false);
        if !writes {
            return;
        }
        let again = self.shops.send(&self.method, &self.request).await;
        let alike = again.as_ref().is_ok_and(|again| *again == answer);
        self.demand(alike, "a repeat is not answered byte for byte the same", &again);
        self.demand(self.shops.version().await == after, "a repeat writes", &());
        let other = self.another_body();
        if let Some((refusal, text)) = self.refused(&other, "another body, same request id").await {
            let fine = refusal.reason == "REQUEST_ID_REUSED";
            self.demand(fine, "another body, same request id", &text);
        }
    }

    fn another_body(&self) -> DynamicMessage {
        match &self.entry.other {
            Some((path, value)) => self.with(path, value.clone()),
            None if self.leaf("actor").is_some() => {
                self.with("actor", Value::String("Noa (invented)".to_owned()))
            }
            None => {
                let fence = self.leaf("fence").unwrap();
                let number = fence.value.as_u64().unwrap();
                self.with(&fence.path, Value::U64(number + 1))
            }
        }
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_call_refuses_bad_input_and_foreign_names_and_repeats_without_effect() {
    let shops = Shops::open().await;
    let mut gaps = Vec::new();
    for entry in &entries() {
        let method = shops.method(entry.rpc);
        let bytes = (entry.request)(&shops).await;
        let request = DynamicMessage::decode(method.input(), bytes.as_slice()).unwrap();
        let tried = Tried { shops: &shops, entry, method, request, gaps: Mutex::default() };
        tried.bad_input().await;
        tried.foreign_names().await;
        tried.repeats().await;
        gaps.extend(tried.gaps.into_inner().unwrap());
    }
    assert!(gaps.is_empty(), "{} gaps:\n{}", gaps.len(), gaps.join("\n"));
}

#[test]
fn every_call_of_the_contract_has_its_entry_and_every_entry_its_call() {
    let contract =
        prost_reflect::DescriptorPool::decode(baywright_api::CONTRACT_DESCRIPTOR_SET).unwrap();
    let calls: BTreeSet<String> = contract
        .services()
        .filter(|service| service.package_name() == "baywright.v1")
        .flat_map(|service| {
            let name = service.name().to_owned();
            service.methods().map(move |one| format!("{name}/{}", one.name())).collect::<Vec<_>>()
        })
        .collect();
    let listed: Vec<String> = entries().iter().map(|entry| entry.rpc.to_owned()).collect();
    let once: BTreeSet<String> = listed.iter().cloned().collect();
    assert_eq!(once.len(), listed.len(), "an entry stands twice");
    let missing: Vec<_> = calls.difference(&once).collect();
    let stale: Vec<_> = once.difference(&calls).collect();
    assert!(missing.is_empty() && stale.is_empty(), "without entry {missing:?}, stale {stale:?}");
    // Whoever writes takes a request id, and nobody else does.
    for service in contract.services().filter(|one| one.package_name() == "baywright.v1") {
        for method in service.methods() {
            let reads =
                ["Get", "List", "Check", "Locate", "Verify", "Watch", "Report", "Draw", "Explain"]
                    .iter()
                    .any(|verb| method.name().starts_with(verb));
            let has_id = method.input().get_field_by_name("request_id").is_some();
            assert_eq!(has_id, !reads, "{}", method.full_name());
        }
    }
}
