//! A procedure: its methods with their roles, equipment, minutes and zones.

use super::{document_text, required_document, zone};
use crate::reader::{Field, Table};
use crate::toml_text::{Keys, TomlText};
use crate::words::Word as _;
use baywright_api::v1::{
    Method, Procedure, SensorFamily, StartCheck, SunFreeView, TaskKind, WorkPlace,
};

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

pub(crate) fn write(file: &mut TomlText, procedure: &Procedure) {
    let sensor = SensorFamily::try_from(procedure.sensor).ok();
    let sensor = sensor.filter(|sensor| *sensor != SensorFamily::Unspecified);
    let keys = Keys::default()
        .text("id", &procedure.procedure_id)
        .text("title", &procedure.title)
        .word::<TaskKind>("kind", procedure.kind)
        .text_if_any("sensor", &sensor.map(SensorFamily::word).unwrap_or_default())
        .raw_if_any("document", procedure.document.as_ref().map(document_text));
    file.item("procedure", keys);
    for check in &procedure.start_checks {
        let keys = Keys::default().text("id", &check.start_check_id);
        file.item("procedure.start_check", keys.text("question", &check.question));
    }
    for method in &procedure.methods {
        file.item("procedure.method", method_keys(method));
        for zone in &method.zones {
            file.item("procedure.method.zone", zone::keys(zone));
        }
        for view in &method.sun_free_views {
            file.item("procedure.method.sun_free_view", view_keys(view));
        }
    }
}

fn method_keys(method: &Method) -> Keys {
    Keys::default()
        .text("id", &method.method_id)
        .text("title", &method.title)
        .word::<WorkPlace>("place", method.place)
        .names("roles", &method.role_ids)
        .names("equipment", &method.unit_kind_ids)
        .whole_unless_0("setup_minutes", method.setup_minutes)
        .whole_unless_0("run_minutes", method.run_minutes)
        .whole_unless_0("teardown_minutes", method.teardown_minutes)
        .raw_if_any("sun_elevation_min_deg", method.sun_elevation_min_deg)
}

fn view_keys(view: &SunFreeView) -> Keys {
    Keys::default()
        .text("id", &view.sun_free_view_id)
        .raw_if_any("at", view.apex.as_ref().map(zone::vertex_text))
        .number_unless_0("height_mm", view.height_mm)
        .number_unless_0("heading_deg", view.heading_deg)
        .number_unless_0("pitch_deg", view.pitch_deg)
        .raw("half_angle_horizontal_deg", view.half_angle_horizontal_deg)
        .raw("half_angle_vertical_deg", view.half_angle_vertical_deg)
}

fn view(table: &Table<'_>) -> SunFreeView {
    let at = table.required("at", "be a point such as [\"front-axle -300\", \"centreline\"]");
    let angle = |key, most: f64| table.number_if_any(key, -most..=most, "degrees").unwrap_or(0.0);
    let half_angle = |key| table.number(key, 0.01..=89.0, "degrees");
    SunFreeView {
        sun_free_view_id: table.id("id"),
        apex: at.and_then(|field| zone::vertex(&field)),
        height_mm: table.number_if_any("height_mm", 0.0..=10_000.0, "mm").unwrap_or(0.0),
        heading_deg: angle("heading_deg", 360.0),
        pitch_deg: angle("pitch_deg", 90.0),
        half_angle_horizontal_deg: half_angle("half_angle_horizontal_deg"),
        half_angle_vertical_deg: half_angle("half_angle_vertical_deg"),
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
        sun_free_views: table.tables("sun_free_view", 10, view),
        sun_elevation_min_deg: table.number_if_any(
            "sun_elevation_min_deg",
            -18.0..=90.0,
            "degrees",
        ),
    }
}
