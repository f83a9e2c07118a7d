//! What the end of a task changes in its job: what passing signs off, and what work done outside
//! undoes.
//!
//! Own work has undone what it undoes when it started. Work that was sent out is only known from
//! what is told at its end, so it undoes then, whether it passed or failed: a windshield that was
//! set badly has moved the camera all the same.

use super::undoing::{Undoing, undo};
use crate::demand::{PrerequisiteKind, TaskKind};
use crate::ids::TaskId;
use crate::work::{Adhesive, FoundCode, Job};
use chrono::{DateTime, Utc};

/// How a task ended, and what was found.
#[derive(Debug, Clone, Copy)]
pub struct TaskEnd<'a> {
    /// Who says so.
    pub actor: &'a str,
    /// When.
    pub at: DateTime<Utc>,
    /// Codes that a scan found.
    pub codes: &'a [FoundCode],
    /// What was recorded when glass was set.
    pub adhesive: Option<&'a Adhesive>,
}

/// Notes that the task `id` has passed: signs off what it provides, on `evidence`.
///
/// A scan that found a blocking code leaves the prerequisite of that kind failed.
pub fn note_pass(job: &mut Job, id: &TaskId, end: &TaskEnd<'_>, evidence: &str) {
    let Some(task) = job.task_mut(id) else { return };
    task.passed_at = Some(end.at);
    task.undone = None;
    let kind = task.kind;
    if let Some(adhesive) = end.adhesive {
        job.note_adhesive(adhesive.clone());
    }
    if is_scan(kind) {
        job.codes = end.codes.to_vec();
    }
    let blocking = end.codes.iter().any(|code| code.blocking);
    for prerequisite in &mut job.prerequisites {
        if prerequisite.provided_by.as_ref() != Some(id) {
            continue;
        }
        if prerequisite.kind == PrerequisiteKind::NoBlockingCodes && blocking {
            prerequisite.reopen();
            prerequisite.state = crate::work::PrerequisiteState::Failed;
        } else {
            prerequisite.sign_off(end.actor, end.at, evidence, None);
        }
    }
}

/// Notes that the task `id` has failed: codes that a scan found stand all the same.
pub fn note_failure(job: &mut Job, id: &TaskId, codes: &[FoundCode]) {
    if !codes.is_empty() && job.task(id).is_some_and(|task| is_scan(task.kind)) {
        job.codes = codes.to_vec();
    }
}

/// Undoes what the task `id`, which was done outside, undoes; of old glass nothing counts any more.
pub fn undo_by_outside_work(job: &mut Job, id: &TaskId, at: DateTime<Utc>) -> Undoing {
    let Some(task) = job.task(id) else { return Undoing::default() };
    let (kind, targets) = (task.kind, task.undoes.clone());
    if kind == TaskKind::Glass {
        job.forget_adhesive(id);
    }
    undo(job, &targets, Some(id), &format!("task {id}, done outside,"), at)
}

fn is_scan(kind: TaskKind) -> bool {
    matches!(kind, TaskKind::PreScan | TaskKind::PostScan)
}
