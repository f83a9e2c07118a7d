//! How ready a task is at an instant, with everything that stands in its way.
//!
//! Precedence, worst first: waiting (something has no expected time, or failed), overdue (an
//! expected time has passed unconfirmed: chase it, never assume it), after another task of the job,
//! ready by a stated time, ready. What is asked at the start never makes a task wait.

use super::order::{looks_through, tasks_before};
use crate::demand::TaskKind;
use crate::work::{AskedWhen, Job, JobState, Prerequisite, PrerequisiteState, Task, TaskState};
use chrono::{DateTime, TimeDelta, Utc};

/// How ready a task is; later variants win over earlier ones.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ReadinessState {
    /// It could be pulled now.
    Ready,
    /// It will be ready by then.
    ReadyBy(DateTime<Utc>),
    /// Another task of the job comes first.
    After,
    /// An expected time has passed unconfirmed.
    Overdue,
    /// Something has no expected time, or failed.
    Waiting,
    /// It is not open, so the question does not arise.
    NotOpen(TaskState),
}

/// One thing that stands in a task's way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadinessReason {
    /// How much it stands in the way.
    pub state: ReadinessState,
    /// What it is: `prerequisite:parts`, `task:pre-scan`, `vehicle`, `adhesive`.
    pub key: String,
    /// The party to ask; empty where there is none.
    pub party: String,
    /// When it is expected.
    pub expected_at: Option<DateTime<Utc>>,
    /// One sentence that says what to do.
    pub sentence: String,
}

/// How ready one task is, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Readiness {
    /// The answer.
    pub state: ReadinessState,
    /// Everything that stands in the way.
    pub reasons: Vec<ReadinessReason>,
    /// First instant at which a sign-off that the task rests on no longer counts.
    pub lapses_at: Option<DateTime<Utc>>,
}

/// How ready `task` of `job` is at `at`.
pub fn readiness(job: &Job, task: &Task, at: DateTime<Utc>) -> Readiness {
    if task.state != TaskState::Open || job.state.has_ended() {
        return Readiness {
            state: ReadinessState::NotOpen(task.state),
            reasons: Vec::new(),
            lapses_at: None,
        };
    }
    let mut reasons = Vec::new();
    reasons.extend(vehicle(job, at));
    let gating = || job.prerequisites.iter().filter(|prerequisite| prerequisite.gates(task));
    for prerequisite in gating() {
        if prerequisite.asked == AskedWhen::Ahead && !prerequisite.is_met(at) {
            reasons.push(unmet(job, prerequisite, at));
        }
    }
    for (before, gap_minutes) in tasks_before(&job.tasks, task) {
        reasons.extend(behind(before, gap_minutes, at));
    }
    reasons.extend(glass(job, task, at));
    reasons.extend(busy(job, task));
    for away in job.tasks.iter().filter(|other| other.state == TaskState::Sublet) {
        let key = format!("task:{}", away.id);
        if away.id != task.id && !reasons.iter().any(|reason| reason.key == key) {
            let opening = format!("The vehicle is away for task {}", away.id);
            reasons.push(waits_for(away, key, &opening, 0, at));
        }
    }
    let state = reasons.iter().map(|reason| reason.state).max().unwrap_or(ReadinessState::Ready);
    let lapses_at = gating()
        .filter(|prerequisite| prerequisite.asked == AskedWhen::Ahead && prerequisite.is_met(at))
        .filter_map(|prerequisite| prerequisite.sign_off.as_ref()?.until)
        .min();
    Readiness { state, reasons, lapses_at }
}

fn vehicle(job: &Job, at: DateTime<Utc>) -> Option<ReadinessReason> {
    if job.state != JobState::Expected {
        return None;
    }
    let expected = job.expected_arrival_at;
    let (state, sentence) = if at < expected {
        (ReadinessState::ReadyBy(expected), "The vehicle has yet to come.".to_owned())
    } else {
        (
            ReadinessState::Overdue,
            "The vehicle should be here by now; call the customer, or record its arrival."
                .to_owned(),
        )
    };
    Some(ReadinessReason {
        state,
        key: "vehicle".to_owned(),
        party: job.account.to_string(),
        expected_at: Some(expected),
        sentence,
    })
}

fn unmet(job: &Job, prerequisite: &Prerequisite, at: DateTime<Utc>) -> ReadinessReason {
    let title = &prerequisite.title;
    let party = if prerequisite.party.is_empty() { "somebody" } else { &prerequisite.party };
    let provider = prerequisite
        .provided_by
        .as_ref()
        .and_then(|id| job.task(id))
        .filter(|task| !task.state.is_given_up() && task.state != TaskState::Passed);
    let key = format!("prerequisite:{}", prerequisite.id);
    if let Some(provider) = provider {
        let opening = format!("{title} comes from task {}", provider.id);
        let reason = waits_for(provider, key, &opening, 0, at);
        if reason.party.is_empty() {
            let (party, expected_at) = (prerequisite.party.clone(), prerequisite.expected_at);
            return ReadinessReason { party, expected_at, ..reason };
        }
        return reason;
    }
    let (state, sentence) = if prerequisite.state == PrerequisiteState::Failed {
        (
            ReadinessState::Waiting,
            format!("{title}: tried and not met; put it right with {party} and sign it off."),
        )
    } else if prerequisite.state == PrerequisiteState::Done {
        (
            ReadinessState::Waiting,
            format!("{title}: the sign-off no longer counts; check again and sign it off."),
        )
    } else {
        match prerequisite.expected_at {
            None => (
                ReadinessState::Waiting,
                format!(
                    "{title} is {} without an expected time; ask {party}.",
                    prerequisite.state.as_str()
                ),
            ),
            Some(expected) if at < expected => (
                ReadinessState::ReadyBy(expected),
                format!(
                    "{title} is {}; {party} expects it at the stated time.",
                    prerequisite.state.as_str()
                ),
            ),
            Some(_) => (
                ReadinessState::Overdue,
                format!("{title} was expected by now and nobody has confirmed it; chase {party}."),
            ),
        }
    };
    ReadinessReason {
        state,
        key,
        party: prerequisite.party.clone(),
        expected_at: prerequisite.expected_at,
        sentence,
    }
}

/// What waiting for `task` means, and `opening` made into a sentence. What is sent out is a
/// stranger's promise: it comes by its expected time, and is chased once that has passed.
fn waits_for(
    task: &Task,
    key: String,
    opening: &str,
    gap_minutes: u32,
    at: DateTime<Utc>,
) -> ReadinessReason {
    let reason = |state, sentence| ReadinessReason {
        state,
        key,
        party: String::new(),
        expected_at: None,
        sentence,
    };
    match task.state {
        TaskState::Proposed => reason(
            ReadinessState::Waiting,
            format!("{opening}, which is only proposed; accept or decline it."),
        ),
        TaskState::Failed => reason(
            ReadinessState::Waiting,
            format!("{opening}, which has failed; allow a new attempt."),
        ),
        TaskState::Sublet => {
            let Some(sublet) = &task.sublet else {
                let sentence = format!("{opening}, which is sent out without an expected time.");
                return reason(ReadinessState::Waiting, sentence);
            };
            let party = &sublet.party;
            let (state, sentence) = if at < sublet.expected_at {
                let ready_at = sublet.expected_at + TimeDelta::minutes(gap_minutes.into());
                let sentence = format!("{opening}, which is sent out to {party}.");
                (ReadinessState::ReadyBy(ready_at), sentence)
            } else {
                let sentence = format!(
                    "{opening}, which {party} should have done by now; chase {party}, and record how it \
                     ended."
                );
                (ReadinessState::Overdue, sentence)
            };
            ReadinessReason {
                party: party.clone(),
                expected_at: Some(sublet.expected_at),
                ..reason(state, sentence)
            }
        }
        TaskState::Open
        | TaskState::Held
        | TaskState::Running
        | TaskState::Paused
        | TaskState::Passed
        | TaskState::Declined
        | TaskState::Cancelled => {
            reason(ReadinessState::After, format!("{opening}, which is {}.", task.state))
        }
    }
}

fn behind(before: &Task, gap_minutes: u32, at: DateTime<Utc>) -> Option<ReadinessReason> {
    let key = format!("task:{}", before.id);
    if before.state != TaskState::Passed {
        let opening = format!("It comes after task {}", before.id);
        return Some(waits_for(before, key, &opening, gap_minutes, at));
    }
    let ready_at = before.passed_at? + TimeDelta::minutes(gap_minutes.into());
    (at < ready_at).then(|| ReadinessReason {
        state: ReadinessState::ReadyBy(ready_at),
        key,
        party: String::new(),
        expected_at: Some(ready_at),
        sentence: format!("{gap_minutes} minutes must go by after task {}.", before.id),
    })
}

fn glass(job: &Job, task: &Task, at: DateTime<Utc>) -> Option<ReadinessReason> {
    // Glass that was set outside has a task that was given up, or none at all; what a task that was
    // given up undoes still says which sensors look through, without one any sensor may.
    let mut glasses = job
        .tasks
        .iter()
        .filter(|other| other.kind == TaskKind::Glass && other.id != task.id)
        .peekable();
    let sees = if glasses.peek().is_some() {
        glasses.any(|glass| looks_through(task, glass))
    } else {
        task.kind == TaskKind::Calibration
    };
    let (until, what) = if task.kind == TaskKind::RoadDrive {
        (job.drivable_at()?, "be driven")
    } else if sees {
        (job.calibratable_at()?, "have this sensor calibrated")
    } else {
        (job.movable_at()?, "be moved")
    };
    (at < until).then(|| ReadinessReason {
        state: ReadinessState::ReadyBy(until),
        key: "adhesive".to_owned(),
        party: String::new(),
        expected_at: Some(until),
        sentence: format!("The adhesive cures; until then the vehicle may not {what}."),
    })
}

fn busy(job: &Job, task: &Task) -> Option<ReadinessReason> {
    let held = job.tasks.iter().find(|other| other.id != task.id && other.state.is_held())?;
    Some(ReadinessReason {
        state: ReadinessState::After,
        key: format!("task:{}", held.id),
        party: String::new(),
        expected_at: None,
        sentence: format!("The vehicle is taken by task {}, which is {}.", held.id, held.state),
    })
}
