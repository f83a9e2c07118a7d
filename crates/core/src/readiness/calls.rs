//! From an estimate to the tasks and prerequisites it calls for.
//!
//! Rules propose, a person decides. The lines of a later revision are matched with the ones before
//! by the sender's name. An operation that no rule knows for this vehicle needs a decision; it
//! never means that nothing is to be done. A task whose rules the new revision no longer wakes
//! stays as it is and is marked, so that a person can cancel it; work in hand goes on. A line that is
//! new and calls for a task that has passed makes it to be done again, with everything behind it.

use super::order::tasks_before;
use super::undoing::undo;
use crate::demand::Procedure;
use crate::ids::{OperationId, TaskId};
use crate::shop::{ShopDefinition, as_task};
use crate::work::{
    CallRule, CalledPrerequisite, CalledTask, Decision, Estimate, EstimateLine, Job, JobState,
    Operation, OperationState, Prerequisite, PrerequisiteState, Task, TaskEvent, TaskSelector,
    TaskState, UndoTarget, Visit,
};
use chrono::{DateTime, Utc};
use std::collections::BTreeSet;

/// Why an estimate was not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EstimateRefused {
    /// The revision is not higher than the last one.
    #[error("revision {given} is not higher than revision {last}, which was taken before")]
    StaleRevision {
        /// The revision given.
        given: u32,
        /// The last revision taken.
        last: u32,
    },
    /// The job has ended.
    #[error("the job is {}", state.as_str())]
    JobEnded {
        /// Where the job stands.
        state: JobState,
    },
    /// The shop works for its listed accounts only.
    #[error("the shop has no account {account}")]
    UnknownAccount {
        /// The account given.
        account: String,
    },
    /// The shop has no such vehicle class.
    #[error("the shop has no vehicle class {class}")]
    UnknownVehicleClass {
        /// The class given.
        class: String,
    },
}

/// Takes `estimate` into the job `before` (none: a new job) by the shop's rules, at `at`.
///
/// # Errors
/// [`EstimateRefused`]; nothing is changed then.
pub fn take_estimate(
    before: Option<&Job>,
    estimate: &Estimate,
    shop: &ShopDefinition,
    at: DateTime<Utc>,
) -> Result<Job, EstimateRefused> {
    let parts = estimate.parts();
    let class = &parts.vehicle.class;
    if shop.vehicle_class(class).is_none() {
        return Err(EstimateRefused::UnknownVehicleClass { class: class.to_string() });
    }
    let accounts = &shop.parts().accounts;
    if !accounts.is_empty() && !accounts.iter().any(|known| known.id == parts.account) {
        return Err(EstimateRefused::UnknownAccount { account: parts.account.to_string() });
    }
    if let Some(before) = before {
        if before.state.has_ended() {
            return Err(EstimateRefused::JobEnded { state: before.state });
        }
        if parts.revision <= before.estimate_revision {
            return Err(EstimateRefused::StaleRevision {
                given: parts.revision,
                last: before.estimate_revision,
            });
        }
    }
    let mut job = before.cloned().unwrap_or_else(|| new_job(estimate));
    job.account = parts.account.clone();
    job.repair_order.clone_from(&parts.repair_order);
    job.vehicle = parts.vehicle.clone();
    job.expected_arrival_at = parts.expected_arrival_at;
    job.arrival = parts.arrival;
    job.promise_at = parts.promise_at;
    job.weight = parts.weight;
    job.estimate_revision = parts.revision;
    let fresh_work = merge_lines(&mut job, &parts.lines, &shop.parts().call_rules);
    let mut called = BTreeSet::new();
    let mut called_now = Vec::new();
    for rule in &shop.parts().call_rules {
        if rule.holds_for(&job.vehicle) && rule.is_woken_by(&job.operations) {
            let newly = job
                .operations
                .iter()
                .any(|line| fresh_work.contains(&line.id) && rule.knows(&line.code));
            called_now.extend(propose(&mut job, rule, shop, newly));
            called.extend(rule.parts().calls.iter().map(|call| &call.task));
        }
    }
    for task in &mut job.tasks {
        // What a person decided on goes by no rule; it stays until a person says otherwise.
        task.no_longer_called = !task.called_by.is_empty() && !called.contains(&task.id);
    }
    let codes: BTreeSet<String> = job
        .operations
        .iter()
        .filter(|line| fresh_work.contains(&line.id))
        .map(|line| line.code.to_string())
        .collect();
    let codes: Vec<_> = codes.into_iter().collect();
    let by = format!("estimate revision {} ({})", parts.revision, codes.join(", "));
    undo_with_all_behind(&mut job, &called_now, &by, at);
    Ok(job)
}

fn new_job(estimate: &Estimate) -> Job {
    let parts = estimate.parts();
    Job::expected(Visit {
        id: parts.job.clone(),
        account: parts.account.clone(),
        repair_order: parts.repair_order.clone(),
        vehicle: parts.vehicle.clone(),
        expected_arrival_at: parts.expected_arrival_at,
        arrival: parts.arrival,
        promise_at: parts.promise_at,
        weight: parts.weight,
    })
}

/// Takes the lines over; the operations that are new, or do other work than before.
fn merge_lines(job: &mut Job, lines: &[EstimateLine], rules: &[CallRule]) -> BTreeSet<OperationId> {
    let mut fresh_work = BTreeSet::new();
    for operation in &mut job.operations {
        if !lines.iter().any(|line| line.id == operation.id) {
            operation.state = OperationState::Withdrawn;
        }
    }
    for line in lines {
        let known = rules.iter().any(|rule| rule.knows(&line.code) && rule.holds_for(&job.vehicle));
        let fresh = if known { OperationState::Called } else { OperationState::NeedsDecision };
        let known = job.operations.iter_mut().find(|operation| operation.id == line.id);
        let Some(operation) = known else {
            fresh_work.insert(line.id.clone());
            job.operations.push(Operation {
                id: line.id.clone(),
                code: line.code.clone(),
                text: line.text.clone(),
                state: fresh,
                decision: None,
                done_outside_at: None,
            });
            continue;
        };
        let same_work = operation.code == line.code;
        if !same_work || operation.state == OperationState::Withdrawn {
            fresh_work.insert(line.id.clone());
        }
        let decided = operation.decision.is_some() && same_work;
        operation.state = if decided { OperationState::Decided } else { fresh };
        if !same_work {
            operation.decision = None;
            operation.done_outside_at = None;
        }
        operation.code = line.code.clone();
        operation.text.clone_from(&line.text);
    }
    fresh_work
}

/// Adds what a rule calls for; the tasks that are to be done now and were not before.
///
/// `newly` says that a line wakes the rule which is new or does other work: what had passed must be
/// done again then, and what was given up is proposed again.
fn propose(job: &mut Job, rule: &CallRule, shop: &ShopDefinition, newly: bool) -> Vec<TaskId> {
    let mut called_now = Vec::new();
    let rule_id = &rule.parts().id;
    for called in &rule.parts().calls {
        let Some(procedure) = shop.procedure(&called.procedure) else { continue };
        let fresh = as_task(called, procedure);
        let Some(index) = job.tasks.iter().position(|task| task.id == called.task) else {
            called_now.push(called.task.clone());
            job.tasks.push(Task { called_by: vec![rule_id.clone()], ..fresh });
            continue;
        };
        let Some(task) = job.tasks.get_mut(index) else { continue };
        add_missing(&mut task.after, &fresh.after);
        add_missing(&mut task.undoes, &fresh.undoes);
        add_missing(&mut task.called_by, std::slice::from_ref(rule_id));
        task.planned_cure = task.planned_cure.or(fresh.planned_cure);
        let again =
            task.state == TaskState::Declined || (newly && task.state == TaskState::Cancelled);
        if again && task.step(TaskEvent::CallAgain).is_ok() {
            task.decision = None;
            called_now.push(called.task.clone());
        } else if newly && task.state == TaskState::Passed {
            called_now.push(called.task.clone());
        }
    }
    for brought in &rule.parts().prerequisites {
        match job.prerequisites.iter_mut().find(|known| known.id == brought.id) {
            Some(known) => add_missing(&mut known.gates, &brought.gates),
            None => job.prerequisites.push(as_prerequisite(brought)),
        }
    }
    called_now
}

/// Undoes what had passed of `tasks` and everything passed that comes after them: nothing passed stands
/// behind work that is still to be done.
fn undo_with_all_behind(job: &mut Job, tasks: &[TaskId], by: &str, at: DateTime<Utc>) {
    for id in tasks {
        let behind: Vec<TaskId> = job
            .tasks
            .iter()
            .filter(|other| tasks_before(&job.tasks, other).iter().any(|(one, _)| one.id == *id))
            .map(|other| other.id.clone())
            .collect();
        for undone in std::iter::once(id.clone()).chain(behind) {
            undo(job, &[UndoTarget::Tasks(TaskSelector::Task(undone))], None, by, at);
        }
    }
}

fn add_missing<T: PartialEq + Clone>(list: &mut Vec<T>, more: &[T]) {
    for item in more {
        if !list.contains(item) {
            list.push(item.clone());
        }
    }
}

fn as_prerequisite(brought: &CalledPrerequisite) -> Prerequisite {
    let title = if brought.title.is_empty() {
        brought.kind.as_str().replace('-', " ")
    } else {
        brought.title.clone()
    };
    Prerequisite {
        id: brought.id.clone(),
        kind: brought.kind,
        title,
        gates: brought.gates.clone(),
        asked: brought.asked,
        state: PrerequisiteState::Open,
        party: brought.party.clone(),
        expected_at: None,
        provided_by: brought.provided_by.clone(),
        counts_for_minutes: brought.counts_for_minutes,
        document: brought.document.clone(),
        sign_off: None,
    }
}

/// Notes what an operation calls for that no rule knows: these `tasks`, or nothing at all.
///
/// A task that the job has already is accepted where it was proposed or given up, and must be done
/// again where it has passed. Returns whether the operation was waiting for a decision; nothing is
/// changed when it was not.
pub fn decide_operation(
    job: &mut Job,
    operation: &OperationId,
    tasks: Vec<Task>,
    decision: &Decision,
) -> bool {
    let Some(operation) = job.operation_mut(operation) else { return false };
    if operation.state != OperationState::NeedsDecision {
        return false;
    }
    operation.state = OperationState::Decided;
    operation.decision = Some(decision.clone());
    let by = format!("operation {} ({})", operation.id, operation.code);
    let mut called_now = Vec::new();
    for fresh in tasks {
        called_now.push(fresh.id.clone());
        let decision = Some(decision.clone());
        let Some(task) = job.task_mut(&fresh.id) else {
            job.tasks.push(Task { state: TaskState::Open, decision, ..fresh });
            continue;
        };
        let given_up = task.state.is_given_up() && task.step(TaskEvent::CallAgain).is_ok();
        if (given_up || task.state == TaskState::Proposed) && task.step(TaskEvent::Accept).is_ok() {
            task.decision = decision;
        }
    }
    undo_with_all_behind(job, &called_now, &by, decision.at);
    true
}

/// The task that follows `procedure`, before anything has happened to it: as the shop's rules call it,
/// with its order and what it undoes, or by the procedure's own name where no rule does.
pub fn task_of_procedure(shop: &ShopDefinition, procedure: &Procedure) -> Option<Task> {
    let calls = || {
        let rules = shop.parts().call_rules.iter();
        rules
            .flat_map(|rule| &rule.parts().calls)
            .filter(|called| called.procedure == *procedure.id())
    };
    let Some(first) = calls().next() else {
        let bare = CalledTask {
            task: TaskId::new(procedure.id().as_str()).ok()?,
            procedure: procedure.id().clone(),
            after: Vec::new(),
            undoes: Vec::new(),
            planned_cure: None,
        };
        return Some(as_task(&bare, procedure));
    };
    let mut task = as_task(first, procedure);
    for called in calls().filter(|called| called.task == first.task) {
        add_missing(&mut task.after, &called.after);
        add_missing(&mut task.undoes, &called.undoes);
        task.planned_cure = task.planned_cure.or(called.planned_cure);
    }
    Some(task)
}
