//! What the audit trail keeps of a thing, read by the contract's own descriptors: no list of fields
//! has to follow the contract as it grows.

use crate::error::ServiceError;
use baywright_api::CONTRACT_DESCRIPTOR_SET;
use prost_reflect::{DescriptorPool, DynamicMessage, MessageDescriptor, SerializeOptions};
use serde_json::Value;
use std::sync::LazyLock;

static CONTRACT: LazyLock<Option<DescriptorPool>> =
    LazyLock::new(|| DescriptorPool::decode(CONTRACT_DESCRIPTOR_SET).ok());

/// The message of a kind of thing: `call-rule` is kept as a `CallRule`, `record` as a
/// `ConditionsRecord`. None for a kind that the contract does not know.
fn message_of(kind: &str) -> Option<MessageDescriptor> {
    let name = match kind {
        "record" => "ConditionsRecord".to_owned(),
        other => other.split('-').map(capitalised).collect(),
    };
    CONTRACT.as_ref()?.get_message_by_name(&format!("baywright.v1.{name}"))
}

fn capitalised(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn decoded(kind: &str, body: &[u8]) -> Result<Option<DynamicMessage>, ServiceError> {
    let descriptor = message_of(kind);
    descriptor
        .map(|descriptor| DynamicMessage::decode(descriptor, body))
        .transpose()
        .map_err(ServiceError::internal)
}

/// A stored thing as canonical JSON with the contract's field names; none for a kind that the
/// contract does not know.
///
/// # Errors
/// [`ServiceError::Internal`] when the stored bytes are damaged.
pub fn json(kind: &str, body: &[u8]) -> Result<Option<Value>, ServiceError> {
    let options = SerializeOptions::new().use_proto_field_name(true);
    decoded(kind, body)?
        .map(|message| message.serialize_with_options(serde_json::value::Serializer, &options))
        .transpose()
        .map_err(ServiceError::internal)
}

/// The job and task that a stored thing belongs to, from its fields `job_id`, `task_id` and `task`;
/// empty where it has none.
///
/// # Errors
/// [`ServiceError::Internal`] when the stored bytes are damaged.
pub fn job_and_task(kind: &str, body: &[u8]) -> Result<(String, String), ServiceError> {
    let Some(message) = decoded(kind, body)? else { return Ok(Default::default()) };
    let text = |message: &DynamicMessage, field: &str| {
        let value = message.get_field_by_name(field);
        value.and_then(|value| value.as_str().map(str::to_owned)).unwrap_or_default()
    };
    let mut task_id = text(&message, "task_id");
    if let Some(task) = message.get_field_by_name("task")
        && let Some(task) = task.as_message()
    {
        task_id = text(task, "task_id");
    }
    Ok((text(&message, "job_id"), task_id))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::testing::{holding, job, noon_time, task};
    use baywright_api::v1::ConditionsRecord;
    use prost::Message as _;
    use rstest::rstest;

    #[rstest]
    fn every_kind_of_the_audit_trail_has_its_message(
        #[values(
            "job",
            "holding",
            "record",
            "plan",
            "survey",
            "shop",
            "bay",
            "vehicle-class",
            "procedure",
            "call-rule",
            "technician",
            "unit",
            "account",
            "offer",
            "turned-away",
            "road-entry"
        )]
        kind: &str,
    ) {
        assert!(message_of(kind).is_some(), "{kind}");
    }

    #[test]
    fn a_kind_that_is_not_known_is_no_trouble() {
        assert_eq!(json("", b"x").unwrap(), None);
        assert_eq!(json("old-kind", b"x").unwrap(), None);
    }

    #[test]
    fn json_is_canonical_with_the_contracts_names() {
        let json = json("job", &job("J-1", 60).encode_to_vec()).unwrap().unwrap();
        assert_eq!(json["state"], "JOB_STATE_ON_SITE");
        assert_eq!(json["promise_time"], "2026-03-02T13:00:00Z");
        assert_eq!(json["tasks"][0]["task_id"], "front-camera");
    }

    #[test]
    fn a_thing_names_its_job_and_task_where_it_has_them() {
        let record = ConditionsRecord {
            job_id: "J-1".to_owned(),
            task: Some(task("front-camera")),
            ended_time: Some(noon_time()),
            ..ConditionsRecord::default()
        };
        let both = ("J-1".to_owned(), "front-camera".to_owned());
        assert_eq!(job_and_task("record", &record.encode_to_vec()).unwrap(), both);
        let holding = holding("J-1", "ada", "scan-1").encode_to_vec();
        assert_eq!(job_and_task("holding", &holding).unwrap(), both);
        let job = job("J-1", 60).encode_to_vec();
        assert_eq!(job_and_task("job", &job).unwrap(), ("J-1".to_owned(), String::new()));
    }
}
