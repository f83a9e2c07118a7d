//! Readiness: what may be done when, what undoes what, and whether a vehicle may leave.
//!
//! Everything here is a pure function of a job and an instant.

mod calls;
mod hand_back;
mod order;
mod outcome;
mod ready;
mod undoing;

pub use calls::{EstimateRefused, decide_operation, take_estimate, task_of_procedure};
pub use hand_back::{HandBackReason, hand_back_reasons};
pub(crate) use order::looks_through;
pub use order::{cycle_in, gap_before, tasks_before};
pub use outcome::{TaskEnd, note_failure, note_pass, undo_by_outside_work};
pub use ready::{Readiness, ReadinessReason, ReadinessState, readiness};
pub use undoing::{Undoing, reopen_prerequisite, undo};

#[cfg(test)]
mod tests;
