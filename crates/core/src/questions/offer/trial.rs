//! A job as it would be if everything about it went as asked: for trying what a plan of it looks
//! like. Nothing of it is ever kept.

use crate::demand::TaskKind;
use crate::work::{
    AskedWhen, Job, JobState, Prerequisite, PrerequisiteState, TaskEvent, TaskState,
};
use chrono::{DateTime, TimeDelta, Utc};

/// Accepts what is proposed, and takes what is asked ahead without an expected time as met when the
/// vehicle comes. Returns what was taken as met.
///
/// A vehicle that should be here already is left as it is: it is to be chased, not assumed.
pub(super) fn accept_all(job: &mut Job, now: DateTime<Utc>) -> Vec<String> {
    for task in job.tasks.iter_mut().filter(|task| task.state == TaskState::Proposed) {
        // Drawn from proposed, so it is never refused; a task that stayed proposed would be listed.
        let _accepted = task.step(TaskEvent::Accept);
    }
    if job.state != JobState::Expected || job.expected_arrival_at <= now {
        return Vec::new();
    }
    let untold: Vec<bool> = job.prerequisites.iter().map(|one| is_untold(job, one, now)).collect();
    let arrival = job.expected_arrival_at;
    let mut taken_as_met = Vec::new();
    for (prerequisite, untold) in job.prerequisites.iter_mut().zip(untold) {
        if untold {
            prerequisite.state = PrerequisiteState::Booked;
            prerequisite.expected_at = Some(arrival);
            taken_as_met.push(prerequisite.title.clone());
        }
    }
    taken_as_met
}

/// Whether `prerequisite` keeps a task waiting only because nobody has said when it will be met.
fn is_untold(job: &Job, prerequisite: &Prerequisite, now: DateTime<Utc>) -> bool {
    let provided = prerequisite
        .provided_by
        .as_ref()
        .and_then(|id| job.task(id))
        .is_some_and(|task| !task.state.is_given_up() && task.state != TaskState::Passed);
    let stands = matches!(
        prerequisite.state,
        PrerequisiteState::Open | PrerequisiteState::Booked | PrerequisiteState::OnOrder
    );
    prerequisite.asked == AskedWhen::Ahead
        && stands
        && !provided
        && prerequisite.expected_at.is_none()
        && !prerequisite.is_met(now)
        && job.tasks.iter().any(|task| task.state == TaskState::Open && prerequisite.gates(task))
}

/// When the vehicle could leave if its last task ended at `end`, and its glass at the instants that
/// `glass_end` gives: not before the adhesive's driven instant.
pub(super) fn leaves_at(
    job: &Job,
    end: DateTime<Utc>,
    glass_end: impl Fn(&crate::ids::TaskId) -> Option<DateTime<Utc>>,
) -> DateTime<Utc> {
    let cured = job.tasks.iter().filter(|task| task.kind == TaskKind::Glass).filter_map(|task| {
        Some(glass_end(&task.id)? + TimeDelta::minutes(task.planned_cure?.driven().into()))
    });
    let set = job.drivable_at();
    cured.chain(set).fold(end, DateTime::max)
}
