//! A job: where it stands, its tasks with their readiness, its operations and prerequisites.

use super::whereabouts;
use crate::clock::ShopClock;
use crate::table::Table;
use baywright_api::v1::{
    AskedWhen, Job, JobState, Operation, OperationState, Prerequisite, PrerequisiteKind,
    PrerequisiteState, Readiness, ReadinessState, Task, TaskKind, TaskState,
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
    let no_longer_called = no_longer_called(job);
    if !no_longer_called.is_empty() {
        parts.push(no_longer_called.join("\n"));
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
    let cancelled = job.cancellation.as_ref().map_or(String::new(), |said| {
        let when = clock.show(said.decided_time.as_ref());
        format!(", cancelled {when} by {} ({})", said.actor, said.reason)
    });
    format!(
        "Job {} is {}: {}, {vin}, order {} of {}\n{came}{left}{cancelled}, promise {}, stands at: {}",
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
            _ => match task.sublet.as_ref() {
                Some(out) if task.state == i32::from(TaskState::Sublet) => {
                    let back = clock.show(out.expected_time.as_ref());
                    format!("sublet (to {}, back {back})", out.party)
                }
                _ => TaskState::word_of(task.state),
            },
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

/// Tasks that the estimate no longer calls for and that can be cancelled.
fn no_longer_called(job: &Job) -> Vec<String> {
    let offered = |task: &&Task| {
        let can_be_cancelled = matches!(
            task.state(),
            TaskState::Proposed | TaskState::Open | TaskState::Failed | TaskState::Sublet
        );
        task.no_longer_called && can_be_cancelled
    };
    let offered = job.tasks.iter().filter(offered);
    offered
        .map(|task| {
            format!(
                "No longer called for: task {}; cancel it with cancel-task, or keep it.",
                task.task_id
            )
        })
        .collect()
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
    let mut table = Table::new(&[
        "prerequisite",
        "kind",
        "asked",
        "state",
        "ask",
        "expected",
        "signed off by",
        "until",
    ]);
    for prerequisite in prerequisites {
        let sign_off = prerequisite.sign_off.as_ref();
        let provided = match prerequisite.provided_by_task_id.as_str() {
            "" => prerequisite.party.clone(),
            task => format!("task {task}"),
        };
        table.row([
            prerequisite.prerequisite_id.clone(),
            PrerequisiteKind::word_of(prerequisite.kind),
            AskedWhen::word_of(prerequisite.asked),
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

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_api::v1::{
        Decision, ReadinessReason, SignOff, Sublet, Undone, Vehicle, Whereabouts,
        whereabouts::Where,
    };
    use prost_types::Timestamp;

    fn at(minutes: i64) -> Timestamp {
        Timestamp { seconds: 1_777_962_600 + minutes * 60, nanos: 0 }
    }

    fn job() -> Job {
        let task = |task_id: &str, kind: TaskKind, state: TaskState| Task {
            task_id: task_id.to_owned(),
            kind: kind.into(),
            state: state.into(),
            ..Task::default()
        };
        let mut camera = task("front-camera", TaskKind::Calibration, TaskState::Open);
        camera.undone = Some(Undone { by: "glass".to_owned(), undone_time: Some(at(0)) });
        Job {
            job_id: "J-1".to_owned(),
            account_id: "account-1".to_owned(),
            repair_order: "RO-1".to_owned(),
            vehicle: Some(Vehicle {
                vehicle_class_id: "family-suv".to_owned(),
                ..Vehicle::default()
            }),
            state: JobState::OnSite.into(),
            arrived_time: Some(at(0)),
            promise_time: Some(at(540)),
            operations: vec![Operation {
                operation_id: "1".to_owned(),
                operation_code: "headlamp-replaced".to_owned(),
                text: "Left headlamp".to_owned(),
                state: OperationState::NeedsDecision.into(),
                ..Operation::default()
            }],
            tasks: vec![task("pre-scan", TaskKind::PreScan, TaskState::Passed), camera],
            prerequisites: vec![Prerequisite {
                prerequisite_id: "authorised".to_owned(),
                kind: PrerequisiteKind::Authorised.into(),
                asked: AskedWhen::Ahead.into(),
                state: PrerequisiteState::Done.into(),
                party: "insurer".to_owned(),
                sign_off: Some(SignOff { actor: "ruth".to_owned(), ..SignOff::default() }),
                ..Prerequisite::default()
            }],
            whereabouts: Some(Whereabouts { r#where: Some(Where::SpotId("yard".to_owned())) }),
            warnings: vec!["The VIN is not known yet.".to_owned()],
            ..Job::default()
        }
    }

    #[test]
    fn a_job_says_where_it_stands_what_is_ready_and_whom_to_ask() {
        let readiness = [Readiness {
            task_id: "front-camera".to_owned(),
            state: ReadinessState::ReadyBy.into(),
            ready_time: Some(at(90)),
            reasons: vec![ReadinessReason {
                key: "prerequisite:parts".to_owned(),
                party: "parts desk".to_owned(),
                expected_time: Some(at(90)),
                sentence: "Parts are on order.".to_owned(),
            }],
        }];
        let expected = "\
Job J-1 is on-site: family-suv, VIN not known yet, order RO-1 of account-1
arrived 2026-05-05 07:30 WEST, promise 2026-05-05 16:30 WEST, stands at: yard

OPERATION  CODE               STATE           DONE OUTSIDE  TEXT
1          headlamp-replaced  needs-decision  -             Left headlamp

TASK          KIND         STATE                   READINESS
pre-scan      pre-scan     passed                  -
front-camera  calibration  open (undone by glass)  ready by 2026-05-05 09:00 WEST

front-camera: Parts are on order. Ask: parts desk. Expected 2026-05-05 09:00 WEST.

PREREQUISITE  KIND        ASKED  STATE  ASK      EXPECTED  SIGNED OFF BY  UNTIL
authorised    authorised  ahead  done   insurer  -         ruth           -

Warning: The VIN is not known yet.";
        assert_eq!(text(&job(), &readiness, ShopClock::new("Europe/Lisbon").unwrap()), expected);
    }

    #[test]
    fn a_job_says_what_is_sent_out_what_is_no_longer_called_for_and_who_cancelled_it() {
        let mut job = job();
        job.state = JobState::Cancelled.into();
        job.cancellation = Some(Decision {
            actor: "ruth".to_owned(),
            decided_time: Some(at(10)),
            reason: "goes elsewhere".to_owned(),
        });
        job.tasks[0].no_longer_called = true;
        job.tasks[1].no_longer_called = true;
        job.tasks[1].state = TaskState::Sublet.into();
        job.tasks[1].sublet = Some(Sublet {
            party: "glass shop".to_owned(),
            expected_time: Some(at(90)),
            ..Sublet::default()
        });
        let text = text(&job, &[], ShopClock::new("Europe/Lisbon").unwrap());
        for wanted in [
            ", cancelled 2026-05-05 07:40 WEST by ruth (goes elsewhere), promise",
            "sublet (to glass shop, back 2026-05-05 09:00 WEST)",
            "\n\nNo longer called for: task front-camera; cancel it with cancel-task, or keep it.\n\n",
        ] {
            assert!(text.contains(wanted), "{wanted} in {text}");
        }
        // A task that has passed cannot be cancelled, so that is not offered.
        assert!(!text.contains("task pre-scan"), "{text}");
    }

    #[test]
    fn the_list_counts_what_is_done_and_what_is_to_be_decided() {
        let expected = "\
JOB  STATE    PROMISE                CLASS       ORDER  STANDS AT  TASKS DONE  TO DECIDE
J-1  on-site  2026-05-05 16:30 WEST  family-suv  RO-1   yard       1 of 2      1";
        let clock = ShopClock::new("Europe/Lisbon").unwrap();
        assert_eq!(list(&[job()], clock), expected);
        assert_eq!(list(&[], clock), "No jobs.");
    }
}
