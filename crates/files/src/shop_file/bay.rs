//! A bay: its outline, and what stands, is painted and lets daylight in there.

mod daylight_opening;

use crate::reader::{Field, Table};
use crate::toml_text::{Keys, TomlText};
use baywright_api::v1::{Bay, FloorPoint, FloorPose, FreePlacing, Obstruction, Station};
use std::ops::RangeInclusive;

/// Floor coordinates, millimetres either way.
const FLOOR_MM: RangeInclusive<f64> = -200_000.0..=200_000.0;
const HEIGHT_MM: RangeInclusive<f64> = 0.0..=30_000.0;

pub(crate) fn read(table: &Table<'_>) -> Bay {
    Bay {
        bay_id: table.id("id"),
        outline: outline(table),
        ceiling_mm: table.number("ceiling_mm", 1_000.0..=30_000.0, "mm"),
        obstructions: table.tables("obstruction", 200, obstruction),
        stations: table.tables("station", 50, station),
        daylight_openings: table.tables("daylight_opening", 100, daylight_opening::read),
        free_placing: table.optional("free_placing").and_then(|field| field.table(free_placing)),
    }
}

fn free_placing(table: &Table<'_>) -> FreePlacing {
    let headings = table.optional("headings_deg").map(|field| field.list(16)).unwrap_or_default();
    FreePlacing {
        headings_deg: headings
            .iter()
            .filter_map(|heading| heading.number(-360.0..=360.0, "degrees"))
            .collect(),
        tolerance_deg: table
            .number_if_any("tolerance_deg", 0.0..=10.0, "degrees")
            .unwrap_or_default(),
        planned: table.flag_or_no("planned"),
    }
}

pub(crate) fn write(file: &mut TomlText, bay: &Bay) {
    let keys = Keys::default().text("id", &bay.bay_id).list("outline_mm", &corners(&bay.outline));
    let placing = bay.free_placing.as_ref().map(free_placing_keys);
    file.item("bay", keys.raw("ceiling_mm", bay.ceiling_mm).raw_if_any("free_placing", placing));
    for obstruction in &bay.obstructions {
        file.item("bay.obstruction", obstruction_keys(obstruction));
    }
    for station in &bay.stations {
        let mut keys = Keys::default().text("id", &station.station_id);
        if let Some(pose) = &station.pose {
            keys = keys.raw("x_mm", pose.x_mm).raw("y_mm", pose.y_mm);
            keys = keys.raw("heading_deg", pose.heading_deg);
        }
        file.item("bay.station", keys);
    }
    for opening in &bay.daylight_openings {
        file.item("bay.daylight_opening", daylight_opening::keys(opening));
    }
}

fn free_placing_keys(placing: &FreePlacing) -> String {
    let headings: Vec<_> =
        placing.headings_deg.iter().map(|heading| format!("{heading:?}")).collect();
    Keys::default()
        .list("headings_deg", &headings)
        .number_unless_0("tolerance_deg", placing.tolerance_deg)
        .raw_if_any("planned", placing.planned.then_some(true))
        .inline()
}

fn obstruction_keys(obstruction: &Obstruction) -> Keys {
    Keys::default()
        .text("id", &obstruction.obstruction_id)
        .list("outline_mm", &corners(&obstruction.outline))
        .number_unless_0("from_mm", obstruction.from_mm)
        .raw("to_mm", obstruction.to_mm)
        .raw_if_any("metal", obstruction.metal.then_some(true))
        .date_if_any("from_date", &obstruction.from_date)
        .date_if_any("to_date", &obstruction.to_date)
}

fn corners(outline: &[FloorPoint]) -> Vec<String> {
    outline.iter().map(|corner| format!("[{}, {}]", corner.x_mm, corner.y_mm)).collect()
}

fn obstruction(table: &Table<'_>) -> Obstruction {
    let from_mm = table.number_if_any("from_mm", HEIGHT_MM, "mm").unwrap_or(0.0);
    let to_mm = table.number_if_any("to_mm", HEIGHT_MM, "mm");
    match to_mm {
        None => table.fault(
            "to_mm",
            "missing or wrong",
            "be the height of its upper end in mm",
            "add \"to_mm\" here",
        ),
        Some(to_mm) if to_mm <= from_mm => {
            table.fault(
                "to_mm",
                &to_mm.to_string(),
                "be more than from_mm",
                "measure both ends from the floor",
            );
        }
        Some(_) => {}
    }
    Obstruction {
        obstruction_id: table.id("id"),
        outline: outline(table),
        from_mm,
        to_mm: to_mm.unwrap_or_default(),
        metal: table.flag_or_no("metal"),
        from_date: table.date_or_empty("from_date"),
        to_date: table.date_or_empty("to_date"),
    }
}

fn station(table: &Table<'_>) -> Station {
    Station {
        station_id: table.id("id"),
        pose: Some(FloorPose {
            x_mm: table.number("x_mm", FLOOR_MM, "mm"),
            y_mm: table.number("y_mm", FLOOR_MM, "mm"),
            heading_deg: table.number("heading_deg", -360.0..=360.0, "degrees"),
        }),
    }
}

fn outline(table: &Table<'_>) -> Vec<FloorPoint> {
    let Some(field) = table
        .required("outline_mm", "be a list of corners such as [[0, 0], [5000, 0], [5000, 7000]]")
    else {
        return Vec::new();
    };
    let corners = field.list(500);
    if corners.len() < 3 {
        field.refuse("have 3 to 500 corners", "give every corner in order, as [x, y] in mm");
    }
    corners.iter().filter_map(point).collect()
}

fn point(field: &Field<'_>) -> Option<FloorPoint> {
    let pair = field.list(2);
    let [x, y] = pair.as_slice() else {
        field.refuse("be a corner such as [0, 5000]", "give x and y in mm");
        return None;
    };
    Some(FloorPoint { x_mm: x.number(FLOOR_MM, "mm")?, y_mm: y.number(FLOOR_MM, "mm")? })
}
