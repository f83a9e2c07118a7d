//! A job: where it stands, its tasks with their readiness, its operations and prerequisites.

use super::whereabouts;
use crate::clock::ShopClock;
use crate::table::Table;
use baywright_api::v1::{
    Job, JobState, Operation, OperationState, Prerequisite, PrerequisiteKind, PrerequisiteState,
    Readiness, ReadinessState, Task, TaskKind, TaskState,
};
use baywright_files::words::Word as _;

/// The whole job; `readiness` is empty where the reply does not say how ready its tasks are.
pub(crate) fn text(job: &Job, readiness: &[Readiness], clock: ShopClock) -> String {
    let mut parts = vec![head(job, clock)];
    if !job.operations.is_empty() {
        parts.push(operations(&job.operations, clock));
    }
    if !job.tasks.is_empty() {
        parts.push(tasks(&job.tasks, readiness, clock));
    }
    let reasons = reasons(readiness, clock);
    if !reasons.is_empty() {
        parts.push(reasons.join("\n"));
    }
    if !job.prerequisites.is_empty() {
        parts.push(prerequisites(&job.prerequisites, clock));
    }
    let codes: Vec<String> = job
        .codes
        .iter()
        .map(|code| {
            let blocking = if code.blocking { " (blocking)" } else { "" };
            format!("Code {}{blocking}: {}", code.code, code.text)
        })
        .collect();
    if !codes.is_empty() {
        parts.push(codes.join("\n"));
    }
    if !job.warnings.is_empty() {
        parts.push(
            job.warnings
                .iter()
                .map(|warning| format!("Warning: {warning}"))
                .collect::<Vec<_>>()
                .join("\n"),
        );
    }
    parts.join("\n\n")
}

fn head(job: &Job, clock: ShopClock) -> String {
    let vehicle = job.vehicle.clone().unwrap_or_default();
    let vin = if vehicle.vin.is_empty() { "VIN not known yet" } else { &vehicle.vin };
    let came = match job.arrived_time.as_ref() {
        Some(arrived) => format!("arrived {}", clock.show(Some(arrived))),
        None => format!("expected {}", clock.show(job.expected_arrival_time.as_ref())),
    };
    let left = job
        .handed_back_time
        .as_ref()
        .map_or(String::new(), |at| format!(", handed back {}", clock.show(Some(at))));
    format!(
        "Job {} is {}: {}, {vin}, order {} of {}\n{came}{left}, promise {}, stands at: {}",
        job.job_id,
        JobState::word_of(job.state),
        vehicle.vehicle_class_id,
        job.repair_order,
        job.account_id,
        clock.show(job.promise_time.as_ref()),
        whereabouts(job.whereabouts.as_ref()),
    )
}

fn operations(operations: &[Operation], clock: ShopClock) -> String {
    let mut table = Table::new(&["operation", "code", "state", "done outside", "text"]);
    for operation in operations {
        table.row([
            operation.operation_id.clone(),
            operation.operation_code.clone(),
            OperationState::word_of(operation.state),
            clock.show(operation.done_outside_time.as_ref()),
            operation.text.clone(),
        ]);
    }
    table.text()
}

fn tasks(tasks: &[Task], readiness: &[Readiness], clock: ShopClock) -> String {
    let mut table = Table::new(&["task", "kind", "state", "readiness"]);
    for task in tasks {
        let ready = readiness.iter().find(|ready| ready.task_id == task.task_id);
        let state = match task.undone.as_ref() {
            Some(undone) if task.state == i32::from(TaskState::Open) => {
                format!("open (undone by {})", undone.by)
            }
            _ => TaskState::word_of(task.state),
        };
        table.row([
            task.task_id.clone(),
            TaskKind::word_of(task.kind),
            state,
            ready.map_or_else(String::new, |ready| readiness_words(ready, clock)),
        ]);
    }
    table.text()
}

/// `ready`, `ready by 10:15`, `waiting`...; nothing for a task that is not open.
fn readiness_words(ready: &Readiness, clock: ShopClock) -> String {
    match ready.state() {
        ReadinessState::NotOpen | ReadinessState::Unspecified => String::new(),
        ReadinessState::ReadyBy => format!("ready by {}", clock.show(ready.ready_time.as_ref())),
        ReadinessState::Ready
        | ReadinessState::After
        | ReadinessState::Overdue
        | ReadinessState::Waiting => ReadinessState::word_of(ready.state),
    }
}

/// What stands in each task's way, with the party to ask and the expected time.
fn reasons(readiness: &[Readiness], clock: ShopClock) -> Vec<String> {
    let mut lines = Vec::new();
    for ready in readiness {
        for reason in &ready.reasons {
            let ask = if reason.party.is_empty() {
                String::new()
            } else {
                format!(" Ask: {}.", reason.party)
            };
            let expected = reason
                .expected_time
                .as_ref()
                .map_or(String::new(), |at| format!(" Expected {}.", clock.show(Some(at))));
            lines.push(format!("{}: {}{ask}{expected}", ready.task_id, reason.sentence));
        }
    }
    lines
}

fn prerequisites(prerequisites: &[Prerequisite], clock: ShopClock) -> String {
    let mut table =
        Table::new(&["prerequisite", "kind", "state", "ask", "expected", "signed off by", "until"]);
    for prerequisite in prerequisites {
        let sign_off = prerequisite.sign_off.as_ref();
        let provided = match prerequisite.provided_by_task_id.as_str() {
            "" => prerequisite.party.clone(),
            task => format!("task {task}"),
        };
        table.row([
            prerequisite.prerequisite_id.clone(),
            PrerequisiteKind::word_of(prerequisite.kind),
            PrerequisiteState::word_of(prerequisite.state),
            provided,
            clock.show(prerequisite.expected_time.as_ref()),
            sign_off.map_or_else(String::new, |sign_off| sign_off.actor.clone()),
            clock.show(sign_off.and_then(|sign_off| sign_off.until_time.as_ref())),
        ]);
    }
    table.text()
}

/// One line per job.
pub(crate) fn list(jobs: &[Job], clock: ShopClock) -> String {
    let mut table = Table::new(&[
        "job",
        "state",
        "promise",
        "class",
        "order",
        "stands at",
        "tasks done",
        "to decide",
    ]);
    for job in jobs {
        let wanted =
            |task: &&Task| !matches!(task.state(), TaskState::Declined | TaskState::Cancelled);
        let all = job.tasks.iter().filter(wanted).count();
        let passed = job.tasks.iter().filter(|task| task.state() == TaskState::Passed).count();
        let proposed = job.tasks.iter().filter(|task| task.state() == TaskState::Proposed).count();
        let undecided = job
            .operations
            .iter()
            .filter(|operation| operation.state() == OperationState::NeedsDecision)
            .count();
        table.row([
            job.job_id.clone(),
            JobState::word_of(job.state),
            clock.show(job.promise_time.as_ref()),
            job.vehicle.clone().unwrap_or_default().vehicle_class_id,
            job.repair_order.clone(),
            whereabouts(job.whereabouts.as_ref()),
            format!("{passed} of {all}"),
            (proposed + undecided).to_string(),
        ]);
    }
    if table.is_empty() { "No jobs.".to_owned() } else { table.text() }
}
