//! From an estimate to the tasks and prerequisites it calls for.
//!
//! Rules propose, a person decides. The lines of a later revision are matched with the ones before
//! by the sender's name. An operation that no rule knows for this vehicle needs a decision; it
//! never means that nothing is to be done. A task whose rules the new revision no longer wakes
//! stays as it is and is marked, so that a person can cancel it; work in hand goes on.

use crate::demand::Procedure;
use crate::ids::{OperationId, ProcedureId, TaskId};
use crate::shop::{ShopDefinition, as_task};
use crate::work::{
    CallRule, CalledPrerequisite, Decision, Estimate, EstimateLine, Job, JobState, Operation,
    OperationState, Prerequisite, PrerequisiteState, Task, TaskEvent, TaskState,
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

/// Takes `estimate` into the job `before` (none: a new job) by the shop's rules.
///
/// # Errors
/// [`EstimateRefused`]; nothing is changed then.
pub fn take_estimate(
    before: Option<&Job>,
    estimate: &Estimate,
    shop: &ShopDefinition,
) -> Result<Job, EstimateRefused> {
    let parts = estimate.parts();
    let class = &parts.vehicle.class;
    if !shop.parts().vehicle_classes.iter().any(|known| known.id() == class) {
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
    merge_lines(&mut job, &parts.lines, &shop.parts().call_rules);
    let mut called = BTreeSet::new();
    for rule in &shop.parts().call_rules {
        if rule.holds_for(&job.vehicle) && rule.is_woken_by(&job.operations) {
            propose(&mut job, rule, shop);
            called.extend(rule.parts().calls.iter().map(|call| &call.task));
        }
    }
    for task in &mut job.tasks {
        // What a person decided on goes by no rule; it stays until a person says otherwise.
        task.no_longer_called = !task.called_by.is_empty() && !called.contains(&task.id);
    }
    Ok(job)
}

fn new_job(estimate: &Estimate) -> Job {
    let parts = estimate.parts();
    Job {
        id: parts.job.clone(),
        account: parts.account.clone(),
        repair_order: parts.repair_order.clone(),
        vehicle: parts.vehicle.clone(),
        expected_arrival_at: parts.expected_arrival_at,
        arrival: parts.arrival,
        promise_at: parts.promise_at,
        weight: parts.weight,
        state: JobState::Expected,
        arrived_at: None,
        handed_back_at: None,
        estimate_revision: 0,
        operations: Vec::new(),
        tasks: Vec::new(),
        prerequisites: Vec::new(),
        whereabouts: None,
        codes: Vec::new(),
        adhesive: None,
        exceptions: Vec::new(),
        key_tag: String::new(),
        moved: None,
        cancellation: None,
    }
}

fn merge_lines(job: &mut Job, lines: &[EstimateLine], rules: &[CallRule]) {
    for operation in &mut job.operations {
        if !lines.iter().any(|line| line.id == operation.id) {
            operation.state = OperationState::Withdrawn;
        }
    }
    for line in lines {
        let known = rules.iter().any(|rule| rule.knows(&line.code) && rule.holds_for(&job.vehicle));
        let fresh = if known { OperationState::Called } else { OperationState::NeedsDecision };
        match job.operations.iter_mut().find(|operation| operation.id == line.id) {
            Some(operation) => {
                let same_work = operation.code == line.code;
                let decided = operation.decision.is_some() && same_work;
                operation.state = if decided { OperationState::Decided } else { fresh };
                if !same_work {
                    operation.decision = None;
                    operation.done_outside_at = None;
                }
                operation.code = line.code.clone();
                operation.text.clone_from(&line.text);
            }
            None => job.operations.push(Operation {
                id: line.id.clone(),
                code: line.code.clone(),
                text: line.text.clone(),
                state: fresh,
                decision: None,
                done_outside_at: None,
            }),
        }
    }
}

fn propose(job: &mut Job, rule: &CallRule, shop: &ShopDefinition) {
    let rule_id = &rule.parts().id;
    for called in &rule.parts().calls {
        let Some(procedure) = shop.procedure(&called.procedure) else { continue };
        let fresh = as_task(called, procedure);
        let Some(index) = job.tasks.iter().position(|task| task.id == called.task) else {
            job.tasks.push(Task { called_by: vec![rule_id.clone()], ..fresh });
            continue;
        };
        let Some(task) = job.tasks.get_mut(index) else { continue };
        add_missing(&mut task.after, &fresh.after);
        add_missing(&mut task.undoes, &fresh.undoes);
        add_missing(&mut task.called_by, std::slice::from_ref(rule_id));
        task.planned_cure = task.planned_cure.or(fresh.planned_cure);
        if task.state == TaskState::Declined && task.step(TaskEvent::CallAgain).is_ok() {
            task.decision = None;
        }
    }
    for brought in &rule.parts().prerequisites {
        match job.prerequisites.iter_mut().find(|known| known.id == brought.id) {
            Some(known) => add_missing(&mut known.gates, &brought.gates),
            None => job.prerequisites.push(as_prerequisite(brought)),
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

/// Notes what an operation calls for that no rule knows: the `procedures`, or nothing at all.
///
/// Each procedure becomes an open task of the same name, unless the job has that task. Returns
/// whether the operation was waiting for a decision; nothing is changed when it was not.
pub fn decide_operation(
    job: &mut Job,
    operation: &OperationId,
    procedures: &[&Procedure],
    actor: &str,
    reason: &str,
    at: DateTime<Utc>,
) -> bool {
    let decision = Decision { actor: actor.to_owned(), at, reason: reason.to_owned() };
    let Some(operation) = job.operation_mut(operation) else { return false };
    if operation.state != OperationState::NeedsDecision {
        return false;
    }
    operation.state = OperationState::Decided;
    operation.decision = Some(decision.clone());
    for procedure in procedures {
        let Ok(id) = task_named_after(procedure.id()) else { continue };
        if job.task(&id).is_some() {
            continue;
        }
        job.tasks.push(Task {
            id,
            procedure: procedure.id().clone(),
            kind: procedure.kind(),
            sensor: procedure.sensor(),
            title: procedure.title().to_owned(),
            state: TaskState::Open,
            after: Vec::new(),
            undoes: Vec::new(),
            called_by: Vec::new(),
            planned_cure: None,
            decision: Some(decision.clone()),
            passed_at: None,
            undone: None,
            sublet: None,
            no_longer_called: false,
        });
    }
    true
}

fn task_named_after(procedure: &ProcedureId) -> Result<TaskId, crate::fault::Faults> {
    TaskId::new(procedure.as_str())
}
