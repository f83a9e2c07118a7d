//! A procedure: its methods with their roles, equipment, minutes and zones.

use super::{required_document, zone};
use crate::reader::{Field, Table};
use baywright_api::v1::{Method, Procedure, SensorFamily, StartCheck, TaskKind, WorkPlace};

/// The longest method, minutes: two days.
const MINUTES_MAX: u32 = 2_880;

pub(crate) fn read(table: &Table<'_>) -> Procedure {
    let kind = table.word::<TaskKind>("kind");
    let sensor = table.optional("sensor").and_then(|field| field.word::<SensorFamily>());
    if kind == i32::from(TaskKind::Calibration) && sensor.is_none() {
        table.fault(
            "sensor",
            "missing or wrong",
            "name the sensor that the calibration aims",
            "add \"sensor\" here",
        );
    }
    table.some_of("method", "say at least one way of doing it");
    Procedure {
        procedure_id: table.id("id"),
        title: table.text("title"),
        kind,
        sensor: sensor.map_or(0, Into::into),
        document: required_document(table),
        methods: table.tables("method", 20, method),
        start_checks: table.tables("start_check", 50, |check| StartCheck {
            start_check_id: check.id("id"),
            question: check.text("question"),
        }),
    }
}

fn method(table: &Table<'_>) -> Method {
    table.some_of("roles", "name the skills that must be present, one technician each");
    let minutes = |key| table.whole_if_any(key, 0..=MINUTES_MAX).unwrap_or(0);
    let (setup_minutes, run_minutes, teardown_minutes) =
        (minutes("setup_minutes"), minutes("run_minutes"), minutes("teardown_minutes"));
    let total = setup_minutes + run_minutes + teardown_minutes;
    if !(1..=MINUTES_MAX).contains(&total) {
        table.fault(
            "run_minutes",
            &format!("{total} together with set-up and tear-down"),
            &format!("come to 1 to {MINUTES_MAX} minutes together with them"),
            "give the minutes that the document states",
        );
    }
    Method {
        method_id: table.id("id"),
        title: table.text("title"),
        place: table.word::<WorkPlace>("place"),
        role_ids: table.each("roles", 5, Field::id),
        unit_kind_ids: table.each("equipment", 10, Field::id),
        setup_minutes,
        run_minutes,
        teardown_minutes,
        zones: table.tables("zone", 50, zone::read),
    }
}
