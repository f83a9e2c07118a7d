//! A prerequisite: a state of the world that gates named tasks, and the sign-off that says it is met.

use super::{Task, TaskSelector};
use crate::demand::{DocumentRef, PrerequisiteKind};
use crate::ids::{PrerequisiteId, TaskId};
use chrono::{DateTime, TimeDelta, Utc};

/// When a prerequisite is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AskedWhen {
    /// Ahead: its tasks wait until it is met.
    Ahead,
    /// At the vehicle before the start; it never makes a task wait.
    AtStart,
}

/// State of a prerequisite.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PrerequisiteState {
    /// Nothing was done about it.
    Open,
    /// Somebody has it in their book.
    Booked,
    /// On order.
    OnOrder,
    /// Met, and signed off.
    Done,
    /// Tried, and not met.
    Failed,
}

impl PrerequisiteState {
    /// The word for it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Booked => "booked",
            Self::OnOrder => "on order",
            Self::Done => "done",
            Self::Failed => "failed",
        }
    }
}

/// Who said that a prerequisite is met, when and on what evidence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignOff {
    /// Who.
    pub actor: String,
    /// When.
    pub at: DateTime<Utc>,
    /// On what evidence.
    pub evidence: String,
    /// First instant at which it no longer counts.
    pub until: Option<DateTime<Utc>>,
}

/// A state of the world that gates tasks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Prerequisite {
    /// Name within the job.
    pub id: PrerequisiteId,
    /// Its kind.
    pub kind: PrerequisiteKind,
    /// What a person reads.
    pub title: String,
    /// The tasks it gates, any that match.
    pub gates: Vec<TaskSelector>,
    /// Asked ahead or at the start.
    pub asked: AskedWhen,
    /// Where it stands.
    pub state: PrerequisiteState,
    /// The party to ask; empty where nobody is named.
    pub party: String,
    /// When it is expected to be met.
    pub expected_at: Option<DateTime<Utc>>,
    /// The task whose passing signs it off, where the job has that task.
    pub provided_by: Option<TaskId>,
    /// How long a sign-off counts, minutes.
    pub counts_for_minutes: Option<u32>,
    /// Where it says that this is needed.
    pub document: Option<DocumentRef>,
    /// Who said that it is met.
    pub sign_off: Option<SignOff>,
}

impl Prerequisite {
    /// Whether it gates `task`. What a task provides does not gate that task.
    pub fn gates(&self, task: &Task) -> bool {
        self.provided_by.as_ref() != Some(&task.id)
            && self.gates.iter().any(|selector| selector.matches(task))
    }

    /// Whether it is met at `at`: signed off, and the sign-off counts still.
    pub fn is_met(&self, at: DateTime<Utc>) -> bool {
        self.state == PrerequisiteState::Done
            && self.sign_off.as_ref().is_some_and(|said| said.until.is_none_or(|until| at < until))
    }

    /// Notes that it is met. Without `until` it counts as long as the prerequisite says.
    pub fn sign_off(
        &mut self,
        actor: &str,
        at: DateTime<Utc>,
        evidence: &str,
        until: Option<DateTime<Utc>>,
    ) {
        let usual = self.counts_for_minutes.map(|minutes| at + TimeDelta::minutes(minutes.into()));
        self.state = PrerequisiteState::Done;
        self.sign_off = Some(SignOff {
            actor: actor.to_owned(),
            at,
            evidence: evidence.to_owned(),
            until: until.or(usual),
        });
    }

    /// Makes it open again: what was said no longer counts.
    pub fn reopen(&mut self) {
        self.state = PrerequisiteState::Open;
        self.expected_at = None;
        self.sign_off = None;
    }
}
