//! A reply as JSON in the canonical form of protocol buffers, written from the contract itself.

use crate::failure::Failure;
use prost::Message;
use prost_reflect::{DescriptorPool, DynamicMessage, SerializeOptions};

/// The message of that name in `baywright.v1`, as indented JSON.
pub(crate) fn text<M: Message>(name: &str, message: &M) -> Result<String, Failure> {
    written(name, message, serde_json::Serializer::pretty(Vec::new()))
}

/// The same on one line, for one of many.
pub(crate) fn line<M: Message>(name: &str, message: &M) -> Result<String, Failure> {
    written(name, message, serde_json::Serializer::new(Vec::new()))
}

fn written<M: Message, F: serde_json::ser::Formatter>(
    name: &str,
    message: &M,
    mut serializer: serde_json::Serializer<Vec<u8>, F>,
) -> Result<String, Failure> {
    let refuse = |what: String| Failure::Reply(format!("{name}: {what}"));
    let pool = DescriptorPool::decode(baywright_api::CONTRACT_DESCRIPTOR_SET)
        .map_err(|error| refuse(error.to_string()))?;
    let descriptor = pool
        .get_message_by_name(&format!("baywright.v1.{name}"))
        .ok_or_else(|| refuse("not in the contract".to_owned()))?;
    let dynamic = DynamicMessage::decode(descriptor, message.encode_to_vec().as_slice())
        .map_err(|error| refuse(error.to_string()))?;
    dynamic
        .serialize_with_options(&mut serializer, &SerializeOptions::new())
        .map_err(|error| refuse(error.to_string()))?;
    String::from_utf8(serializer.into_inner()).map_err(|error| refuse(error.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_api::v1::{GetJobResponse, Job, JobState};
    use prost_types::Timestamp;

    #[test]
    fn names_are_in_camel_case_times_are_rfc_3339_and_kinds_are_names() {
        // The rules are those of "ProtoJSON Format" in the documentation of protocol buffers.
        let promise_time = Some(Timestamp { seconds: 1_777_962_600, nanos: 0 });
        let job = Job {
            job_id: "J-1".to_owned(),
            promise_time,
            state: JobState::OnSite.into(),
            ..Job::default()
        };
        let reply = GetJobResponse { job: Some(job), readiness: Vec::new() };
        assert_eq!(
            text("GetJobResponse", &reply).unwrap(),
            "{\n  \"job\": {\n    \"jobId\": \"J-1\",\n    \"promiseTime\": \"2026-05-05T06:30:00Z\",\n    \
             \"state\": \"JOB_STATE_ON_SITE\"\n  }\n}"
        );
    }

    #[test]
    fn a_message_that_the_contract_does_not_have_is_refused() {
        assert!(text("NoSuchMessage", &Job::default()).is_err());
    }
}
