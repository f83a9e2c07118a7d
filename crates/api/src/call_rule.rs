//! Call rules: which tasks and prerequisites an operation calls for, and what it undoes.

use crate::adhesive::cure_minutes;
use crate::kinds::{Kind as _, kind_or};
use crate::procedure::document;
use crate::reading::{Reading as _, whole};
use crate::task::{task_after, task_selector, undo_target};
use crate::v1;
use baywright_core::demand::{DocumentRef, PrerequisiteKind, SensorFamily};
use baywright_core::fault::{FaultList, Faults};
use baywright_core::ids::{
    CallRuleId, OperationCode, PrerequisiteId, ProcedureId, TaskId, VehicleClassId,
};
use baywright_core::work::{
    AskedWhen, CURE_MINUTES_MAX, CallRule, CallRuleDraft, CalledPrerequisite, CalledTask, TaskAfter,
};

/// The most tasks that a rule calls for.
pub const CALLS_MAX: usize = 20;
/// The most prerequisites that a rule brings.
pub const PREREQUISITES_MAX: usize = 50;
/// The longest gap between two tasks, minutes: ten days, like the longest cure.
pub const GAP_MINUTES_MAX: u32 = CURE_MINUTES_MAX;

impl TryFrom<&v1::CallRule> for CallRule {
    type Error = Faults;

    fn try_from(message: &v1::CallRule) -> Result<Self, Faults> {
        whole(|faults| draft(faults, message), Self::new, |fault| fault)
    }
}

fn draft(faults: &mut FaultList, message: &v1::CallRule) -> Option<CallRuleDraft> {
    faults.count("calls", message.calls.len(), 0..=CALLS_MAX);
    faults.count("prerequisites", message.prerequisites.len(), 0..=PREREQUISITES_MAX);
    let mut sensors = Vec::new();
    for (at, number) in message.sensors.iter().enumerate() {
        sensors.extend(faults.take(&format!("sensors[{at}]"), SensorFamily::from_number(*number)));
    }
    let classes = &message.vehicle_class_ids;
    Some(CallRuleDraft {
        id: faults.name("call_rule_id", &message.call_rule_id, CallRuleId::new)?,
        operations: faults.names("operation_codes", &message.operation_codes, OperationCode::new),
        classes: faults.names("vehicle_class_ids", classes, VehicleClassId::new),
        sensors: sensors.into_iter().collect(),
        calls: faults.each("calls", &message.calls, called_task),
        prerequisites: faults.each("prerequisites", &message.prerequisites, called_prerequisite),
        undoes: faults.each("undoes", &message.undoes, undo_target),
        document: faults.required("document", message.document.as_ref(), stated_document)?,
    })
}

fn stated_document(faults: &mut FaultList, message: &v1::Document) -> Option<DocumentRef> {
    faults.line("reference", &message.reference);
    document(faults, message)
}

fn called_task(faults: &mut FaultList, message: &v1::CalledTask) -> Option<CalledTask> {
    let cure = message.planned_cure.as_ref();
    Some(CalledTask {
        task: faults.name("task_id", &message.task_id, TaskId::new)?,
        procedure: faults.name("procedure_id", &message.procedure_id, ProcedureId::new)?,
        after: faults.each("after", &message.after, gapped_after),
        undoes: faults.each("undoes", &message.undoes, undo_target),
        planned_cure: faults.optional("planned_cure", cure, cure_minutes),
    })
}

fn gapped_after(faults: &mut FaultList, message: &v1::TaskAfter) -> Option<TaskAfter> {
    let most = GAP_MINUTES_MAX.into();
    faults.number_within("gap_minutes", message.gap_minutes.into(), 0.0, most, "minutes");
    task_after(faults, message)
}

fn called_prerequisite(
    faults: &mut FaultList,
    message: &v1::CalledPrerequisite,
) -> Option<CalledPrerequisite> {
    let provider = &message.provided_by_task_id;
    Some(CalledPrerequisite {
        id: faults.name("prerequisite_id", &message.prerequisite_id, PrerequisiteId::new)?,
        kind: kind_or(faults, "kind", message.kind, PrerequisiteKind::VehicleOnSite),
        title: faults.line_or_empty("title", &message.title),
        gates: faults.each("gates", &message.gates, task_selector),
        asked: kind_or(faults, "asked", message.asked, AskedWhen::Ahead),
        party: faults.line_or_empty("party", &message.party),
        provided_by: faults.name_or_none("provided_by_task_id", provider, TaskId::new),
        counts_for_minutes: message.counts_for_minutes,
        document: faults.optional("document", message.document.as_ref(), stated_document),
    })
}

impl From<&CallRule> for v1::CallRule {
    fn from(rule: &CallRule) -> Self {
        let parts = rule.parts();
        Self {
            call_rule_id: parts.id.to_string(),
            operation_codes: parts.operations.iter().map(OperationCode::to_string).collect(),
            vehicle_class_ids: parts.classes.iter().map(VehicleClassId::to_string).collect(),
            sensors: parts.sensors.iter().map(|sensor| sensor.number()).collect(),
            calls: parts.calls.iter().map(Into::into).collect(),
            prerequisites: parts.prerequisites.iter().map(Into::into).collect(),
            undoes: parts.undoes.iter().map(Into::into).collect(),
            document: Some((&parts.document).into()),
        }
    }
}

impl From<&CalledTask> for v1::CalledTask {
    fn from(called: &CalledTask) -> Self {
        Self {
            task_id: called.task.to_string(),
            procedure_id: called.procedure.to_string(),
            after: called.after.iter().map(Into::into).collect(),
            undoes: called.undoes.iter().map(Into::into).collect(),
            planned_cure: called.planned_cure.map(Into::into),
        }
    }
}

impl From<&CalledPrerequisite> for v1::CalledPrerequisite {
    fn from(brought: &CalledPrerequisite) -> Self {
        let provider = brought.provided_by.as_ref();
        Self {
            prerequisite_id: brought.id.to_string(),
            kind: brought.kind.number(),
            title: brought.title.clone(),
            gates: brought.gates.iter().map(Into::into).collect(),
            asked: brought.asked.number(),
            party: brought.party.clone(),
            provided_by_task_id: provider.map(TaskId::to_string).unwrap_or_default(),
            counts_for_minutes: brought.counts_for_minutes,
            document: brought.document.as_ref().map(Into::into),
        }
    }
}
