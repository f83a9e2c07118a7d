//! Whether a vehicle may leave, and everything that stands against it.
//!
//! It may leave only when every called calibration has passed and nothing since undid it, no
//! proposal or operation is undecided, no accepted work is unfinished, no blocking code stands and
//! the adhesive's driven instant is past. A named manager may record an exception to a single
//! reason; declining or cancelling a called calibration needs one.

use crate::demand::TaskKind;
use crate::work::{Job, JobState, OperationState, Task, TaskState};
use chrono::{DateTime, Utc};

/// One reason against a hand-back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HandBackReason {
    /// Key by which an exception names it: `task:front-camera`.
    pub key: String,
    /// One sentence that says what to do.
    pub sentence: String,
    /// Whether a manager may except it.
    pub can_be_excepted: bool,
    /// When it goes away by itself.
    pub until: Option<DateTime<Utc>>,
}

/// Everything that stands against handing the vehicle of `job` back at `at`; none when it may leave.
///
/// Reasons for which the job holds an exception are left out.
pub fn hand_back_reasons(job: &Job, at: DateTime<Utc>) -> Vec<HandBackReason> {
    let mut reasons = Vec::new();
    if job.state != JobState::OnSite {
        let sentence = match job.state {
            JobState::Expected => "The vehicle has not come; record its arrival first.",
            JobState::HandedBack => "The vehicle has been handed back already.",
            JobState::Cancelled => "The job is cancelled; there is no vehicle to hand back.",
            JobState::OnSite => "",
        };
        reasons.push(HandBackReason {
            key: "vehicle".to_owned(),
            sentence: sentence.to_owned(),
            can_be_excepted: false,
            until: None,
        });
    }
    reasons.extend(job.tasks.iter().filter_map(|task| task_reason(job, task)));
    for operation in &job.operations {
        if operation.state == OperationState::NeedsDecision {
            reasons.push(HandBackReason {
                key: format!("operation:{}", operation.id),
                sentence: format!(
                    "No rule knows operation {} ({}); decide what it calls for.",
                    operation.id, operation.code
                ),
                can_be_excepted: true,
                until: None,
            });
        }
    }
    for code in job.codes.iter().filter(|code| code.blocking) {
        reasons.push(HandBackReason {
            key: format!("code:{}", code.code),
            sentence: format!(
                "Code {} stands since the last scan; mend its cause and scan again.",
                code.code
            ),
            can_be_excepted: true,
            until: None,
        });
    }
    if let Some(drivable_at) = job.drivable_at()
        && at < drivable_at
    {
        reasons.push(HandBackReason {
            key: "adhesive".to_owned(),
            sentence: "The adhesive has not reached the instant from which the vehicle may be \
                           driven; wait for it."
                .to_owned(),
            can_be_excepted: false,
            until: Some(drivable_at),
        });
    }
    reasons.retain(|reason| {
        !(reason.can_be_excepted
            && job.exceptions.iter().any(|exception| exception.reason_key == reason.key))
    });
    reasons
}

fn task_reason(job: &Job, task: &Task) -> Option<HandBackReason> {
    let id = &task.id;
    let calibration = task.kind == TaskKind::Calibration;
    // Of glass that was given up nobody knows whether and when it was set, until it is recorded.
    let unknown_glass = task.kind == TaskKind::Glass && job.adhesives.is_empty();
    let (sentence, can_be_excepted) = match task.state {
        TaskState::Passed => return None,
        TaskState::Declined | TaskState::Cancelled if !calibration && !unknown_glass => {
            return None;
        }
        TaskState::Declined | TaskState::Cancelled if unknown_glass => (
            format!(
                "Glass {id} was called for and is {}; record it as done outside with its adhesive, or \
                 a named manager must record why the vehicle may leave.",
                task.state
            ),
            true,
        ),
        TaskState::Declined | TaskState::Cancelled => (
            format!(
                "Calibration {id} was called for and is {}; a named manager must record why the \
                 vehicle may leave without it.",
                task.state
            ),
            true,
        ),
        TaskState::Proposed => (format!("Task {id} is only proposed; accept or decline it."), true),
        TaskState::Held | TaskState::Running | TaskState::Paused => {
            (format!("Task {id} is {}; finish it or put it back.", task.state), false)
        }
        TaskState::Sublet => (format!("Task {id} is sent out; record how it ended."), true),
        TaskState::Failed => {
            (format!("Task {id} has failed; allow a new attempt and let it pass."), true)
        }
        TaskState::Open => match &task.undone {
            Some(undone) => (
                format!(
                    "Task {id} had passed, but {} has undone it since; it must be done again.",
                    undone.by
                ),
                true,
            ),
            None => (format!("Task {id} is not done yet; do it or have it decided."), true),
        },
    };
    Some(HandBackReason { key: format!("task:{id}"), sentence, can_be_excepted, until: None })
}
