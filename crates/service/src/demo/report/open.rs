//! What is open: tasks that are not planned, jobs that will be late, what a person has to decide.

use super::{
    day_and_time,
    lines::{table, wrap},
    vehicle,
};
use crate::demo::show::Seen;
use baywright_api::v1::{Job, OperationState, PrerequisiteState, TaskState, Unplanned};
use std::collections::BTreeMap;

/// Tasks that are not planned, by job, each with its reasons.
pub(super) fn not_planned(seen: &Seen) -> String {
    let mut jobs: BTreeMap<&str, Vec<&Unplanned>> = BTreeMap::new();
    for unplanned in &seen.plan.unplanned {
        jobs.entry(&unplanned.job_id).or_default().push(unplanned);
    }
    if jobs.is_empty() {
        return "Everything is in the plan.".to_owned();
    }
    let mut text = String::new();
    for (job_id, tasks) in jobs {
        let job = seen.jobs.iter().find(|job| job.job_id == job_id);
        let about = job.map_or_else(String::new, |job| {
            let promise = day_and_time(seen.zone, job.promise_time.as_ref());
            format!(" ({}, promised {promise})", vehicle(job))
        });
        text.push_str(&wrap(&format!("{job_id}{about}"), "", "  "));
        let rows: Vec<_> = tasks
            .into_iter()
            .map(|one| {
                let task = if one.task_id.is_empty() { "the whole job" } else { &one.task_id };
                [task.to_owned(), one.reasons.join(" ")]
            })
            .collect();
        text.push_str(&table(&rows));
    }
    text
}

/// Jobs that will be late, with what they wait for that has an expected time.
pub(super) fn late(seen: &Seen) -> String {
    let line = |late: &baywright_api::v1::LateJob| {
        let awaited: Vec<_> = seen
            .jobs
            .iter()
            .filter(|job| job.job_id == late.job_id)
            .flat_map(|job| awaited(seen, job))
            .collect();
        let awaited = if awaited.is_empty() {
            String::new()
        } else {
            format!(" It waits for: {}.", awaited.join("; "))
        };
        let words = format!(
            "{} finishes {}, promised {}: {} min late.{awaited}",
            late.job_id,
            day_and_time(seen.zone, late.finish_time.as_ref()),
            day_and_time(seen.zone, late.promise_time.as_ref()),
            late.late_minutes,
        );
        wrap(&words, "  ", "  ")
    };
    let text: String = seen.plan.late_jobs.iter().map(line).collect();
    if text.is_empty() { "No planned job is late.".to_owned() } else { text }
}

fn awaited<'a>(seen: &'a Seen, job: &'a Job) -> impl Iterator<Item = String> + 'a {
    let open = job.prerequisites.iter().filter(|one| one.state() != PrerequisiteState::Done);
    open.filter(|one| one.expected_time.is_some()).map(|one| {
        let state = match one.state() {
            PrerequisiteState::OnOrder => "on order, ",
            PrerequisiteState::Booked => "booked, ",
            PrerequisiteState::Failed => "failed, ",
            PrerequisiteState::Unspecified | PrerequisiteState::Open | PrerequisiteState::Done => {
                ""
            }
        };
        let expected = day_and_time(seen.zone, one.expected_time.as_ref());
        format!("{} ({state}expected {expected})", one.title)
    })
}

/// Operations that no rule knows, and tasks that are only proposed.
pub(super) fn to_decide(jobs: &[Job]) -> String {
    let mut text = String::new();
    for job in jobs {
        for operation in &job.operations {
            if operation.state() == OperationState::NeedsDecision {
                let words = format!(
                    "{}: no rule of the shop knows \"{}\" (line {}, {}); it needs a decision what \
                     it calls for.",
                    job.job_id,
                    operation.operation_code,
                    operation.operation_id,
                    operation.text.trim_end_matches('.')
                );
                text.push_str(&wrap(&words, "  ", "  "));
            }
        }
        let proposed = job.tasks.iter().filter(|task| task.state() == TaskState::Proposed);
        let proposed: Vec<_> = proposed.map(|task| task.task_id.as_str()).collect();
        let words = match proposed.as_slice() {
            [] => continue,
            [task] => {
                format!("task {task} is only proposed; accept it, or decline it with a reason.")
            }
            tasks => format!(
                "tasks {} are only proposed; accept each, or decline it with a reason.",
                tasks.join(", ")
            ),
        };
        text.push_str(&wrap(&format!("{}: {words}", job.job_id), "  ", "  "));
    }
    if text.is_empty() { "Nothing.".to_owned() } else { text }
}
