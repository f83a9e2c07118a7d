//! A refusal as a gRPC status with `google.rpc` details.

use super::{
    ServiceError, chain,
    detail::{metadata, violations},
};
use crate::limits::BUSY_RETRY;
use tonic::{Code, Status};
use tonic_types::{ErrorDetails, StatusExt as _};
use uuid::Uuid;

/// The domain of every reason.
pub(super) const DOMAIN: &str = "baywright";

impl ServiceError {
    /// The code of the status, as the contract documents it beside the reason.
    pub const fn code(&self) -> Code {
        match self {
            Self::InvalidFields(_) | Self::RequestIdReused { .. } => Code::InvalidArgument,
            Self::NotFound { .. } => Code::NotFound,
            Self::EtagMismatch { .. } | Self::FenceLost { .. } => Code::Aborted,
            Self::IllegalTransition { .. }
            | Self::NothingReady { .. }
            | Self::AlreadyHolding { .. }
            | Self::NotHolder { .. }
            | Self::StartCheckNotMet { .. }
            | Self::HandBackRefused { .. }
            | Self::HeldElsewhere { .. }
            | Self::NoPlan { .. }
            | Self::NotReady { .. }
            | Self::NoFittingBay { .. } => Code::FailedPrecondition,
            Self::Busy | Self::WatchEnded { .. } => Code::Unavailable,
            Self::TooManyWatchers { .. } => Code::ResourceExhausted,
            Self::Internal(_) => Code::Internal,
            Self::DeadlineExceeded => Code::DeadlineExceeded,
        }
    }
}

impl From<ServiceError> for Status {
    /// The status for the caller. Internal trouble is logged here, once.
    fn from(error: ServiceError) -> Self {
        let mut metadata = metadata(&error);
        if let ServiceError::Internal(source) = &error {
            let incident = Uuid::new_v4().to_string();
            tracing::error!(incident, trouble = chain(source.as_ref()), "unexpected trouble");
            metadata.insert("incident".to_owned(), incident);
        }
        let name = error.reason().as_str_name();
        let reason = name.strip_prefix("ERROR_REASON_").unwrap_or(name);
        let mut details = ErrorDetails::with_error_info(reason, DOMAIN, metadata);
        match &error {
            ServiceError::InvalidFields(faults) => {
                details.set_bad_request(violations(faults.list()));
            }
            ServiceError::Busy => {
                details.set_retry_info(Some(BUSY_RETRY));
            }
            _ => {}
        }
        Self::with_error_details(error.code(), error.to_string(), details)
    }
}
