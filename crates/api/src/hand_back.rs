//! What stands against a hand-back, and the exceptions that a manager records.

use crate::reading::{Reading as _, plain};
use crate::time::{required_instant, timestamp};
use crate::v1;
use baywright_core::fault::{FaultList, Faults};
use baywright_core::readiness::HandBackReason;
use baywright_core::work::HandBackException;
use chrono::{DateTime, Utc};

impl From<&HandBackReason> for v1::HandBackReason {
    fn from(reason: &HandBackReason) -> Self {
        Self {
            key: reason.key.clone(),
            sentence: reason.sentence.clone(),
            can_be_excepted: reason.can_be_excepted,
            until_time: reason.until.map(timestamp),
        }
    }
}

/// Reads an exception that a manager records at `at`; a time that the message states is not looked
/// at.
///
/// # Errors
/// A fault for each of key, manager and reason that is not stated or too long.
pub fn exception_told(
    message: &v1::HandBackException,
    at: DateTime<Utc>,
) -> Result<HandBackException, Faults> {
    plain(|faults| {
        let reason = faults.note_or_empty("reason", &message.reason);
        if reason.trim().is_empty() {
            let remedy = "say why the vehicle may leave all the same";
            faults.note("reason", "empty", "be stated", remedy);
        }
        Some(HandBackException {
            reason_key: faults.line("reason_key", &message.reason_key),
            manager: faults.line("manager", &message.manager),
            reason,
            at,
        })
    })
}

/// Reads an exception as it was stored.
pub(crate) fn exception_as_kept(
    faults: &mut FaultList,
    message: &v1::HandBackException,
) -> Option<HandBackException> {
    let at = required_instant(faults, "recorded_time", message.recorded_time.as_ref());
    Some(HandBackException {
        reason_key: message.reason_key.clone(),
        manager: message.manager.clone(),
        reason: message.reason.clone(),
        at: at.unwrap_or_default(),
    })
}

impl From<&HandBackException> for v1::HandBackException {
    fn from(exception: &HandBackException) -> Self {
        Self {
            reason_key: exception.reason_key.clone(),
            manager: exception.manager.clone(),
            reason: exception.reason.clone(),
            recorded_time: Some(timestamp(exception.at)),
        }
    }
}
