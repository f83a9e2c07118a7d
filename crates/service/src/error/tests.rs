//! Every reason of the contract, its code and its details.

use super::*;
use rstest::rstest;
use std::collections::BTreeMap;
use tonic::{Code, Status};
use tonic_types::StatusExt as _;

/// One of each variant. The match has no catch-all: a new variant does not compile until it is
/// listed here.
fn one_of_each() -> Vec<ServiceError> {
    let text = str::to_owned;
    let sentences = || vec!["the first".to_owned(), "the second".to_owned()];
    let all = vec![
        Fault::new("promise_time", "never", "be an instant", "give one").into(),
        ServiceError::not_found("job", "J-1"),
        ServiceError::RequestIdReused { request_id: text("id") },
        ServiceError::EtagMismatch { kind: "job", id: text("J-1"), etag: text("\"2\"") },
        ServiceError::IllegalTransition {
            kind: "task",
            id: text("J-1/front-camera"),
            state: text("passed"),
            wanted: text("started"),
        },
        ServiceError::NothingReady {
            looked_at: vec![(text("J-1/front-camera"), text("waiting on parts"))],
            next: Some("2026-03-02T12:00:00Z".parse().unwrap()),
        },
        ServiceError::AlreadyHolding { job_id: text("J-1"), task_id: text("front-camera") },
        ServiceError::NotHolder { job_id: text("J-1"), task_id: text("front-camera") },
        ServiceError::FenceLost { fence: 7 },
        ServiceError::StartCheckNotMet { checks: vec![(text("tyres"), text("At placard?"))] },
        ServiceError::HandBackRefused { sentences: sentences() },
        ServiceError::HeldElsewhere { kind: text("unit"), id: text("scan-1") },
        ServiceError::NoPlan { sentences: sentences() },
        ServiceError::NotReady { sentences: sentences() },
        ServiceError::Busy,
        ServiceError::internal("the secret cause"),
        ServiceError::NoFittingBay { sentences: sentences() },
        ServiceError::DeadlineExceeded,
        ServiceError::WatchEnded { cause: WatchEnd::Stopping, resume_token: text("17") },
        ServiceError::TooManyWatchers { most: 64 },
    ];
    for error in &all {
        match error {
            ServiceError::InvalidFields(_)
            | ServiceError::NotFound { .. }
            | ServiceError::RequestIdReused { .. }
            | ServiceError::EtagMismatch { .. }
            | ServiceError::IllegalTransition { .. }
            | ServiceError::NothingReady { .. }
            | ServiceError::AlreadyHolding { .. }
            | ServiceError::NotHolder { .. }
            | ServiceError::FenceLost { .. }
            | ServiceError::StartCheckNotMet { .. }
            | ServiceError::HandBackRefused { .. }
            | ServiceError::HeldElsewhere { .. }
            | ServiceError::NoPlan { .. }
            | ServiceError::NotReady { .. }
            | ServiceError::Busy
            | ServiceError::Internal(_)
            | ServiceError::NoFittingBay { .. }
            | ServiceError::DeadlineExceeded
            | ServiceError::WatchEnded { .. }
            | ServiceError::TooManyWatchers { .. } => {}
        }
    }
    all
}

/// Code and metadata keys of each reason, as the contract's comments document them.
fn documented() -> BTreeMap<String, (String, Vec<String>)> {
    let contract = include_str!("../../../../proto/baywright/v1/error_reason.proto");
    let mut documented = BTreeMap::new();
    let mut comment = String::new();
    for line in contract.lines().map(str::trim) {
        if let Some(text) = line.strip_prefix("//") {
            comment.push_str(text);
        } else if let Some(name) = line.strip_prefix("ERROR_REASON_") {
            let name = name.split_once(' ').unwrap().0;
            let code = comment.trim().split_once('.').unwrap().0.to_owned();
            let keys = comment.split_once("Metadata:").map_or("", |(_, keys)| keys);
            let keys = keys.split('`').skip(1).step_by(2).map(str::to_owned).collect();
            documented.insert(name.to_owned(), (code, keys));
            comment.clear();
        } else {
            comment.clear();
        }
    }
    documented.remove("UNSPECIFIED");
    documented
}

#[test]
fn every_reason_of_the_contract_is_produced_by_exactly_one_variant() {
    let mut produced: Vec<_> = one_of_each().iter().map(|error| error.reason() as i32).collect();
    produced.sort_unstable();
    let contract: Vec<_> =
        (1..1_000).filter(|number| ErrorReason::try_from(*number).is_ok()).collect();
    assert_eq!(produced, contract);
    assert_eq!(contract.len(), documented().len());
}

#[test]
fn every_status_has_the_documented_code_reason_and_metadata() {
    let documented = documented();
    for error in one_of_each() {
        let status = Status::from(error);
        let details = status.get_error_details();
        let info = details.error_info().unwrap();
        let (code, keys) = &documented[&info.reason];
        let spelt = format!("{:?}", status.code());
        assert_eq!(code.replace('_', ""), spelt.to_uppercase(), "{}", info.reason);
        assert_eq!(info.domain, "baywright");
        for key in keys {
            // NOTHING_READY documents the pattern of its keys beside one name.
            let is_there = info.metadata.contains_key(key) || key == "job_id/task_id";
            assert!(is_there, "{} lacks {key}", info.reason);
        }
    }
}

#[test]
fn a_refused_field_is_named_with_value_limit_and_remedy() {
    let fault = Fault::new("lines[2].operation_id", "\"\"", "be 1 to 64 letters", "name the line");
    let status = Status::from(ServiceError::from(fault));
    let details = status.get_error_details();
    let violation = &details.bad_request().unwrap().field_violations[0];
    assert_eq!(violation.field, "lines[2].operation_id");
    assert_eq!(
        violation.description,
        "The value is \"\"; it must be 1 to 64 letters; name the line."
    );
}

#[test]
fn sentences_are_numbered() {
    let sentences = vec!["one".to_owned(), "two".to_owned()];
    let status = Status::from(ServiceError::HandBackRefused { sentences });
    let metadata = status.get_error_details().error_info().unwrap().metadata.clone();
    assert_eq!((metadata["1"].as_str(), metadata["2"].as_str()), ("one", "two"));
    assert!(status.message().contains("one"));
}

#[test]
fn a_caller_learns_of_internal_trouble_only_its_incident_id() {
    let status = Status::from(ServiceError::internal("the secret cause"));
    let metadata = status.get_error_details().error_info().unwrap().metadata.clone();
    assert!(uuid::Uuid::try_parse(&metadata["incident"]).is_ok());
    assert!(!format!("{status:?}").contains("secret"));
}

#[test]
fn a_caller_of_a_busy_service_is_told_when_to_come_again() {
    let status = Status::from(ServiceError::Busy);
    assert!(status.get_error_details().retry_info().unwrap().retry_delay.is_some());
}

#[test]
fn details_stay_small_enough_for_a_header() {
    let sentences = (0..1_000).map(|number| format!("reason {number} {}", "x".repeat(90)));
    let status = Status::from(ServiceError::NoPlan { sentences: sentences.collect() });
    let details = status.get_error_details();
    let metadata = &details.error_info().unwrap().metadata;
    let left_out: usize = metadata["more"].parse().unwrap();
    assert_eq!(left_out + metadata.len() - 1, 1_000);
    // Measured bound: common clients take 8 KiB of headers.
    assert!(status.details().len() * 4 / 3 < 8 << 10, "{}", status.details().len());
}

#[rstest]
#[case::claimed(StorageError::Claimed { claim: "technician:ada".to_owned() }, Code::FailedPrecondition)]
#[case::stale(StorageError::Stale { kind: "job", id: "J-1".to_owned(), etag: "\"2\"".to_owned() }, Code::Aborted)]
#[case::fence(StorageError::FenceLost { fence: 7 }, Code::Aborted)]
#[case::unstorable(StorageError::Unstorable { field: "job.state" }, Code::Internal)]
fn storage_trouble_has_its_code(#[case] error: StorageError, #[case] code: Code) {
    assert_eq!(ServiceError::from(error).code(), code);
}

#[test]
fn a_claim_names_kind_and_id() {
    let error = ServiceError::from(StorageError::Claimed { claim: "unit:scan-1".to_owned() });
    assert_eq!(error.to_string(), "unit scan-1 is held already");
}

#[test]
fn the_guide_lists_every_reason_with_its_code_and_metadata() {
    let guide = include_str!("../../../../docs/api.md");
    let rows: BTreeMap<_, _> = guide
        .lines()
        .filter_map(|line| line.strip_prefix("| `")?.split_once("` | `"))
        .filter_map(|(reason, rest)| Some((reason, rest.split_once('`')?)))
        .collect();
    for (reason, (code, keys)) in documented() {
        let (said, rest) = rows.get(reason.as_str()).unwrap_or_else(|| panic!("{reason}"));
        assert_eq!(*said, code, "{reason}");
        // NOTHING_READY documents the pattern of its keys beside one name.
        for key in keys.iter().filter(|key| *key != "job_id/task_id") {
            assert!(rest.contains(&format!("`{key}`")), "{reason} lacks {key}");
        }
    }
}
