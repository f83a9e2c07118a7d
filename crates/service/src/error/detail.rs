//! What a refusal carries besides its reason: the metadata that the contract documents.
//!
//! Details travel in a header and common clients bound their headers, so entries are taken until
//! [`DETAIL_BYTES_MAX`] is used up; then the number of those left out is said instead.

use super::ServiceError;
use crate::limits::DETAIL_BYTES_MAX;
use baywright_core::fault::Fault;
use chrono::SecondsFormat;
use std::collections::HashMap;
use tonic_types::FieldViolation;

/// The metadata of a refusal. The incident id of internal trouble is added where it is logged.
pub(super) fn metadata(error: &ServiceError) -> HashMap<String, String> {
    match error {
        ServiceError::NotFound { kind, id } => named([("kind", *kind), ("id", id)]),
        ServiceError::RequestIdReused { request_id } => named([("request_id", request_id)]),
        ServiceError::EtagMismatch { kind, id, etag } => {
            named([("kind", *kind), ("id", id), ("etag", etag)])
        }
        ServiceError::IllegalTransition { kind, id, state, wanted } => {
            named([("kind", *kind), ("id", id), ("state", state), ("wanted", wanted)])
        }
        ServiceError::NothingReady { looked_at, next } => {
            let mut entries = bounded(looked_at.iter().cloned());
            if let Some(next) = next {
                let next = next.to_rfc3339_opts(SecondsFormat::AutoSi, true);
                entries.insert("next_time".to_owned(), next);
            }
            entries
        }
        ServiceError::AlreadyHolding { job_id, task_id }
        | ServiceError::NotHolder { job_id, task_id } => {
            named([("job_id", job_id), ("task_id", task_id)])
        }
        ServiceError::FenceLost { fence } => named([("fence", &fence.to_string())]),
        ServiceError::StartCheckNotMet { checks } => bounded(checks.iter().cloned()),
        ServiceError::HandBackRefused { sentences }
        | ServiceError::NoPlan { sentences }
        | ServiceError::NotReady { sentences }
        | ServiceError::NoFittingBay { sentences } => {
            let numbers = (1..).map(|number: u32| number.to_string());
            bounded(numbers.zip(sentences.iter().cloned()))
        }
        ServiceError::HeldElsewhere { kind, id } => named([("kind", kind), ("id", id)]),
        ServiceError::WatchEnded { cause, resume_token } => {
            named([("cause", cause.name()), ("resume_token", resume_token)])
        }
        ServiceError::TooManyWatchers { most } => named([("most", &most.to_string())]),
        ServiceError::InvalidFields(_)
        | ServiceError::Busy
        | ServiceError::Internal(_)
        | ServiceError::DeadlineExceeded => HashMap::new(),
    }
}

/// One violation for each fault: what was given, what the field allows and what to do.
pub(super) fn violations(faults: &[Fault]) -> Vec<FieldViolation> {
    let all = faults.iter().map(|fault| {
        let Fault { field, value, limit, remedy } = fault;
        (field.clone(), format!("The value is {value}; it must {limit}; {remedy}."))
    });
    let (kept, left_out) = fitting(all);
    let mut violations: Vec<_> =
        kept.into_iter().map(|(field, sentence)| FieldViolation::new(field, sentence)).collect();
    if left_out > 0 {
        violations.push(FieldViolation::new("", format!("{left_out} more faults are not listed.")));
    }
    violations
}

fn named<const N: usize>(entries: [(&str, &str); N]) -> HashMap<String, String> {
    entries.into_iter().map(|(key, value)| (key.to_owned(), value.to_owned())).collect()
}

fn bounded(entries: impl Iterator<Item = (String, String)>) -> HashMap<String, String> {
    let (kept, left_out) = fitting(entries);
    let mut kept: HashMap<_, _> = kept.into_iter().collect();
    if left_out > 0 {
        kept.insert("more".to_owned(), left_out.to_string());
    }
    kept
}

/// The first entries that fit, and how many do not.
fn fitting(entries: impl Iterator<Item = (String, String)>) -> (Vec<(String, String)>, usize) {
    let mut room = DETAIL_BYTES_MAX;
    let mut kept = Vec::new();
    let mut left_out = 0;
    for (key, value) in entries {
        match room.checked_sub(key.len() + value.len()) {
            Some(rest) if left_out == 0 => {
                room = rest;
                kept.push((key, value));
            }
            Some(_) | None => left_out += 1,
        }
    }
    (kept, left_out)
}
