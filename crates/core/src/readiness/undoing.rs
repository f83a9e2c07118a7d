//! What a piece of work undoes, and how that carries on to what depends on it.
//!
//! Which work undoes what comes from call rules: glass undoes the camera behind it, suspension
//! work undoes the alignment, the alignment undoes the steering-angle zero. It takes effect when
//! the work starts, or when outside work is recorded. A task that is undone takes back what it
//! provided, and every passed task behind it, by gate or by order, must be done again too.

use super::order::tasks_before;
use crate::ids::{PrerequisiteId, TaskId};
use crate::work::{Job, TaskEvent, TaskState, UndoTarget, Undone};
use chrono::{DateTime, Utc};

/// What was undone.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Undoing {
    /// Tasks that are open again.
    pub tasks: Vec<TaskId>,
    /// Prerequisites that must be signed off again.
    pub prerequisites: Vec<PrerequisiteId>,
}

/// Undoes in `job` what `targets` name, on behalf of `by` at `at`.
///
/// The task named `doing`, which is being done just now, is never undone by itself.
pub fn undo(
    job: &mut Job,
    targets: &[UndoTarget],
    doing: Option<&TaskId>,
    by: &str,
    at: DateTime<Utc>,
) -> Undoing {
    let mut undone = Undoing::default();
    for target in targets {
        match target {
            UndoTarget::Tasks(selector) => {
                let ids: Vec<_> = job
                    .tasks
                    .iter()
                    .filter(|task| selector.matches(task) && Some(&task.id) != doing)
                    .map(|task| task.id.clone())
                    .collect();
                for id in ids {
                    undo_task(job, &id, doing, by, at, &mut undone);
                }
            }
            UndoTarget::Prerequisite(kind) => {
                let ids: Vec<_> = job
                    .prerequisites
                    .iter()
                    .filter(|prerequisite| prerequisite.kind == *kind)
                    .map(|prerequisite| prerequisite.id.clone())
                    .collect();
                for id in ids {
                    reopen(job, &id, doing, by, at, &mut undone);
                }
            }
        }
    }
    undone
}

/// Opens one prerequisite of `job` again on behalf of `by` at `at`, because it turned out not to be
/// met: every passed task that rests on it is undone, also where nobody had signed it off.
pub fn reopen_prerequisite(
    job: &mut Job,
    id: &PrerequisiteId,
    by: &str,
    at: DateTime<Utc>,
) -> Undoing {
    let mut undone = Undoing::default();
    reopen_all_behind(job, id, None, by, at, &mut undone);
    undone
}

fn undo_task(
    job: &mut Job,
    id: &TaskId,
    doing: Option<&TaskId>,
    by: &str,
    at: DateTime<Utc>,
    undone: &mut Undoing,
) {
    let Some(task) = job.task_mut(id) else { return };
    if task.state.is_held() || task.state == TaskState::Sublet {
        // It cannot pass any more in this attempt.
        task.undone = Some(Undone { by: by.to_owned(), at });
        return;
    }
    if task.state != TaskState::Passed || task.step(TaskEvent::Undo).is_err() {
        return;
    }
    task.undone = Some(Undone { by: by.to_owned(), at });
    undone.tasks.push(id.clone());
    let provided: Vec<_> = job
        .prerequisites
        .iter()
        .filter(|prerequisite| prerequisite.provided_by.as_ref() == Some(id))
        .map(|prerequisite| prerequisite.id.clone())
        .collect();
    for prerequisite in provided {
        reopen(job, &prerequisite, doing, by, at, undone);
    }
    let behind: Vec<_> = job
        .tasks
        .iter()
        .filter(|other| {
            Some(&other.id) != doing
                && tasks_before(&job.tasks, other).iter().any(|(before, _)| before.id == *id)
        })
        .map(|other| other.id.clone())
        .collect();
    for other in behind {
        undo_task(job, &other, doing, by, at, undone);
    }
}

fn reopen(
    job: &mut Job,
    id: &PrerequisiteId,
    doing: Option<&TaskId>,
    by: &str,
    at: DateTime<Utc>,
    undone: &mut Undoing,
) {
    if job.prerequisite_mut(id).is_some_and(|prerequisite| prerequisite.sign_off.is_some()) {
        reopen_all_behind(job, id, doing, by, at, undone);
    }
}

fn reopen_all_behind(
    job: &mut Job,
    id: &PrerequisiteId,
    doing: Option<&TaskId>,
    by: &str,
    at: DateTime<Utc>,
    undone: &mut Undoing,
) {
    let Some(prerequisite) = job.prerequisite_mut(id) else { return };
    if prerequisite.sign_off.is_some() {
        undone.prerequisites.push(id.clone());
    }
    prerequisite.reopen();
    let gating = prerequisite.clone();
    let gated: Vec<_> = job
        .tasks
        .iter()
        .filter(|task| gating.gates(task) && Some(&task.id) != doing)
        .map(|task| task.id.clone())
        .collect();
    for task in gated {
        undo_task(job, &task, doing, by, at, undone);
    }
}
