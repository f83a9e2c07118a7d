//! The shop's own rules from operations to tasks and prerequisites.
//!
//! A rule is woken by an operation of the estimate (or by every job), by vehicle class and by the
//! sensors fitted. It proposes; a person accepts or declines. What it proposes and undoes is
//! written down from a document by the shop; nothing of it stands in code.

use super::{
    AskedWhen, CureMinutes, Operation, OperationState, TaskAfter, TaskSelector, UndoTarget, Vehicle,
};
use crate::demand::{DocumentRef, PrerequisiteKind, SensorFamily};
use crate::fault::{Fault, FaultList, Faults};
use crate::ids::{CallRuleId, OperationCode, PrerequisiteId, ProcedureId, TaskId, VehicleClassId};
use std::collections::BTreeSet;

/// A task that a rule calls for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CalledTask {
    /// Name within the job.
    pub task: TaskId,
    /// The procedure it follows.
    pub procedure: ProcedureId,
    /// What must have passed before it.
    pub after: Vec<TaskAfter>,
    /// What it undoes when it starts.
    pub undoes: Vec<UndoTarget>,
    /// Minutes of cure for planning ahead; glass only.
    pub planned_cure: Option<CureMinutes>,
}

/// A prerequisite that a rule brings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CalledPrerequisite {
    /// Name within the job.
    pub id: PrerequisiteId,
    /// Its kind.
    pub kind: PrerequisiteKind,
    /// What a person reads.
    pub title: String,
    /// The tasks it gates.
    pub gates: Vec<TaskSelector>,
    /// Asked ahead or at the start.
    pub asked: AskedWhen,
    /// The party to ask.
    pub party: String,
    /// The task whose passing signs it off.
    pub provided_by: Option<TaskId>,
    /// How long a sign-off counts, minutes.
    pub counts_for_minutes: Option<u32>,
    /// Where it says that this is needed.
    pub document: Option<DocumentRef>,
}

/// What a rule is made from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CallRuleDraft {
    /// Name of the rule.
    pub id: CallRuleId,
    /// Operations that wake it, any of them; none means every job.
    pub operations: BTreeSet<OperationCode>,
    /// Vehicle classes it holds for; none means all.
    pub classes: BTreeSet<VehicleClassId>,
    /// Sensors that the vehicle must have, all of them.
    pub sensors: BTreeSet<SensorFamily>,
    /// Tasks that it calls for.
    pub calls: Vec<CalledTask>,
    /// Prerequisites that it brings.
    pub prerequisites: Vec<CalledPrerequisite>,
    /// What the operation undoes where it is done as outside work.
    pub undoes: Vec<UndoTarget>,
    /// Where it was written down from.
    pub document: DocumentRef,
}

/// A checked rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CallRule(CallRuleDraft);

impl CallRule {
    /// Checks and takes a rule.
    ///
    /// # Errors
    /// A fault for a task or prerequisite named twice, for a prerequisite that gates nothing, for one
    /// of the kind `other` without a title, and for a rule that does nothing at all.
    pub fn new(draft: CallRuleDraft) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        let mut tasks = BTreeSet::new();
        for (index, called) in draft.calls.iter().enumerate() {
            if !tasks.insert(&called.task) {
                faults.push(Fault::new(
                    format!("calls[{index}].task_id"),
                    &called.task,
                    "be called once by a rule",
                    "merge the two calls or give one another name",
                ));
            }
        }
        let mut prerequisites = BTreeSet::new();
        for (index, brought) in draft.prerequisites.iter().enumerate() {
            let path = format!("prerequisites[{index}]");
            if !prerequisites.insert(&brought.id) {
                faults.push(Fault::new(
                    format!("{path}.prerequisite_id"),
                    &brought.id,
                    "be brought once by a rule",
                    "merge the two or give one another name",
                ));
            }
            if brought.gates.is_empty() {
                faults.push(Fault::new(
                    format!("{path}.gates"),
                    "empty",
                    "name at least one task",
                    "say which tasks wait for it, or \"all\"",
                ));
            }
            if brought.kind == PrerequisiteKind::Other && brought.title.trim().is_empty() {
                faults.push(Fault::new(
                    format!("{path}.title"),
                    "empty",
                    "be stated for the kind other",
                    "say in a few words what must hold",
                ));
            }
        }
        if draft.calls.is_empty() && draft.prerequisites.is_empty() && draft.undoes.is_empty() {
            faults.push(Fault::new(
                "calls",
                "empty",
                "call a task, bring a prerequisite or undo something",
                "remove the rule, or say what it is for",
            ));
        }
        faults.finish(Self(draft))
    }

    /// The rule's parts.
    pub fn parts(&self) -> &CallRuleDraft {
        &self.0
    }

    /// Whether the rule holds for this vehicle at all.
    pub fn holds_for(&self, vehicle: &Vehicle) -> bool {
        (self.0.classes.is_empty() || self.0.classes.contains(&vehicle.class))
            && self.0.sensors.is_subset(&vehicle.sensors)
    }

    /// Whether the rule knows the operation `code`, whatever the vehicle.
    pub fn knows(&self, code: &OperationCode) -> bool {
        self.0.operations.contains(code)
    }

    /// Whether one of the operations that still stand, or every job, wakes the rule.
    pub fn is_woken_by(&self, operations: &[Operation]) -> bool {
        self.0.operations.is_empty()
            || operations.iter().any(|operation| {
                operation.state != OperationState::Withdrawn && self.knows(&operation.code)
            })
    }
}
