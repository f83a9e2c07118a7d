//! Bays with their outline, obstructions, stations and daylight openings.

mod daylight_opening;

use crate::reading::{Reading as _, renamed, whole};
use crate::time::{date_from, date_text};
use crate::v1;
use baywright_core::axes::{PoseFloor, PoseFloorDraft};
use baywright_core::fault::{Fault, FaultList, Faults};
use baywright_core::floor::{Bay, BayDraft, Obstruction, ObstructionDraft, Placing, Station};
use baywright_core::ids::{BayId, ObstructionId, StationId};
use baywright_core::region::Polygon;
use chrono::NaiveDate;

impl TryFrom<&v1::Bay> for Bay {
    type Error = Faults;

    fn try_from(message: &v1::Bay) -> Result<Self, Faults> {
        let placing = message.free_placing.as_ref().map(placing).unwrap_or_default();
        let make = |draft| Self::with_placing(draft, placing);
        whole(|faults| draft(faults, message), make, in_contract)
    }
}

fn in_contract(fault: Fault) -> Fault {
    renamed(
        fault,
        &[
            ("", "outline_mm", "outline"),
            ("wall", "base_mm", "base"),
            ("obstructions", "id", "obstruction_id"),
            ("obstructions", "dates", "to_date"),
            ("stations", "id", "station_id"),
            ("daylight_openings", "id", "daylight_opening_id"),
            ("", "placing", "free_placing"),
        ],
    )
}

fn draft(faults: &mut FaultList, message: &v1::Bay) -> Option<BayDraft> {
    Some(BayDraft {
        id: faults.name("bay_id", &message.bay_id, BayId::new)?,
        outline_mm: outline(&message.outline),
        ceiling_mm: message.ceiling_mm,
        obstructions: faults.each("obstructions", &message.obstructions, obstruction),
        stations: faults.each("stations", &message.stations, station),
        daylight_openings: faults.each(
            "daylight_openings",
            &message.daylight_openings,
            daylight_opening::read,
        ),
    })
}

fn placing(message: &v1::FreePlacing) -> Placing {
    let v1::FreePlacing { headings_deg, tolerance_deg, planned } = message;
    Placing { headings_deg: headings_deg.clone(), tolerance_deg: *tolerance_deg, planned: *planned }
}

fn placing_message(placing: &Placing) -> v1::FreePlacing {
    v1::FreePlacing {
        headings_deg: placing.headings_deg.clone(),
        tolerance_deg: placing.tolerance_deg,
        planned: placing.planned,
    }
}

fn outline(points: &[v1::FloorPoint]) -> Vec<(f64, f64)> {
    points.iter().map(|point| (point.x_mm, point.y_mm)).collect()
}

fn outline_points(points_mm: &[(f64, f64)]) -> Vec<v1::FloorPoint> {
    points_mm.iter().map(|(x_mm, y_mm)| v1::FloorPoint { x_mm: *x_mm, y_mm: *y_mm }).collect()
}

pub(crate) fn outline_message(outline: &Polygon) -> Vec<v1::FloorPoint> {
    let corners = outline.vertices().iter();
    corners.map(|corner| v1::FloorPoint { x_mm: corner.x_mm, y_mm: corner.y_mm }).collect()
}

fn obstruction(faults: &mut FaultList, message: &v1::Obstruction) -> Option<ObstructionDraft> {
    Some(ObstructionDraft {
        id: faults.name("obstruction_id", &message.obstruction_id, ObstructionId::new)?,
        outline_mm: outline(&message.outline),
        from_mm: message.from_mm,
        to_mm: message.to_mm,
        metal: message.metal,
        dates: dates(faults, &message.from_date, &message.to_date),
    })
}

/// Reads two dates of which both or neither are stated.
fn dates(faults: &mut FaultList, from: &str, to: &str) -> Option<(NaiveDate, NaiveDate)> {
    for (field, text, other) in [("from_date", from, to), ("to_date", to, from)] {
        if text.is_empty() && !other.is_empty() {
            faults.note(
                field,
                "empty",
                "be given where the other date is",
                "state both dates, or neither for an obstruction that always stands there",
            );
        }
    }
    let mut date = |field, text: &str| {
        if text.is_empty() { None } else { faults.leaf(field, date_from(text)) }
    };
    let (from, to) = (date("from_date", from), date("to_date", to));
    Some((from?, to?))
}

fn station(faults: &mut FaultList, message: &v1::Station) -> Option<Station> {
    Some(Station {
        id: faults.name("station_id", &message.station_id, StationId::new)?,
        pose: faults.required("pose", message.pose.as_ref(), pose)?,
    })
}

fn pose(faults: &mut FaultList, message: &v1::FloorPose) -> Option<PoseFloor> {
    let v1::FloorPose { x_mm, y_mm, heading_deg } = *message;
    faults
        .own(PoseFloor::new(PoseFloorDraft { x_mm, y_mm, heading_deg }))
        .or_else(|| PoseFloor::new(PoseFloorDraft { x_mm: 0.0, y_mm: 0.0, heading_deg: 0.0 }).ok())
}

impl From<&Bay> for v1::Bay {
    fn from(bay: &Bay) -> Self {
        Self {
            bay_id: bay.id().to_string(),
            outline: outline_message(bay.outline()),
            ceiling_mm: bay.ceiling_mm(),
            obstructions: bay.obstructions().iter().map(Into::into).collect(),
            stations: bay.stations().iter().map(Into::into).collect(),
            daylight_openings: bay.daylight_openings().iter().map(Into::into).collect(),
            free_placing: (bay.placing() != &Placing::default())
                .then(|| placing_message(bay.placing())),
        }
    }
}

impl From<&Obstruction> for v1::Obstruction {
    fn from(obstruction: &Obstruction) -> Self {
        let dates = obstruction.dates();
        Self {
            obstruction_id: obstruction.id().to_string(),
            outline: outline_message(obstruction.outline()),
            from_mm: obstruction.from_mm(),
            to_mm: obstruction.to_mm(),
            metal: obstruction.metal(),
            from_date: dates.map(|(from, _)| date_text(from)).unwrap_or_default(),
            to_date: dates.map(|(_, to)| date_text(to)).unwrap_or_default(),
        }
    }
}

impl From<&Station> for v1::Station {
    fn from(station: &Station) -> Self {
        Self { station_id: station.id.to_string(), pose: Some((&station.pose).into()) }
    }
}

impl From<&PoseFloor> for v1::FloorPose {
    fn from(pose: &PoseFloor) -> Self {
        Self { x_mm: pose.x_mm(), y_mm: pose.y_mm(), heading_deg: pose.heading_deg() }
    }
}
