//! Tasks named as text: `task:front-camera`, `kind:calibration`, `sensor:front-camera`, `all`;
//! and what a piece of work undoes, which may also be `prerequisite:glass-clean`.

use crate::reader::{Field, Table};
use crate::toml_text::{Keys, quoted};
use crate::words::Word as _;
use baywright_api::v1::{
    PrerequisiteKind, SensorFamily, TaskAfter, TaskKind, TaskSelector, UndoTarget,
    task_selector::Select, undo_target::Target,
};
use baywright_core::ids::TaskId;

/// The longest gap between two tasks, minutes: ten days.
pub(crate) const GAP_MINUTES_MAX: u32 = 14_400;

const SELECTOR: &str =
    "be \"task:NAME\", \"kind:KIND\", \"sensor:SENSOR\" or \"all\", with a known kind or sensor";

/// Some tasks of a job.
pub(crate) fn tasks(field: &Field<'_>) -> Option<TaskSelector> {
    let select = select(field.raw_text()?);
    if select.is_none() {
        field.refuse(SELECTOR, "name the tasks in one of these ways");
    }
    Some(TaskSelector { select: Some(select?) })
}

/// What must have passed before: a selector alone, or a table with a gap.
pub(crate) fn after(field: &Field<'_>) -> Option<TaskAfter> {
    if !field.is_table() {
        return tasks(field).map(|before| TaskAfter { before: Some(before), gap_minutes: 0 });
    }
    field.table(|table: &Table<'_>| TaskAfter {
        before: table.required("before", SELECTOR).and_then(|before| tasks(&before)),
        gap_minutes: table.whole_if_any("gap_minutes", 0..=GAP_MINUTES_MAX).unwrap_or(0),
    })
}

/// What a piece of work undoes.
pub(crate) fn undo(field: &Field<'_>) -> Option<UndoTarget> {
    let text = field.raw_text()?;
    let target = match text.strip_prefix("prerequisite:") {
        Some(kind) => {
            PrerequisiteKind::from_word(kind).map(|kind| Target::Prerequisite(kind.into()))
        }
        None => select(text).map(|select| Target::Tasks(TaskSelector { select: Some(select) })),
    };
    if target.is_none() {
        field.refuse(
            format!("{SELECTOR}, or \"prerequisite:KIND\""),
            "name what has to be done again in one of these ways",
        );
    }
    Some(UndoTarget { target: Some(target?) })
}

/// Some tasks of a job as a TOML text.
pub(crate) fn tasks_text(tasks: &TaskSelector) -> String {
    quoted(&select_text(tasks))
}

/// What must have passed before as TOML: a text, or with a gap a table.
pub(crate) fn after_text(after: &TaskAfter) -> String {
    let before = after.before.as_ref().map(tasks_text).unwrap_or_default();
    if after.gap_minutes == 0 {
        return before;
    }
    Keys::default().raw("before", before).raw("gap_minutes", after.gap_minutes).inline()
}

/// What a piece of work undoes as a TOML text.
pub(crate) fn undo_text(undo: &UndoTarget) -> String {
    quoted(&match &undo.target {
        Some(Target::Prerequisite(kind)) => {
            format!("prerequisite:{}", PrerequisiteKind::word_of(*kind))
        }
        Some(Target::Tasks(tasks)) => select_text(tasks),
        None => String::new(),
    })
}

fn select_text(tasks: &TaskSelector) -> String {
    match &tasks.select {
        Some(Select::All(_)) => "all".to_owned(),
        Some(Select::TaskId(name)) => format!("task:{name}"),
        Some(Select::Kind(kind)) => format!("kind:{}", TaskKind::word_of(*kind)),
        Some(Select::Sensor(sensor)) => format!("sensor:{}", SensorFamily::word_of(*sensor)),
        None => String::new(),
    }
}

fn select(text: &str) -> Option<Select> {
    if text == "all" {
        return Some(Select::All(true));
    }
    match text.split_once(':')? {
        ("task", name) => TaskId::new(name).ok().map(|_| Select::TaskId(name.to_owned())),
        ("kind", kind) => TaskKind::from_word(kind).map(|kind| Select::Kind(kind.into())),
        ("sensor", sensor) => {
            SensorFamily::from_word(sensor).map(|sensor| Select::Sensor(sensor.into()))
        }
        _ => None,
    }
}
