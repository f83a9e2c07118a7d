//! Placements away from the stations: at each heading of the bay the exact region of poses with
//! enough room, and in it a pose at which every other need holds too.
//!
//! A station that fits is preferred ([`fit`](super::fit)); this is asked when none does, or to see
//! how much room there is. Where the bay says so ([`Placing`](crate::floor::Placing)), work is planned
//! at such a pose too. Space (body, clear floor, metal) is decided exactly for every position.
//! Level, light and the rest are judged at a bounded number of poses: the most central one, whose
//! smallest margin of length is the largest of all, and those nearest to the stations. Driving in
//! is not modelled.

use super::margins::{SideMargin, side_margins};
use super::site::Site;
use super::tape::{TapeDistances, tape_distances};
use super::{Finding, StationFindings, Verdict, findings_at};
use crate::axes::{PointFloor, PoseFloor, PoseFloorDraft};
use crate::demand::{Method, VehicleClass, WorkPlace, ZoneNeed, ZoneShape};
use crate::fault::Faults;
use crate::floor::{Bay, Obstruction};
use crate::ids::StationId;
use crate::region::{FeasibleRegion, HeadingRange, ZoneToPlace, feasible};
use crate::survey::Survey;
use chrono::NaiveDate;

/// The most poses at one heading at which the needs beside space are judged.
pub const FREE_POSES_MAX: usize = 9;

/// The room for a method and a vehicle at one heading.
#[derive(Debug, Clone, PartialEq)]
pub struct FreeHeading {
    /// Degrees counter-clockwise from floor +x to vehicle +x: one of the bay's headings.
    pub heading_deg: f64,
    /// To either side; every zone has room at every heading within it.
    pub tolerance_deg: f64,
    /// Where the vehicle's origin may stand as far as space is concerned.
    pub region: FeasibleRegion,
    /// Of the poses tried the best one; none when there is no room.
    pub best: Option<FreePlacement>,
}

/// A pose with enough room, and what was found there.
#[derive(Debug, Clone, PartialEq)]
pub struct FreePlacement {
    /// Where the vehicle stands.
    pub pose: PoseFloor,
    /// What was found: the body first, then the zones in their order.
    pub findings: Vec<Finding>,
    /// How far body and zones are from what limits them, side by side.
    pub margins: Vec<SideMargin>,
    /// From which walls a person measures the pose; none when no two walls serve.
    pub tape: Option<TapeDistances>,
}

impl FreePlacement {
    /// The verdict that outweighs the others.
    pub fn verdict(&self) -> Verdict {
        verdict(&self.findings)
    }
}

/// The room at each heading of a bay ([`Bay::headings_deg`]), in the bay's order, and the best pose
/// found in it: the one with the best verdict, among equals the largest smallest margin.
///
/// # Errors
/// The faults of a tolerance outside of 0 to
/// [`HEADING_TOLERANCE_DEG_MAX`](crate::region::HEADING_TOLERANCE_DEG_MAX).
///
/// # Edge cases
/// Empty for a method that is not done in a bay and for a bay that has neither stations nor headings. A ceiling that is too low and a zone without a shape for this vehicle leave no room.
pub fn free_placements(
    method: &Method,
    vehicle: &VehicleClass,
    bay: &Bay,
    survey: Option<&Survey>,
    (on, tolerance_deg): (NaiveDate, f64),
) -> Result<Vec<FreeHeading>, Faults> {
    let mut found: Vec<FreeHeading> = Vec::new();
    if method.place() != WorkPlace::Bay {
        return Ok(found);
    }
    let site = Site { bay, survey, on };
    for heading_deg in bay.headings_deg() {
        let headings = HeadingRange::new(heading_deg, tolerance_deg)?;
        let region = match zones_to_place(method, vehicle, &site) {
            Some(zones) => feasible(bay.outline(), &zones, headings)?,
            None => FeasibleRegion::default(),
        };
        let best = best_pose(method, vehicle, &site, &region, heading_deg);
        found.push(FreeHeading { heading_deg, tolerance_deg, region, best });
    }
    Ok(found)
}

/// The best of the poses tried at all headings of the bay, with the bay's own tolerance, as if a
/// station were painted there; none when there is no room at all.
pub(super) fn best_as_station(
    method: &Method,
    vehicle: &VehicleClass,
    site: &Site<'_>,
) -> Option<StationFindings> {
    let when = (site.on, site.bay.placing().tolerance_deg);
    let found = free_placements(method, vehicle, site.bay, site.survey, when).ok()?;
    let mut best: Option<FreePlacement> = None;
    for one in found.into_iter().filter_map(|heading| heading.best) {
        if best.as_ref().is_none_or(|held| is_better(&one.findings, &held.findings)) {
            best = Some(one);
        }
    }
    let FreePlacement { pose, findings, .. } = best?;
    Some(StationFindings { station: pose_name(&pose)?, pose, findings })
}

/// The name of a pose where no station is painted: its millimetres and degrees.
fn pose_name(pose: &PoseFloor) -> Option<StationId> {
    let (x, y, heading) = (pose.x_mm(), pose.y_mm(), pose.heading_deg());
    StationId::new(format!("free_{x:.0}_{y:.0}_{heading:.1}")).ok()
}

/// Body and zones that ask for room, with the obstructions that each keeps clear of; none when the
/// ceiling is too low or a zone has no shape.
fn zones_to_place<'a>(
    method: &Method,
    vehicle: &VehicleClass,
    site: &Site<'a>,
) -> Option<Vec<ZoneToPlace<'a>>> {
    let origin = PoseFloor::new(PoseFloorDraft { x_mm: 0.0, y_mm: 0.0, heading_deg: 0.0 }).ok()?;
    let mut rooms = vec![Room::clear(ZoneShape::of_body(vehicle), vehicle.height_mm())];
    for zone in method.zones() {
        let shape = zone.shape_for(vehicle).ok()?;
        for need in zone.needs() {
            match *need {
                ZoneNeed::ClearFloor { up_to_mm } => {
                    rooms.push(Room::clear(shape.clone(), up_to_mm));
                }
                ZoneNeed::NoMetal { up_to_mm } => {
                    rooms.push(Room { shape: shape.clone(), up_to_mm, metal_only: true });
                }
                ZoneNeed::Level { .. }
                | ZoneNeed::Light(_)
                | ZoneNeed::NoDirectSun { .. }
                | ZoneNeed::NothingMoving
                | ZoneNeed::PlainBackground => {}
            }
        }
    }
    let fits_under = |room: &Room| room.metal_only || room.up_to_mm <= site.bay.ceiling_mm();
    rooms.iter().all(fits_under).then(|| {
        rooms
            .into_iter()
            .map(|room| ZoneToPlace {
                outline_vehicle: room.shape.placed(&origin),
                stays_on_floor: !room.metal_only,
                clear_of: site
                    .obstructions_up_to(room.up_to_mm)
                    .filter(|one| one.metal() || !room.metal_only)
                    .map(Obstruction::outline)
                    .collect(),
            })
            .collect()
    })
}

/// What asks for room, and up to which height.
struct Room {
    shape: ZoneShape,
    up_to_mm: f64,
    metal_only: bool,
}

impl Room {
    fn clear(shape: ZoneShape, up_to_mm: f64) -> Self {
        Self { shape, up_to_mm, metal_only: false }
    }
}

fn best_pose(
    method: &Method,
    vehicle: &VehicleClass,
    site: &Site<'_>,
    region: &FeasibleRegion,
    heading_deg: f64,
) -> Option<FreePlacement> {
    let mut best: Option<(PoseFloor, Vec<Finding>)> = None;
    for at in candidates(site.bay, region) {
        let draft = PoseFloorDraft { x_mm: at.x_mm, y_mm: at.y_mm, heading_deg };
        let Ok(pose) = PoseFloor::new(draft) else { continue };
        let findings = findings_at(method, vehicle, site, &pose);
        if best.as_ref().is_none_or(|(_, held)| is_better(&findings, held)) {
            best = Some((pose, findings));
        }
    }
    let (pose, findings) = best?;
    let margins = side_margins(method, vehicle, site, &pose);
    let tape = tape_distances(vehicle, site, &pose);
    Some(FreePlacement { pose, findings, margins, tape })
}

/// Whether one list of findings has the better verdict, or the same one with more room.
fn is_better(ours: &[Finding], theirs: &[Finding]) -> bool {
    let (our, their) = (verdict(ours), verdict(theirs));
    our < their || (our == their && margin(ours) > margin(theirs))
}

/// The most central position, then those nearest to the stations, the nearest stations first; in
/// whole millimetres where that is still in the region, because a person sets them out.
fn candidates(bay: &Bay, region: &FeasibleRegion) -> Vec<PointFloor> {
    let mut near: Vec<_> = bay
        .stations()
        .iter()
        .filter_map(|station| {
            let from = station.pose.point_floor();
            let at = region.nearest_to(from)?;
            Some(((at.x_mm - from.x_mm).hypot(at.y_mm - from.y_mm), at))
        })
        .collect();
    near.sort_by(|a, b| a.0.total_cmp(&b.0));
    let near = near.into_iter().map(|(_, at)| at);
    let all = region.most_central().into_iter().chain(near).take(FREE_POSES_MAX);
    let whole = |at: PointFloor| PointFloor { x_mm: at.x_mm.round(), y_mm: at.y_mm.round() };
    all.map(|at| if region.contains(whole(at)) { whole(at) } else { at }).collect()
}

fn verdict(findings: &[Finding]) -> Verdict {
    findings.iter().map(|finding| finding.verdict).max().unwrap_or(Verdict::Conforms)
}

fn margin(findings: &[Finding]) -> f64 {
    findings.iter().filter_map(Finding::margin_relative).fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests;
