//! A refusal as a caller sees it.

use std::{collections::HashMap, fmt::Debug};
use tonic::{Code, Status};
use tonic_types::StatusExt as _;

/// Code, reason, metadata and faulty fields of a refusal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The code of the status.
    pub code: Code,
    /// The reason of its `google.rpc.ErrorInfo`.
    pub reason: String,
    /// The metadata of its `google.rpc.ErrorInfo`.
    pub metadata: HashMap<String, String>,
    /// The paths in its `google.rpc.BadRequest`.
    pub fields: Vec<String>,
}

impl From<&Status> for Refusal {
    fn from(status: &Status) -> Self {
        let details = status.get_error_details();
        let info = details.error_info().cloned();
        let (reason, metadata) = info.map(|info| (info.reason, info.metadata)).unwrap_or_default();
        let violations = details.bad_request().map(|bad| bad.field_violations.clone());
        let fields = violations.unwrap_or_default().into_iter().map(|one| one.field).collect();
        Self { code: status.code(), reason, metadata, fields }
    }
}

/// The refusal, which must be one of `code` and `reason`.
#[track_caller]
pub fn refused<T: Debug>(answer: Result<T, Status>, code: Code, reason: &str) -> Refusal {
    let status = match answer {
        Ok(reply) => panic!("it must be refused with {reason}, but the answer is {reply:?}"),
        Err(status) => status,
    };
    let refusal = Refusal::from(&status);
    assert_eq!((refusal.code, refusal.reason.as_str()), (code, reason), "{status:?}");
    refusal
}
