//! When the sun lets a method run at a pose: for each zone and view that must stay free of it,
//! through each daylight opening of the bay.
//!
//! It binds the run only, not set-up and tear-down. Nothing but the openings' own walls and skylines
//! casts shadows here, so the sun is rather told too often; blinds and doors are assumed to stand
//! as they are written down, and the assumption goes with the answer.

use crate::axes::PoseFloor;
use crate::calendar::{Window, WindowSet};
use crate::daylight::{Assumption, Azimuth, SunTarget, SunTrack, Sunlight};
use crate::demand::{Method, VehicleClass, ZoneNeed};
use crate::floor::Bay;
use crate::ids::DaylightOpeningId;

/// The least height of a zone that the sun is followed into, millimetres.
const UP_TO_MM_MIN: f64 = 1.0;

/// Something that must stay free of direct sun.
#[derive(Debug, Clone, PartialEq)]
pub struct SunAim {
    /// What it is called: `zone target`, `view front-camera`.
    pub name: String,
    /// Where it is.
    pub target: SunTarget,
}

/// What is known of the sun at a pose during a period.
#[derive(Debug, Clone, PartialEq)]
pub enum SunAnswer {
    /// The method does not ask for freedom from sun.
    NotAsked,
    /// The bay has no daylight opening.
    NoOpening,
    /// These openings are not drawn, so the sun is confirmed at the vehicle.
    NotDrawn(Vec<DaylightOpeningId>),
    /// The shop's position is not stated, so the sun is confirmed at the vehicle.
    NoPosition,
    /// Computed.
    Computed(SunHours),
}

/// When direct sun reaches what must stay free of it.
#[derive(Debug, Clone, PartialEq)]
pub struct SunHours {
    /// The period looked at.
    pub period: Window,
    /// When it reaches nothing, to the second.
    pub sun_free: WindowSet,
    /// What it reaches, through which opening and when.
    pub reached: Vec<SunReach>,
    /// What was assumed of blinds and doors.
    pub assumptions: Vec<Assumption>,
}

/// When the sun reaches one thing through one opening.
#[derive(Debug, Clone, PartialEq)]
pub struct SunReach {
    /// The opening.
    pub opening: DaylightOpeningId,
    /// The zone or view, as [`SunAim::name`].
    pub aim: String,
    /// When; never empty.
    pub windows: WindowSet,
}

/// Whether a method asks for freedom from sun at all.
pub fn asks_for_no_sun(method: &Method) -> bool {
    let no_sun = |need: &ZoneNeed| matches!(need, ZoneNeed::NoDirectSun { .. });
    !method.sun().views.is_empty()
        || method.zones().iter().any(|zone| zone.needs().iter().any(no_sun))
}

/// Everything that a method keeps free of direct sun when the vehicle stands at a pose.
///
/// # Edge cases
/// A zone that has no shape for the vehicle gives none: the fit refuses it anyway.
pub fn sun_aims(method: &Method, vehicle: &VehicleClass, pose: &PoseFloor) -> Vec<SunAim> {
    let mut aims = Vec::new();
    for zone in method.zones() {
        let Ok(shape) = zone.shape_for(vehicle) else { continue };
        for need in zone.needs() {
            let ZoneNeed::NoDirectSun { up_to_mm } = need else { continue };
            let target = SunTarget::volume(&shape.placed(pose), up_to_mm.max(UP_TO_MM_MIN));
            let name = format!("zone {}", zone.id());
            aims.extend(target.ok().map(|target| SunAim { name, target }));
        }
    }
    for view in &method.sun().views {
        let target = SunTarget::sensor(view.placed(vehicle, pose));
        let name = format!("view {}", view.id);
        aims.extend(target.ok().map(|target| SunAim { name, target }));
    }
    aims
}

/// The sun during the period of `track` for a method on a vehicle that stands in a bay at a pose.
///
/// `track` is none where the shop's position is not stated; `bearing` is that of the floor.
pub fn sun_hours(
    track: Option<&SunTrack>,
    bearing: Azimuth,
    (method, vehicle): (&Method, &VehicleClass),
    (bay, pose): (&Bay, &PoseFloor),
) -> SunAnswer {
    if !asks_for_no_sun(method) {
        return SunAnswer::NotAsked;
    }
    if bay.daylight_openings().is_empty() {
        return SunAnswer::NoOpening;
    }
    let undrawn: Vec<_> = bay.undrawn_openings().cloned().collect();
    if !undrawn.is_empty() {
        return SunAnswer::NotDrawn(undrawn);
    }
    let Some(track) = track else { return SunAnswer::NoPosition };
    let aims = sun_aims(method, vehicle, pose);
    let targets: Vec<_> = aims.iter().map(|aim| aim.target.clone()).collect();
    let sunlight = Sunlight::new(track, bearing, bay.sun_openings(), &targets);
    let reached = sunlight.through().iter().filter_map(|one| {
        let aim = aims.get(one.target)?.name.clone();
        Some(SunReach { opening: one.opening.clone(), aim, windows: one.windows.clone() })
    });
    SunAnswer::Computed(SunHours {
        period: track.period(),
        sun_free: sunlight.sun_free(),
        reached: reached.collect(),
        assumptions: sunlight.assumptions().to_vec(),
    })
}

#[cfg(test)]
mod tests;
