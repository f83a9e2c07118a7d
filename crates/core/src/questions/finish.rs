//! Will it make its promise: the planned finish of each job beside its promise.

use crate::ids::{JobId, TaskId};
use crate::shop_day::{Assignment, Unplanned};
use crate::work::{Job, JobState, TaskState};
use chrono::{DateTime, Utc};

/// How a job stands against its promise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProjectedFinish {
    /// The job.
    pub job: JobId,
    /// Its promise.
    pub promise_at: DateTime<Utc>,
    /// When its last planned task ends, or now where nothing is left to do; none while a task of it
    /// is not planned.
    pub finish_at: Option<DateTime<Utc>>,
    /// Open tasks that are not in the plan.
    pub unplanned: Vec<TaskId>,
    /// Why they are not, a sentence each.
    pub reasons: Vec<String>,
}

impl ProjectedFinish {
    /// Whole minutes after the promise; none while the finish is not known.
    pub fn late_minutes(&self) -> Option<i64> {
        let late = self.finish_at? - self.promise_at;
        Some(late.num_minutes().max(0))
    }
}

/// The projected finish of every job that is expected or on site, by promise.
pub fn projected_finishes(
    jobs: &[Job],
    assignments: &[Assignment],
    unplanned: &[Unplanned],
    now: DateTime<Utc>,
) -> Vec<ProjectedFinish> {
    let mut finishes: Vec<_> = jobs
        .iter()
        .filter(|job| matches!(job.state, JobState::Expected | JobState::OnSite))
        .map(|job| finish_of(job, assignments, unplanned, now))
        .collect();
    finishes.sort_by(|one, other| (one.promise_at, &one.job).cmp(&(other.promise_at, &other.job)));
    finishes
}

fn finish_of(
    job: &Job,
    assignments: &[Assignment],
    unplanned: &[Unplanned],
    now: DateTime<Utc>,
) -> ProjectedFinish {
    let planned =
        |task: &TaskId| assignments.iter().find(|one| one.job == job.id && one.task == *task);
    let mut missing = Vec::new();
    let mut finish = now;
    for task in &job.tasks {
        match task.state {
            TaskState::Open | TaskState::Held | TaskState::Running | TaskState::Paused => {
                // An open task whose planned time has passed is no longer planned.
                let passed_by = |one: &&Assignment| task.state == TaskState::Open && one.end <= now;
                match planned(&task.id).filter(|one| !passed_by(one)) {
                    Some(assignment) => finish = finish.max(assignment.end),
                    None => missing.push(task.id.clone()),
                }
            }
            TaskState::Proposed | TaskState::Failed | TaskState::Sublet => {
                missing.push(task.id.clone());
            }
            TaskState::Passed | TaskState::Declined | TaskState::Cancelled => {}
        }
    }
    let mut reasons: Vec<String> = Vec::new();
    for one in unplanned.iter().filter(|one| one.job == job.id) {
        for reason in &one.reasons {
            if !reasons.contains(reason) {
                reasons.push(reason.clone());
            }
        }
    }
    finish = job.drivable_at().map_or(finish, |drivable| finish.max(drivable));
    ProjectedFinish {
        job: job.id.clone(),
        promise_at: job.promise_at,
        finish_at: missing.is_empty().then_some(finish),
        unplanned: missing,
        reasons,
    }
}
