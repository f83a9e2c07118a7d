//! In which order a pull looks at tasks.

use baywright_api::v1;
use baywright_core::{
    ids::TechnicianId,
    shop_day::Assignment,
    work::{Job, Task, TaskState},
};
use std::collections::BTreeSet;

/// A task that a pull looks at.
#[derive(Debug, Clone, Copy)]
pub(super) struct Candidate<'a> {
    /// Index of its job.
    pub(super) job: usize,
    /// The task.
    pub(super) task: &'a Task,
    /// How it stands in the plan.
    pub(super) assignment: Option<&'a Assignment>,
}

/// The technician's own assignments by start, then the others by start, then open tasks that are
/// not in the plan by their job's promise.
pub(super) fn candidates<'a>(
    technician: &TechnicianId,
    assignments: &'a [Assignment],
    jobs: &'a [(v1::Job, Job)],
) -> Vec<Candidate<'a>> {
    let mut by_start: Vec<&Assignment> = assignments.iter().collect();
    by_start.sort_by_key(|one| (!one.technicians.contains(technician), one.start));
    let mut seen = BTreeSet::new();
    let mut candidates = Vec::new();
    for assignment in by_start {
        let found = jobs.iter().enumerate().find_map(|(index, (_, job))| {
            (job.id == assignment.job).then(|| Some((index, job.task(&assignment.task)?)))?
        });
        if let Some((job, task)) = found
            && task.state == TaskState::Open
            && seen.insert((job, &task.id))
        {
            candidates.push(Candidate { job, task, assignment: Some(assignment) });
        }
    }
    for (index, (_, job)) in jobs.iter().enumerate() {
        for task in job.tasks.iter().filter(|task| task.state == TaskState::Open) {
            if seen.insert((index, &task.id)) {
                candidates.push(Candidate { job: index, task, assignment: None });
            }
        }
    }
    candidates
}
