//! Work: jobs with their operations, tasks and prerequisites, and the states they go through.
//!
//! A [`Job`] is what storage keeps and what every decision reads. It changes only through the
//! functions of this module and of [`crate::readiness`], which refuse what the state machines do
//! not draw.

mod adhesive;
mod call_rule;
mod estimate;
mod job;
mod prerequisite;
mod selector;
mod task;

pub use adhesive::{Adhesive, AdhesiveDraft, CURE_MINUTES_MAX, CureMinutes};
pub use call_rule::{CallRule, CallRuleDraft, CalledPrerequisite, CalledTask};
pub use estimate::{ArrivalKind, Estimate, EstimateDraft, EstimateLine, LINES_MAX};
pub use job::{
    FoundCode, HandBackException, IllegalJobTransition, Job, JobEvent, JobState, Moved, Operation,
    OperationState, Place, Vehicle, Visit, VisitChange, Whereabouts,
};
pub use prerequisite::{AskedWhen, Prerequisite, PrerequisiteState, SignOff};
pub use selector::{TaskAfter, TaskSelector, UndoTarget};
pub use task::{
    Decision, FailureCause, IllegalTransition, Sublet, Task, TaskEvent, TaskState, Undone,
};
