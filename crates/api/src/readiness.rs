//! How ready a task is, as it is shown; it is computed and never read.

use crate::time::timestamp;
use crate::v1;
use baywright_core::ids::TaskId;
use baywright_core::readiness::{Readiness, ReadinessReason, ReadinessState};

/// Writes how ready a task is.
pub fn readiness_message(task: &TaskId, readiness: &Readiness) -> v1::Readiness {
    let ready_at = match readiness.state {
        ReadinessState::ReadyBy(instant) => Some(instant),
        ReadinessState::Ready
        | ReadinessState::After
        | ReadinessState::Overdue
        | ReadinessState::Waiting
        | ReadinessState::NotOpen(_) => None,
    };
    v1::Readiness {
        task_id: task.to_string(),
        state: v1::ReadinessState::from(readiness.state).into(),
        ready_time: ready_at.map(timestamp),
        reasons: readiness.reasons.iter().map(Into::into).collect(),
    }
}

impl From<ReadinessState> for v1::ReadinessState {
    fn from(state: ReadinessState) -> Self {
        match state {
            ReadinessState::Ready => Self::Ready,
            ReadinessState::ReadyBy(_) => Self::ReadyBy,
            ReadinessState::After => Self::After,
            ReadinessState::Overdue => Self::Overdue,
            ReadinessState::Waiting => Self::Waiting,
            ReadinessState::NotOpen(_) => Self::NotOpen,
        }
    }
}

impl From<&ReadinessReason> for v1::ReadinessReason {
    fn from(reason: &ReadinessReason) -> Self {
        Self {
            key: reason.key.clone(),
            party: reason.party.clone(),
            expected_time: reason.expected_at.map(timestamp),
            sentence: reason.sentence.clone(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_core::work::TaskState;
    use chrono::{DateTime, Utc};
    use rstest::rstest;

    const AT: DateTime<Utc> = DateTime::<Utc>::UNIX_EPOCH;

    #[rstest]
    #[case::ready(ReadinessState::Ready, v1::ReadinessState::Ready, None)]
    #[case::by_then(ReadinessState::ReadyBy(AT), v1::ReadinessState::ReadyBy, Some(timestamp(AT)))]
    #[case::passed(ReadinessState::NotOpen(TaskState::Passed), v1::ReadinessState::NotOpen, None)]
    fn a_ready_time_stands_only_with_ready_by(
        #[case] state: ReadinessState,
        #[case] shown: v1::ReadinessState,
        #[case] ready_time: Option<prost_types::Timestamp>,
    ) {
        let readiness = Readiness { state, reasons: Vec::new(), lapses_at: Some(AT) };
        let message = readiness_message(&TaskId::new("front-camera").unwrap(), &readiness);
        assert_eq!((message.state(), message.ready_time), (shown, ready_time));
        assert_eq!(message.task_id, "front-camera");
    }
}
