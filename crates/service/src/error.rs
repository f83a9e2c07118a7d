//! Why a call is refused: one variant for each reason of the contract.
//!
//! What a caller may read is in the variant; what only the operator may read stays the source of
//! [`ServiceError::Internal`], is logged once under an incident id, and the caller gets the id.

mod detail;
mod status;

#[cfg(test)]
mod tests;

use crate::storage::StorageError;
use baywright_api::v1::ErrorReason;
use baywright_core::fault::{Fault, Faults};
use chrono::{DateTime, Utc};
use std::error::Error;

/// A refusal, or trouble that the service did not expect.
#[derive(Debug, thiserror::Error)]
pub enum ServiceError {
    /// One or more fields are wrong.
    #[error("{0}")]
    InvalidFields(Faults),
    /// No such thing in this shop, or no such shop.
    #[error("there is no {kind} {id}{}", if *kind == "shop" { "" } else { " in this shop" })]
    NotFound {
        /// What it is.
        kind: &'static str,
        /// Its name.
        id: String,
    },
    /// The request id came before with another body.
    #[error("request id {request_id} was used before with another body; make a new one")]
    RequestIdReused {
        /// The request id.
        request_id: String,
    },
    /// The thing changed since it was read.
    #[error("{kind} {id} has changed since it was read; read it again")]
    EtagMismatch {
        /// What it is.
        kind: &'static str,
        /// Its name.
        id: String,
        /// Its etag now.
        etag: String,
    },
    /// The state machine has no such transition.
    #[error("{kind} {id} is {state}; it cannot be {wanted}")]
    IllegalTransition {
        /// What it is.
        kind: &'static str,
        /// Its name.
        id: String,
        /// Where it stands.
        state: String,
        /// What was asked for.
        wanted: String,
    },
    /// No task can be given to this technician now.
    #[error("nothing is ready for this technician now")]
    NothingReady {
        /// Every task that was looked at, `job_id/task_id`, with the reason.
        looked_at: Vec<(String, String)>,
        /// When something becomes ready.
        next: Option<DateTime<Utc>>,
    },
    /// The technician holds a task already.
    #[error("the technician already holds task {task_id} of job {job_id}")]
    AlreadyHolding {
        /// The job.
        job_id: String,
        /// The task.
        task_id: String,
    },
    /// The caller does not hold the task.
    #[error("the technician does not hold task {task_id} of job {job_id}")]
    NotHolder {
        /// The job.
        job_id: String,
        /// The task.
        task_id: String,
    },
    /// The fencing number is older than the holding's.
    #[error("the holding with number {fence} is over; ask what is held now")]
    FenceLost {
        /// The number that the caller gave.
        fence: u64,
    },
    /// A start check is unanswered or not met.
    #[error("{} start check(s) not met", checks.len())]
    StartCheckNotMet {
        /// Check id and question.
        checks: Vec<(String, String)>,
    },
    /// The vehicle may not be handed back.
    #[error("the vehicle may not be handed back: {}", first_of(sentences))]
    HandBackRefused {
        /// Everything that stands against it.
        sentences: Vec<String>,
    },
    /// A task, vehicle, technician, unit or place is held by somebody else.
    #[error("{kind} {id} is held already")]
    HeldElsewhere {
        /// What it is.
        kind: String,
        /// Its name.
        id: String,
    },
    /// No plan keeps every rule.
    #[error("no plan keeps every rule: {}", first_of(sentences))]
    NoPlan {
        /// Why.
        sentences: Vec<String>,
    },
    /// The task is not ready at this instant.
    #[error("the task is not ready: {}", first_of(sentences))]
    NotReady {
        /// Why.
        sentences: Vec<String>,
    },
    /// The database stayed busy.
    #[error("the service is busy; send the same request again")]
    Busy,
    /// Something that the service did not expect.
    #[error("the service met trouble that it did not expect")]
    Internal(#[source] Box<dyn Error + Send + Sync>),
    /// A task was asked for in a bay, but no surveyed bay fits.
    #[error("no surveyed bay fits: {}", first_of(sentences))]
    NoFittingBay {
        /// Why.
        sentences: Vec<String>,
    },
    /// The caller's deadline passed first.
    #[error("the deadline passed; send the same request again to learn whether it took effect")]
    DeadlineExceeded,
    /// A watch ended that may go on.
    #[error("the watch ended, {}; ask again with the resume token", cause.words())]
    WatchEnded {
        /// Why.
        cause: WatchEnd,
        /// Where to go on.
        resume_token: String,
    },
    /// No further watch is possible now.
    #[error("{most} watches are open, as many as there may be; come again later")]
    TooManyWatchers {
        /// How many there may be.
        most: usize,
    },
}

/// Why the service ends a watch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WatchEnd {
    /// The service stops.
    Stopping,
    /// The longest life of a stream is over.
    Life,
}

impl WatchEnd {
    /// The name that the contract documents.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Stopping => "stopping",
            Self::Life => "life",
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Self::Stopping => "because the service stops",
            Self::Life => "because its longest life is over",
        }
    }
}

fn first_of(sentences: &[String]) -> &str {
    sentences.first().map_or("no reason was given", String::as_str)
}

impl ServiceError {
    /// There is no such thing.
    pub fn not_found(kind: &'static str, id: impl Into<String>) -> Self {
        Self::NotFound { kind, id: id.into() }
    }

    /// Trouble that the service did not expect.
    pub fn internal(source: impl Into<Box<dyn Error + Send + Sync>>) -> Self {
        Self::Internal(source.into())
    }

    /// The contract's reason.
    pub const fn reason(&self) -> ErrorReason {
        match self {
            Self::InvalidFields(_) => ErrorReason::InvalidFields,
            Self::NotFound { .. } => ErrorReason::NotFound,
            Self::RequestIdReused { .. } => ErrorReason::RequestIdReused,
            Self::EtagMismatch { .. } => ErrorReason::EtagMismatch,
            Self::IllegalTransition { .. } => ErrorReason::IllegalTransition,
            Self::NothingReady { .. } => ErrorReason::NothingReady,
            Self::AlreadyHolding { .. } => ErrorReason::AlreadyHolding,
            Self::NotHolder { .. } => ErrorReason::NotHolder,
            Self::FenceLost { .. } => ErrorReason::FenceLost,
            Self::StartCheckNotMet { .. } => ErrorReason::StartCheckNotMet,
            Self::HandBackRefused { .. } => ErrorReason::HandBackRefused,
            Self::HeldElsewhere { .. } => ErrorReason::HeldElsewhere,
            Self::NoPlan { .. } => ErrorReason::NoPlan,
            Self::NotReady { .. } => ErrorReason::NotReady,
            Self::Busy => ErrorReason::Busy,
            Self::Internal(_) => ErrorReason::Internal,
            Self::NoFittingBay { .. } => ErrorReason::NoFittingBay,
            Self::DeadlineExceeded => ErrorReason::DeadlineExceeded,
            Self::WatchEnded { .. } => ErrorReason::WatchEnded,
            Self::TooManyWatchers { .. } => ErrorReason::TooManyWatchers,
        }
    }
}

impl From<Faults> for ServiceError {
    fn from(faults: Faults) -> Self {
        Self::InvalidFields(faults)
    }
}

impl From<Fault> for ServiceError {
    fn from(fault: Fault) -> Self {
        Self::InvalidFields(fault.into())
    }
}

impl From<StorageError> for ServiceError {
    fn from(error: StorageError) -> Self {
        if error.is_busy() {
            return Self::Busy;
        }
        match error {
            StorageError::Claimed { claim } => {
                let (kind, id) = claim.split_once(':').unwrap_or(("claim", &claim));
                Self::HeldElsewhere { kind: kind.to_owned(), id: id.to_owned() }
            }
            StorageError::Stale { kind, id, etag } => Self::EtagMismatch { kind, id, etag },
            StorageError::FenceLost { fence } => Self::FenceLost { fence },
            StorageError::Database(_)
            | StorageError::Decode { .. }
            | StorageError::Unstorable { .. } => Self::internal(error),
        }
    }
}

/// An error and its causes in one line.
pub fn chain(error: &(dyn Error + 'static)) -> String {
    let mut line = error.to_string();
    let mut cause = error.source();
    while let Some(error) = cause {
        line.push_str(": ");
        line.push_str(&error.to_string());
        cause = error.source();
    }
    line
}
