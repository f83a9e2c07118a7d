//! A call rule: which tasks and prerequisites an operation calls for, and what it undoes.

use super::{document, required_document};
use crate::reader::{Field, Table};
use crate::selector::{after, tasks, undo};
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
