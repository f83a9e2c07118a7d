//! Tasks, which of them are meant, what comes before them, and what a piece of work undoes.

use crate::adhesive::cure_minutes;
use crate::kinds::{Kind, kind_or, stated_kind};
use crate::reading::{Reading as _, plain};
use crate::time::{optional_instant, required_instant, timestamp};
use crate::v1;
use crate::v1::task_selector::Select;
use crate::v1::undo_target::Target;
use baywright_core::demand::{PrerequisiteKind, SensorFamily, TaskKind};
use baywright_core::fault::{FaultList, Faults};
use baywright_core::ids::{CallRuleId, ProcedureId, TaskId};
use baywright_core::work::{
    Decision, Sublet, Task, TaskAfter, TaskSelector, TaskState, UndoTarget, Undone,
};

impl TryFrom<&v1::Task> for Task {
    type Error = Faults;

    fn try_from(message: &v1::Task) -> Result<Self, Faults> {
        plain(|faults| task(faults, message))
    }
}

pub(crate) fn task(faults: &mut FaultList, message: &v1::Task) -> Option<Task> {
    let cure = message.planned_cure.as_ref();
    Some(Task {
        id: faults.name("task_id", &message.task_id, TaskId::new)?,
        procedure: faults.name("procedure_id", &message.procedure_id, ProcedureId::new)?,
        kind: kind_or(faults, "kind", message.kind, TaskKind::Inspection),
        sensor: faults.take("sensor", stated_kind::<SensorFamily>(message.sensor)).flatten(),
        title: message.title.clone(),
        state: kind_or(faults, "state", message.state, TaskState::Proposed),
        after: faults.each("after", &message.after, task_after),
        undoes: faults.each("undoes", &message.undoes, undo_target),
        called_by: faults.names("called_by_rule_ids", &message.called_by_rule_ids, CallRuleId::new),
        planned_cure: faults.optional("planned_cure", cure, cure_minutes),
        decision: faults.optional("decision", message.decision.as_ref(), decision),
        passed_at: optional_instant(faults, "passed_time", message.passed_time.as_ref()),
        undone: faults.optional("undone", message.undone.as_ref(), undone),
        sublet: faults.optional("sublet", message.sublet.as_ref(), sublet),
        no_longer_called: message.no_longer_called,
    })
}

impl From<&Task> for v1::Task {
    fn from(task: &Task) -> Self {
        Self {
            task_id: task.id.to_string(),
            procedure_id: task.procedure.to_string(),
            kind: task.kind.number(),
            sensor: task.sensor.map_or(0, Kind::number),
            title: task.title.clone(),
            state: task.state.number(),
            after: task.after.iter().map(Into::into).collect(),
            undoes: task.undoes.iter().map(Into::into).collect(),
            called_by_rule_ids: task.called_by.iter().map(CallRuleId::to_string).collect(),
            planned_cure: task.planned_cure.map(Into::into),
            decision: task.decision.as_ref().map(Into::into),
            passed_time: task.passed_at.map(timestamp),
            undone: task.undone.as_ref().map(Into::into),
            sublet: task.sublet.as_ref().map(Into::into),
            no_longer_called: task.no_longer_called,
        }
    }
}

pub(crate) fn decision(faults: &mut FaultList, message: &v1::Decision) -> Option<Decision> {
    let at = required_instant(faults, "decided_time", message.decided_time.as_ref());
    Some(Decision {
        actor: message.actor.clone(),
        at: at.unwrap_or_default(),
        reason: message.reason.clone(),
    })
}

impl From<&Decision> for v1::Decision {
    fn from(decision: &Decision) -> Self {
        Self {
            actor: decision.actor.clone(),
            decided_time: Some(timestamp(decision.at)),
            reason: decision.reason.clone(),
        }
    }
}

fn undone(faults: &mut FaultList, message: &v1::Undone) -> Option<Undone> {
    let at = required_instant(faults, "undone_time", message.undone_time.as_ref());
    Some(Undone { by: message.by.clone(), at: at.unwrap_or_default() })
}

impl From<&Undone> for v1::Undone {
    fn from(undone: &Undone) -> Self {
        Self { by: undone.by.clone(), undone_time: Some(timestamp(undone.at)) }
    }
}

fn sublet(faults: &mut FaultList, message: &v1::Sublet) -> Option<Sublet> {
    let sent_at = required_instant(faults, "sent_time", message.sent_time.as_ref());
    let expected_at = required_instant(faults, "expected_time", message.expected_time.as_ref());
    Some(Sublet {
        party: message.party.clone(),
        sent_at: sent_at.unwrap_or_default(),
        expected_at: expected_at.unwrap_or_default(),
        actor: message.actor.clone(),
        note: message.note.clone(),
    })
}

impl From<&Sublet> for v1::Sublet {
    fn from(sublet: &Sublet) -> Self {
        Self {
            party: sublet.party.clone(),
            sent_time: Some(timestamp(sublet.sent_at)),
            expected_time: Some(timestamp(sublet.expected_at)),
            actor: sublet.actor.clone(),
            note: sublet.note.clone(),
        }
    }
}

impl TryFrom<&v1::TaskSelector> for TaskSelector {
    type Error = Faults;

    fn try_from(message: &v1::TaskSelector) -> Result<Self, Faults> {
        plain(|faults| task_selector(faults, message))
    }
}

pub(crate) fn task_selector(
    faults: &mut FaultList,
    message: &v1::TaskSelector,
) -> Option<TaskSelector> {
    match &message.select {
        Some(Select::TaskId(id)) => faults.name("task_id", id, TaskId::new).map(TaskSelector::Task),
        Some(Select::Kind(number)) => {
            Some(TaskSelector::Kind(kind_or(faults, "kind", *number, TaskKind::Inspection)))
        }
        Some(Select::Sensor(number)) => {
            let stand_in = SensorFamily::FrontCamera;
            Some(TaskSelector::Sensor(kind_or(faults, "sensor", *number, stand_in)))
        }
        Some(Select::All(true)) => Some(TaskSelector::All),
        Some(Select::All(false)) => {
            faults.note("all", false, "be true where it is given", "name the tasks that are meant");
            Some(TaskSelector::All)
        }
        None => {
            let limit = "hold one of task_id, kind, sensor, all";
            faults.note("", "empty", limit, "say which tasks are meant");
            Some(TaskSelector::All)
        }
    }
}

impl From<&TaskSelector> for v1::TaskSelector {
    fn from(selector: &TaskSelector) -> Self {
        let select = match selector {
            TaskSelector::Task(id) => Select::TaskId(id.to_string()),
            TaskSelector::Kind(kind) => Select::Kind(kind.number()),
            TaskSelector::Sensor(sensor) => Select::Sensor(sensor.number()),
            TaskSelector::All => Select::All(true),
        };
        Self { select: Some(select) }
    }
}

pub(crate) fn task_after(faults: &mut FaultList, message: &v1::TaskAfter) -> Option<TaskAfter> {
    Some(TaskAfter {
        before: faults.required("before", message.before.as_ref(), task_selector)?,
        gap_minutes: message.gap_minutes,
    })
}

impl From<&TaskAfter> for v1::TaskAfter {
    fn from(after: &TaskAfter) -> Self {
        Self { before: Some((&after.before).into()), gap_minutes: after.gap_minutes }
    }
}

pub(crate) fn undo_target(faults: &mut FaultList, message: &v1::UndoTarget) -> Option<UndoTarget> {
    match &message.target {
        Some(Target::Tasks(tasks)) => {
            faults.inside("tasks", |faults| task_selector(faults, tasks)).map(UndoTarget::Tasks)
        }
        Some(Target::Prerequisite(number)) => {
            let stand_in = PrerequisiteKind::Other;
            let kind = kind_or(faults, "prerequisite", *number, stand_in);
            Some(UndoTarget::Prerequisite(kind))
        }
        None => {
            let limit = "hold one of tasks, prerequisite";
            faults.note("", "empty", limit, "say what is undone");
            Some(UndoTarget::Tasks(TaskSelector::All))
        }
    }
}

impl From<&UndoTarget> for v1::UndoTarget {
    fn from(target: &UndoTarget) -> Self {
        let target = match target {
            UndoTarget::Tasks(tasks) => Target::Tasks(tasks.into()),
            UndoTarget::Prerequisite(kind) => Target::Prerequisite(kind.number()),
        };
        Self { target: Some(target) }
    }
}
