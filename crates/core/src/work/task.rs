//! A task and its states.
//!
//! proposed -accept-> open -pull-> held -start-> running (<-> paused) -finish-> passed | failed;
//! held, running, paused -put back-> open; open -sublet-> sublet -> passed | failed; failed -redo->
//! open; passed -undone-> open; proposed -decline-> declined; declined, cancelled -called again-> proposed;
//! proposed, open, failed, sublet -cancel-> cancelled. A transition that is not drawn is refused.

use super::{CureMinutes, TaskAfter, UndoTarget};
use crate::demand::{SensorFamily, TaskKind};
use crate::ids::{CallRuleId, ProcedureId, TaskId};
use chrono::{DateTime, Utc};
use std::fmt;

/// State of a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TaskState {
    /// A rule calls for it; a person has yet to say yes or no.
    Proposed,
    /// To be done.
    Open,
    /// Pulled by a technician, not started.
    Held,
    /// Begun.
    Running,
    /// Begun and interrupted; everything stays held.
    Paused,
    /// Sent out.
    Sublet,
    /// Done, and good.
    Passed,
    /// Done, and not good.
    Failed,
    /// A person said no, with a reason.
    Declined,
    /// No longer to be done.
    Cancelled,
}

/// What happens to a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TaskEvent {
    /// A person says yes.
    Accept,
    /// A person says no.
    Decline,
    /// A later estimate calls for a declined task again.
    CallAgain,
    /// A technician takes it.
    Pull,
    /// Work begins.
    Start,
    /// Work is interrupted.
    Pause,
    /// Work goes on.
    Resume,
    /// It goes back without a result.
    PutBack,
    /// It ends well.
    Pass,
    /// It ends badly.
    Fail,
    /// A new attempt is allowed.
    Redo,
    /// Later work made its result worthless.
    Undo,
    /// It is sent out.
    Sublet,
    /// It is given up.
    Cancel,
}

impl TaskState {
    /// Every state, in the order drawn.
    pub const ALL: [Self; 10] = [
        Self::Proposed,
        Self::Open,
        Self::Held,
        Self::Running,
        Self::Paused,
        Self::Sublet,
        Self::Passed,
        Self::Failed,
        Self::Declined,
        Self::Cancelled,
    ];

    /// The state after `event`.
    ///
    /// # Errors
    /// [`IllegalTransition`] where the state machine draws no such arrow.
    pub fn after(self, event: TaskEvent) -> Result<Self, IllegalTransition> {
        use TaskEvent as E;
        match (self, event) {
            (Self::Proposed, E::Accept) => Ok(Self::Open),
            (Self::Proposed, E::Decline) => Ok(Self::Declined),
            (Self::Declined | Self::Cancelled, E::CallAgain) => Ok(Self::Proposed),
            (Self::Open, E::Pull) => Ok(Self::Held),
            (Self::Held, E::Start) => Ok(Self::Running),
            (Self::Running, E::Pause) => Ok(Self::Paused),
            (Self::Paused, E::Resume) => Ok(Self::Running),
            (Self::Held | Self::Running | Self::Paused, E::PutBack) => Ok(Self::Open),
            (Self::Running | Self::Sublet, E::Pass) => Ok(Self::Passed),
            (Self::Running | Self::Sublet, E::Fail) => Ok(Self::Failed),
            (Self::Failed, E::Redo) => Ok(Self::Open),
            (Self::Passed, E::Undo) => Ok(Self::Open),
            (Self::Open, E::Sublet) => Ok(Self::Sublet),
            (Self::Proposed | Self::Open | Self::Failed | Self::Sublet, E::Cancel) => {
                Ok(Self::Cancelled)
            }
            _ => Err(IllegalTransition { state: self, event }),
        }
    }

    /// Whether a technician holds it.
    pub fn is_held(self) -> bool {
        matches!(self, Self::Held | Self::Running | Self::Paused)
    }

    /// Whether it no longer counts as work of the job.
    pub fn is_given_up(self) -> bool {
        matches!(self, Self::Declined | Self::Cancelled)
    }

    /// The word for it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Proposed => "proposed",
            Self::Open => "open",
            Self::Held => "held",
            Self::Running => "running",
            Self::Paused => "paused",
            Self::Sublet => "sublet",
            Self::Passed => "passed",
            Self::Failed => "failed",
            Self::Declined => "declined",
            Self::Cancelled => "cancelled",
        }
    }
}

impl fmt::Display for TaskState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

impl TaskEvent {
    /// Every event.
    pub const ALL: [Self; 14] = [
        Self::Accept,
        Self::Decline,
        Self::CallAgain,
        Self::Pull,
        Self::Start,
        Self::Pause,
        Self::Resume,
        Self::PutBack,
        Self::Pass,
        Self::Fail,
        Self::Redo,
        Self::Undo,
        Self::Sublet,
        Self::Cancel,
    ];

    /// The word for it, as in "cannot be started".
    pub fn as_participle(self) -> &'static str {
        match self {
            Self::Accept => "accepted",
            Self::Decline => "declined",
            Self::CallAgain => "called again",
            Self::Pull => "pulled",
            Self::Start => "started",
            Self::Pause => "paused",
            Self::Resume => "resumed",
            Self::PutBack => "put back",
            Self::Pass => "passed",
            Self::Fail => "failed",
            Self::Redo => "redone",
            Self::Undo => "undone",
            Self::Sublet => "sublet",
            Self::Cancel => "cancelled",
        }
    }
}

/// A transition that the state machine does not draw.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a task that is {state} cannot be {}", event.as_participle())]
pub struct IllegalTransition {
    /// Where the task stands.
    pub state: TaskState,
    /// What was asked.
    pub event: TaskEvent,
}

/// A person's yes or no.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Decision {
    /// Who decided.
    pub actor: String,
    /// When.
    pub at: DateTime<Utc>,
    /// Why; never empty for a no.
    pub reason: String,
}

/// What undid a task, and when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Undone {
    /// The task or operation that undid it.
    pub by: String,
    /// When.
    pub at: DateTime<Utc>,
}

/// A task that is sent out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sublet {
    /// To whom.
    pub party: String,
    /// When it was sent out.
    pub sent_at: DateTime<Utc>,
    /// When it is expected back.
    pub expected_at: DateTime<Utc>,
    /// Who sent it out.
    pub actor: String,
    /// What was agreed; may be empty.
    pub note: String,
}

/// Why a task failed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FailureCause {
    /// Floor, light, sun or space: puts that bay and method in doubt.
    Environment,
    /// A preparation: reopens that prerequisite.
    Preparation,
    /// The vehicle itself.
    Vehicle,
    /// Equipment.
    Equipment,
    /// The written procedure.
    Procedure,
}

/// One piece of work on a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Task {
    /// Name within the job.
    pub id: TaskId,
    /// The procedure it follows.
    pub procedure: ProcedureId,
    /// Its kind.
    pub kind: TaskKind,
    /// The sensor it aims.
    pub sensor: Option<SensorFamily>,
    /// What people call it.
    pub title: String,
    /// Where it stands.
    pub state: TaskState,
    /// What must have passed before it.
    pub after: Vec<TaskAfter>,
    /// What it undoes when it starts.
    pub undoes: Vec<UndoTarget>,
    /// The rules that called for it.
    pub called_by: Vec<CallRuleId>,
    /// Minutes of cure for planning ahead; glass only.
    pub planned_cure: Option<CureMinutes>,
    /// Who accepted or declined it.
    pub decision: Option<Decision>,
    /// When it last passed.
    pub passed_at: Option<DateTime<Utc>>,
    /// When and by what it was last undone. A new attempt begins without; where it is stated while the
    /// task is being worked on or sent out, that attempt cannot pass.
    pub undone: Option<Undone>,
    /// To whom it was last sent out.
    pub sublet: Option<Sublet>,
    /// Whether rules called for it once and the last revision of the estimate wakes none of them.
    pub no_longer_called: bool,
}

impl Task {
    /// Takes the step that `event` draws.
    ///
    /// # Errors
    /// [`IllegalTransition`] where there is none; the task is unchanged then.
    pub fn step(&mut self, event: TaskEvent) -> Result<(), IllegalTransition> {
        self.state = self.state.after(event)?;
        Ok(())
    }

    /// Whether it is offered for cancelling: no rule calls for it any more, and it can be cancelled.
    pub fn is_offered_for_cancelling(&self) -> bool {
        self.no_longer_called && self.state.after(TaskEvent::Cancel).is_ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The arrows as drawn in the module's head, from a state by an event to a state.
    const DRAWN: &[(TaskState, TaskEvent, TaskState)] = {
        use TaskEvent as E;
        use TaskState as S;
        &[
            (S::Proposed, E::Accept, S::Open),
            (S::Proposed, E::Decline, S::Declined),
            (S::Proposed, E::Cancel, S::Cancelled),
            (S::Declined, E::CallAgain, S::Proposed),
            (S::Cancelled, E::CallAgain, S::Proposed),
            (S::Open, E::Pull, S::Held),
            (S::Open, E::Sublet, S::Sublet),
            (S::Open, E::Cancel, S::Cancelled),
            (S::Held, E::Start, S::Running),
            (S::Held, E::PutBack, S::Open),
            (S::Running, E::Pause, S::Paused),
            (S::Running, E::PutBack, S::Open),
            (S::Running, E::Pass, S::Passed),
            (S::Running, E::Fail, S::Failed),
            (S::Paused, E::Resume, S::Running),
            (S::Paused, E::PutBack, S::Open),
            (S::Sublet, E::Pass, S::Passed),
            (S::Sublet, E::Fail, S::Failed),
            (S::Sublet, E::Cancel, S::Cancelled),
            (S::Passed, E::Undo, S::Open),
            (S::Failed, E::Redo, S::Open),
            (S::Failed, E::Cancel, S::Cancelled),
        ]
    };

    #[test]
    fn a_task_goes_where_an_arrow_is_drawn_and_nowhere_else() {
        for state in TaskState::ALL {
            for event in TaskEvent::ALL {
                let drawn = DRAWN
                    .iter()
                    .find(|(from, by, _)| (*from, *by) == (state, event))
                    .map(|(_, _, to)| *to)
                    .ok_or(IllegalTransition { state, event });
                assert_eq!(state.after(event), drawn, "{state} {event:?}");
            }
        }
    }
}
