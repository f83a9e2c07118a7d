//! Which kinds of change could help against what was found.

use super::applied::side_of_edge;
use super::{Around, Change};
use crate::axes::PointFloor;
use crate::demand::{Method, VehicleClass, ZoneNeed};
use crate::fit::{Detail, Finding, NeedKind, StationFindings};
use crate::ids::ObstructionId;
use crate::region::FloorBounds;
use std::collections::BTreeSet;

/// What could help; several changes may follow from it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Remedy {
    /// Floor beyond an edge of the bay.
    Floor(usize),
    /// The floor of a bay next to it.
    Neighbours,
    /// An obstruction taken away.
    Obstruction(ObstructionId),
    /// A survey that counts.
    Survey,
    /// Heights measured more exactly.
    Heights,
    /// Light measured more exactly.
    Readings,
    /// More light.
    Light,
    /// A level floor.
    Level,
}

/// What all reasons against a station have in common.
pub(super) fn remedies_of_station(station: &StationFindings) -> BTreeSet<Remedy> {
    let against = station.findings.iter().filter(|finding| !finding.verdict.lets_work_start());
    let common = against.map(remedies_of).reduce(|held, next| &held & &next);
    common.unwrap_or_default()
}

/// What could help against one finding. Findings that no single change of the kinds known can help
/// against have none.
fn remedies_of(finding: &Finding) -> BTreeSet<Remedy> {
    let remedies = match &finding.detail {
        Detail::OutsideFloor { beyond_edge, .. } => {
            vec![Remedy::Floor(*beyond_edge), Remedy::Neighbours]
        }
        Detail::Obstructed { obstruction, .. } | Detail::MetalInside { obstruction, .. } => {
            vec![Remedy::Obstruction(obstruction.clone())]
        }
        Detail::SurveyExpired { .. }
        | Detail::SurveyNotYetTaken { .. }
        | Detail::LightExpired { .. }
        | Detail::OutlineChanged => {
            vec![Remedy::Survey]
        }
        Detail::SlopeTooSteep
        | Detail::FloorUneven
        | Detail::BeyondStand { .. }
        | Detail::HeightsScatter { .. } => vec![Remedy::Level],
        Detail::HeightsTooUncertain { .. } | Detail::ResidualTooUncertain { .. } => {
            vec![Remedy::Heights, Remedy::Level]
        }
        Detail::TooDark | Detail::LightUneven => vec![Remedy::Light],
        Detail::TooUncertain { .. } if is_of_heights(finding.need) => {
            vec![Remedy::Heights, Remedy::Level]
        }
        Detail::TooUncertain { .. } => vec![Remedy::Readings, Remedy::Light],
        _ => Vec::new(),
    };
    remedies.into_iter().collect()
}

fn is_of_heights(need: NeedKind) -> bool {
    matches!(need, NeedKind::LevelSlope | NeedKind::LevelResidual)
}

impl Remedy {
    /// The changes to try, each of no size yet.
    pub(super) fn changes(
        &self,
        around: &Around<'_>,
        method: &Method,
        vehicle: &VehicleClass,
        stations: &[StationFindings],
    ) -> Vec<Change> {
        let survey = around.survey;
        match self {
            Self::Floor(edge) => {
                let edge = side_of_edge(around.bay.outline(), *edge);
                vec![Change::GainFloor { edge, gain_mm: 0 }]
            }
            Self::Neighbours => neighbours(around),
            Self::Obstruction(obstruction) => {
                vec![Change::RemoveObstruction { obstruction: obstruction.clone() }]
            }
            Self::Survey => vec![Change::RenewSurvey],
            Self::Heights => survey
                .map(|survey| Change::MeasureHeights {
                    from_mm: survey.height_uncertainty_mm(),
                    steps: 0,
                })
                .into_iter()
                .collect(),
            Self::Readings => survey
                .map(|survey| Change::MeasureLight {
                    from: survey.light_uncertainty_relative(),
                    steps: 0,
                })
                .into_iter()
                .collect(),
            Self::Light => vec![Change::AddLight { lux: 0 }],
            Self::Level => stations
                .iter()
                .filter_map(|station| middle_height_mm(around, method, vehicle, station))
                .map(|to_mm| Change::Relevel { to_mm, most_mm: 0 })
                .collect(),
        }
    }
}

/// The bays that touch this one.
fn neighbours(around: &Around<'_>) -> Vec<Change> {
    let ours = FloorBounds::of(around.bay.outline());
    let next = around.bays.iter().filter(|one| {
        one.id() != around.bay.id()
            && ours.apart_mm(&FloorBounds::of(one.outline())) <= crate::region::TOUCH_MM
    });
    next.map(|one| Change::KeepNeighbourEmpty { bay: one.id().clone() }).collect()
}

/// The height in the middle between the lowest and the highest point surveyed in the level zones at a
/// station: the one that moves the floor least; none without a point there.
fn middle_height_mm(
    around: &Around<'_>,
    method: &Method,
    vehicle: &VehicleClass,
    station: &StationFindings,
) -> Option<f64> {
    let levels = method
        .zones()
        .iter()
        .filter(|zone| zone.needs().iter().any(|need| matches!(need, ZoneNeed::Level { .. })));
    let floors: Vec<_> = levels
        .filter_map(|zone| zone.shape_for(vehicle).ok())
        .map(|shape| shape.placed(&station.pose))
        .collect();
    let heights = around.survey?.heights().iter().filter(|point| {
        let at = PointFloor { x_mm: point.x_mm, y_mm: point.y_mm };
        floors.iter().any(|floor| floor.contains(at))
    });
    let (least, most) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), point| {
        (least.min(point.height_mm), most.max(point.height_mm))
    });
    // In tenths of a millimetre, as it is told.
    (least <= most).then(|| (f64::midpoint(least, most) * 10.0).round() / 10.0)
}
