//! A call rule: which tasks and prerequisites an operation calls for, and what it undoes.

use super::{document, document_text, required_document};
use crate::reader::{Field, Table};
use crate::selector::{after, after_text, tasks, tasks_text, undo, undo_text};
use crate::toml_text::{Keys, TomlText, quoted};
use crate::words::Word as _;
use baywright_api::v1::{
    AskedWhen, CallRule, CalledPrerequisite, CalledTask, CureMinutes, PrerequisiteKind,
    SensorFamily,
};

/// The longest cure, minutes: ten days.
const CURE_MINUTES_MAX: u32 = 14_400;
/// The longest time for which a sign-off counts, minutes: a year.
const COUNTS_MINUTES_MAX: u32 = 525_600;

pub(crate) fn read(table: &Table<'_>) -> CallRule {
    CallRule {
        call_rule_id: table.id("id"),
        operation_codes: table.each("operations", 200, Field::id),
        vehicle_class_ids: table.each("vehicle_classes", 500, Field::id),
        sensors: table
            .each("sensors", 20, Field::word::<SensorFamily>)
            .into_iter()
            .map(Into::into)
            .collect(),
        calls: table.tables("task", 20, called_task),
        prerequisites: table.tables("prerequisite", 50, called_prerequisite),
        undoes: table.each("undoes", 50, undo),
        document: required_document(table),
    }
}

pub(crate) fn write(file: &mut TomlText, rule: &CallRule) {
    let sensor = |sensor: &i32| quoted(&SensorFamily::word_of(*sensor));
    let keys = Keys::default()
        .text("id", &rule.call_rule_id)
        .names("operations", &rule.operation_codes)
        .names("vehicle_classes", &rule.vehicle_class_ids)
        .list("sensors", &each(&rule.sensors, sensor))
        .list("undoes", &each(&rule.undoes, undo_text))
        .raw_if_any("document", rule.document.as_ref().map(document_text));
    file.item("call_rule", keys);
    for call in &rule.calls {
        file.item("call_rule.task", called_task_keys(call));
    }
    for prerequisite in &rule.prerequisites {
        file.item("call_rule.prerequisite", called_prerequisite_keys(prerequisite));
    }
}

/// Each value as TOML.
fn each<T>(values: &[T], text: impl Fn(&T) -> String) -> Vec<String> {
    values.iter().map(text).collect()
}

fn called_task_keys(call: &CalledTask) -> Keys {
    let cure = |cure: &CureMinutes| {
        Keys::default()
            .raw("moved_minutes", cure.moved_minutes)
            .raw("calibrated_minutes", cure.calibrated_minutes)
            .raw("driven_minutes", cure.driven_minutes)
            .inline()
    };
    Keys::default()
        .text("id", &call.task_id)
        .text("procedure", &call.procedure_id)
        .list("after", &each(&call.after, after_text))
        .list("undoes", &each(&call.undoes, undo_text))
        .raw_if_any("planned_cure", call.planned_cure.as_ref().map(cure))
}

fn called_prerequisite_keys(prerequisite: &CalledPrerequisite) -> Keys {
    Keys::default()
        .text("id", &prerequisite.prerequisite_id)
        .word::<PrerequisiteKind>("kind", prerequisite.kind)
        .text_if_any("title", &prerequisite.title)
        .list("gates", &each(&prerequisite.gates, tasks_text))
        .word::<AskedWhen>("asked", prerequisite.asked)
        .text_if_any("party", &prerequisite.party)
        .text_if_any("provided_by", &prerequisite.provided_by_task_id)
        .raw_if_any("counts_for_minutes", prerequisite.counts_for_minutes)
        .raw_if_any("document", prerequisite.document.as_ref().map(document_text))
}

fn called_task(table: &Table<'_>) -> CalledTask {
    CalledTask {
        task_id: table.id("id"),
        procedure_id: table.id("procedure"),
        after: table.each("after", 50, after),
        undoes: table.each("undoes", 50, undo),
        planned_cure: table.optional("planned_cure").and_then(|field| field.table(cure)),
    }
}

fn cure(table: &Table<'_>) -> CureMinutes {
    let minutes = 0..=CURE_MINUTES_MAX;
    CureMinutes {
        moved_minutes: table.whole("moved_minutes", minutes.clone()),
        calibrated_minutes: table.whole("calibrated_minutes", minutes.clone()),
        driven_minutes: table.whole("driven_minutes", minutes),
    }
}

fn called_prerequisite(table: &Table<'_>) -> CalledPrerequisite {
    let kind = table.word::<PrerequisiteKind>("kind");
    let title = table.text_or_empty("title");
    if kind == i32::from(PrerequisiteKind::Other) && title.is_empty() {
        table.fault(
            "title",
            "missing",
            "say what is meant, for the kind \"other\"",
            "add \"title\" here",
        );
    }
    table.some_of("gates", "name the tasks that wait for it, such as [\"kind:calibration\"]");
    CalledPrerequisite {
        prerequisite_id: table.id("id"),
        kind,
        title,
        gates: table.each("gates", 50, tasks),
        asked: table.word::<AskedWhen>("asked"),
        party: table.text_or_empty("party"),
        provided_by_task_id: table.id_or_empty("provided_by"),
        counts_for_minutes: table.whole_if_any("counts_for_minutes", 1..=COUNTS_MINUTES_MAX),
        document: table.optional("document").and_then(|field| document(&field)),
    }
}
