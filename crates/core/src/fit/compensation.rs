//! Targets on a floor that is not level: raised or lowered to the vehicle's own plane.
//!
//! Where the procedure's document allows it, a stand need not be on a level floor: it is set by as
//! many millimetres as the floor under it departs from the plane of the tyres, within its range.
//! One stand stands in such a zone, at the zone's middle. The slope of the floor under it is left to
//! the stand's own level; the residual stays limited.

use super::level::LevelAsked;
use super::site::Site;
use super::{Detail, Finding, NeedKind, Quantity, Verdict};
use crate::axes::{PointFloor, PoseFloor};
use crate::demand::VehicleClass;
use crate::ids::ZoneId;
use crate::region::Polygon;
use crate::survey::{Decision, HeightAboveVehicle, Limits, WheelPlane, decide};

/// The floor at a target, seen from the vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct TargetHeight {
    /// The level zone in whose middle the target stands.
    pub zone: ZoneId,
    /// The middle of the zone.
    pub at: PointFloor,
    /// How far its floor lies above the plane of the tyres, millimetres.
    pub floor_above_vehicle_mm: f64,
    /// Standard uncertainty of that, millimetres.
    pub uncertainty_mm: f64,
}

/// The findings about a level zone, with the compensation that its procedure allows.
pub(super) fn allowed_for(
    site: &Site<'_>,
    (vehicle, pose): (&VehicleClass, &PoseFloor),
    asked: &LevelAsked,
    zone_floor: &Polygon,
    mut findings: Vec<Finding>,
) -> Vec<Finding> {
    let Some(range_mm) = asked.terms.compensation_max_mm else { return findings };
    let is_open = |finding: &Finding| {
        let is_measured = finding.measured.is_some();
        finding.need == NeedKind::LevelSlope && is_measured && finding.verdict != Verdict::Conforms
    };
    let Some(slope) = findings.iter().position(is_open) else { return findings };
    let above = height_above(site, (vehicle, pose), zone_floor);
    let compensation = judge(asked, range_mm, above);
    let left_to_it = match compensation.verdict {
        Verdict::Conforms | Verdict::ConfirmAtStart => Some(Verdict::Conforms),
        Verdict::Undecided => Some(Verdict::Undecided),
        Verdict::DoesNotConform => None,
    };
    if let (Some(verdict), Some(finding)) = (left_to_it, findings.get_mut(slope)) {
        finding.verdict = verdict;
        finding.detail = Detail::LeftToCompensation;
        // The slope has no limit of its own any more; the compensation has.
        (finding.limit, finding.margin) = (None, None);
    }
    findings.insert(slope + 1, compensation);
    findings
}

fn judge(asked: &LevelAsked, range_mm: f64, above: Option<HeightAboveVehicle>) -> Finding {
    let need = NeedKind::TargetCompensation;
    let Some(above) = above else {
        let plain = Finding::plain(need, Verdict::Undecided, Detail::VehicleFloorNotSurveyed);
        return Finding { limit: Some(Quantity::mm(range_mm)), ..plain };
    };
    let raise_mm = -above.height_mm;
    let limits = Limits { lower: Some(-range_mm), upper: Some(range_mm) };
    let decision = decide(raise_mm, above.uncertainty_mm, limits, asked.probability());
    let found = match decision {
        // Somebody has to set the target, so it is asked at the vehicle.
        Decision::Conforms => (Verdict::ConfirmAtStart, Detail::Compensated { raise_mm }),
        Decision::DoesNotConform => (Verdict::DoesNotConform, Detail::BeyondStand { raise_mm }),
        Decision::Undecided { largest_u_that_decides } => {
            let largest_u_that_decides = Quantity::mm(largest_u_that_decides);
            (Verdict::Undecided, Detail::TooUncertain { largest_u_that_decides })
        }
    };
    let measured = Quantity::mm(raise_mm.abs());
    let limits = Limits::at_most(range_mm);
    Finding::decided(need, measured, above.uncertainty_mm, limits, found)
        .with_probability(asked.probability())
}

fn height_above(
    site: &Site<'_>,
    (vehicle, pose): (&VehicleClass, &PoseFloor),
    zone_floor: &Polygon,
) -> Option<HeightAboveVehicle> {
    let survey = site.survey_that_counts().ok()?;
    WheelPlane::height_above(survey, vehicle, pose, zone_floor.middle())
}

/// The floor in the middle of a level zone, seen from the vehicle; none where it was not surveyed.
pub(super) fn target_height(
    site: &Site<'_>,
    standing: (&VehicleClass, &PoseFloor),
    zone: &ZoneId,
    zone_floor: &Polygon,
) -> Option<TargetHeight> {
    let above = height_above(site, standing, zone_floor)?;
    Some(TargetHeight {
        zone: zone.clone(),
        at: zone_floor.middle(),
        floor_above_vehicle_mm: above.height_mm,
        uncertainty_mm: above.uncertainty_mm,
    })
}
