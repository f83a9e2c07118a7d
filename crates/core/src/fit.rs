//! Fit: can this method be done on this vehicle in this bay, and if not, why not.
//!
//! At a station of the bay the vehicle's own body must stand on clear floor, and every need of every
//! zone of the method must hold there; where no station will do and the bay allows it, at a pose of
//! its own. What cannot be decided from what was surveyed is
//! undecided and never planned; what can only be seen at the vehicle is confirmed there.
//!
//! Driving in is not modelled: a placement says that a vehicle can stand there, not that it can
//! get there. A planning aid: the vehicle maker's current procedure decides.

mod clear_floor;
mod compensation;
mod finding;
mod free;
mod level;
mod light;
mod margins;
mod miss;
mod placement;
mod room;
mod sentence;
mod sentence_survey;
mod site;
mod sun;
mod surroundings;
mod tape;
mod whole_bay;

pub use compensation::TargetHeight;
pub use finding::{Detail, Finding, NeedKind, Neighbour, Quantity, Unit, Verdict};
pub use free::{FREE_POSES_MAX, FreeHeading, FreePlacement, free_placements};
pub use level::{LEVEL_POINTS_MIN, LEVEL_SPACING_MM_DEFAULT};
pub use light::{LIGHT_READINGS_MIN, LIGHT_SPACING_MM_DEFAULT};
pub use margins::{Side, SideMargin};
pub use miss::{
    Around, Change, ChangeKind, FLOOR_GAIN_MM_MAX, LIGHT_ADDED_LUX_MAX, Miss, RELEVEL_MM_MAX,
    SunAsked, blinds_to_close, nearest_misses, sun_leaves_time,
};
pub use placement::{LENGTH_REFERENCE_MM, Placement, StationFindings, places_clash};
pub use room::{PoseRoom, Zoned, room_at, zones_at};
pub use sun::{SunAim, SunAnswer, SunHours, SunReach, asks_for_no_sun, sun_aims, sun_hours};
pub use tape::{TapeDistances, WALL_ANGLE_SINE_MIN};
pub use whole_bay::{FitAsked, fits_of_bay};

use crate::axes::PoseFloor;
use crate::demand::{Method, VehicleClass, WorkPlace, Zone, ZoneNeed, ZoneShape};
use crate::floor::{Bay, Station};
use crate::survey::{Survey, WheelPlane};
use chrono::NaiveDate;
use level::LevelAsked;
use site::Site;

/// Whether a method can be done on a vehicle in a bay.
#[derive(Debug, Clone, PartialEq)]
pub enum Fit {
    /// It can, at the placement with the most room.
    Fits(Box<Placement>),
    /// At no station; every station with every finding. Empty when the bay has no station.
    DoesNotFit(Vec<StationFindings>),
    /// At no station for certain, but what was surveyed does not rule it out at one or more;
    /// every station with every finding.
    Undecided(Vec<StationFindings>),
    /// The method is not done in a bay, so any bay is as good as none.
    NeedsNoBay,
}

/// Decides whether a method can be done on a vehicle in a bay on a day.
///
/// Among stations that fit, the one with the largest smallest margin is taken (see
/// [`Finding::margin_relative`]); among equals the one that the bay lists first. Where none fits and
/// the bay plans poses of their own ([`Placing`](crate::floor::Placing)), the best one found is judged
/// as if a station were painted there; its name holds its millimetres and degrees.
///
/// # Edge cases
/// A method that is not done in a bay gives [`Fit::NeedsNoBay`] at once. A survey of another bay
/// or one that does not count on the day is as good as none, and the findings say so.
pub fn fit(
    method: &Method,
    vehicle: &VehicleClass,
    bay: &Bay,
    survey: Option<&Survey>,
    on: NaiveDate,
) -> Fit {
    if method.place() != WorkPlace::Bay {
        return Fit::NeedsNoBay;
    }
    let site = Site { bay, survey, on };
    let mut stations: Vec<_> =
        bay.stations().iter().map(|station| at_station(method, vehicle, &site, station)).collect();
    let one_fits = stations.iter().any(|station| station.verdict().lets_work_start());
    if bay.placing().planned && !one_fits {
        stations.extend(free::best_as_station(method, vehicle, &site));
    }
    let mut best: Option<&StationFindings> = None;
    for station in stations.iter().filter(|station| station.verdict().lets_work_start()) {
        if best.is_none_or(|best| station.smallest_margin() > best.smallest_margin()) {
            best = Some(station);
        }
    }
    if let Some(best) = best {
        Fit::Fits(Box::new(placement_at(method, vehicle, &site, best)))
    } else if stations.iter().any(|station| station.verdict() == Verdict::Undecided) {
        Fit::Undecided(stations)
    } else {
        Fit::DoesNotFit(stations)
    }
}

fn at_station(
    method: &Method,
    vehicle: &VehicleClass,
    site: &Site<'_>,
    station: &Station,
) -> StationFindings {
    let findings = findings_at(method, vehicle, site, &station.pose);
    StationFindings { station: station.id.clone(), pose: station.pose, findings }
}

/// Every finding at one pose: the body first, then the zones in their order.
fn findings_at(
    method: &Method,
    vehicle: &VehicleClass,
    site: &Site<'_>,
    pose: &PoseFloor,
) -> Vec<Finding> {
    let body = ZoneShape::of_body(vehicle).placed(pose);
    let mut findings = clear_floor::body(site, &body, vehicle.height_mm());
    for zone in method.zones() {
        match zone.shape_for(vehicle) {
            Ok(shape) => {
                let zone_floor = shape.placed(pose);
                for need in zone.needs() {
                    let mut found = site.judge(need, &zone_floor);
                    if let ZoneNeed::Level { slope_max_deg, residual_max_mm, terms } = *need {
                        let asked = LevelAsked { slope_max_deg, residual_max_mm, terms };
                        let standing = (vehicle, pose);
                        found =
                            compensation::allowed_for(site, standing, &asked, &zone_floor, found);
                    }
                    findings.extend(found.into_iter().map(|finding| finding.of_zone(zone.id())));
                }
            }
            Err(faults) => {
                let without_shape = faults.into_list().into_iter().map(Finding::zone_without_shape);
                findings.extend(without_shape.map(|finding| finding.of_zone(zone.id())));
            }
        }
    }
    findings.extend(surroundings::no_sun_in_views(site, method));
    findings
}

fn placement_at(
    method: &Method,
    vehicle: &VehicleClass,
    site: &Site<'_>,
    found: &StationFindings,
) -> Placement {
    let is_clear = |need: &ZoneNeed| matches!(need, ZoneNeed::ClearFloor { .. });
    let is_level = |need: &ZoneNeed| matches!(need, ZoneNeed::Level { .. });
    let clear_zones = method.zones().iter().filter(|zone| zone.needs().iter().any(is_clear));
    let shapes = clear_zones.filter_map(|zone| zone.shape_for(vehicle).ok());
    let footprint = std::iter::once(ZoneShape::of_body(vehicle))
        .chain(shapes)
        .map(|shape| shape.placed(&found.pose))
        .collect();
    let level_zones = || method.zones().iter().filter(|zone| zone.needs().iter().any(is_level));
    let asks_level = level_zones().next().is_some();
    let target = |zone: &Zone| {
        let zone_floor = zone.shape_for(vehicle).ok()?.placed(&found.pose);
        compensation::target_height(site, (vehicle, &found.pose), zone.id(), &zone_floor)
    };
    let survey = site.survey_that_counts().ok().filter(|_| asks_level);
    Placement {
        bay: site.bay.id().clone(),
        station: found.station.clone(),
        pose: found.pose,
        findings: found.findings.clone(),
        footprint,
        targets: level_zones().filter_map(target).collect(),
        wheel_plane: survey.and_then(|survey| WheelPlane::under(survey, vehicle, &found.pose)),
    }
}

#[cfg(test)]
pub(crate) mod example;
#[cfg(test)]
mod properties;
#[cfg(test)]
mod tests;
