//! The part of the sky from which the sun reaches a target through one opening.

use super::angle::Azimuth;
use super::cone::{Sides, directions_to};
use super::horizon::HorizonProfile;
use super::opening::Opening;
use super::site::Site;
use super::sun::{REFRACTION_FROM_DEG, refraction_deg};
use super::target::SunTarget;
use super::track::{SkyRegion, SunSeen};
use super::vector::{Vector, dot};
use std::f64::consts::FRAC_PI_2;

/// The directions, east, north and up, from which the sun reaches a target through an opening.
///
/// The sun is a point: its centre. It must stand above the horizontal (apparent elevation above 0),
/// on the outer side of the opening, above the skyline, inside of the target's field of view if it
/// has one, and inside of the cone from one convex part of the target to one of the opening.
#[derive(Debug)]
pub(super) struct Beam<'a> {
    /// True elevation above which the sun counts as risen, radians.
    rise_rad: f64,
    /// Normals that hold for every cone.
    common: Sides,
    cones: Vec<Sides>,
    horizon: Option<&'a HorizonProfile>,
}

impl<'a> Beam<'a> {
    /// The beam through an opening onto a target; none when no sun can ever take that way.
    pub(super) fn new(
        site: &Site,
        bearing: Azimuth,
        opening: &'a Opening,
        target: &SunTarget,
    ) -> Option<Self> {
        if !opening.lets_sun_in() {
            return None;
        }
        let bodies = target.bodies_behind(opening);
        let pairs = bodies.iter().flat_map(|(body, glass)| glass.iter().map(move |g| (g, body)));
        let turn = |sides: Sides| -> Sides {
            sides.into_iter().map(|side| to_sky(side, bearing)).collect()
        };
        let cones: Vec<Sides> =
            pairs.filter_map(|(glass, body)| directions_to(glass, body)).map(turn).collect();
        let common = target.sides().into_iter().chain([opening.outward()]).collect();
        (!cones.is_empty()).then(|| Self {
            rise_rad: rise_rad(site),
            common: turn(common),
            cones,
            horizon: opening.parts().horizon.as_ref(),
        })
    }
}

impl SkyRegion for Beam<'_> {
    fn holds_within(&self, sun: &SunSeen, radius_rad: f64) -> Option<bool> {
        let risen = beyond(sun.elevation_true_rad - self.rise_rad, radius_rad);
        let common = if risen == Some(false) {
            risen
        } else {
            both(risen, before_all(&self.common, sun.apparent, radius_rad))
        };
        if common == Some(false) {
            return common;
        }
        let mut reached = Some(false);
        for cone in &self.cones {
            match before_all(cone, sun.apparent, radius_rad) {
                Some(true) => {
                    reached = Some(true);
                    break;
                }
                None => reached = None,
                Some(false) => {}
            }
        }
        let reached = both(common, reached);
        match (self.horizon, reached) {
            (None, _) | (_, Some(false)) => reached,
            (Some(skyline), _) => both(reached, above(skyline, sun.apparent, radius_rad)),
        }
    }
}

/// Whether a value that changes by at most `radius` keeps its sign.
pub(super) fn beyond(value: f64, radius: f64) -> Option<bool> {
    if value > radius {
        Some(true)
    } else if value < -radius || radius == 0.0 {
        Some(false)
    } else {
        None
    }
}

fn both(a: Option<bool>, b: Option<bool>) -> Option<bool> {
    match (a, b) {
        (Some(false), _) | (_, Some(false)) => Some(false),
        (Some(true), Some(true)) => Some(true),
        (None, _) | (_, None) => None,
    }
}

/// Whether a cap lies before all of some planes. A unit vector's product with a unit normal changes
/// by at most the angle through which it turns.
fn before_all(sides: &Sides, towards: Vector, radius_rad: f64) -> Option<bool> {
    let mut whole = Some(true);
    for side in sides {
        match beyond(dot(*side, towards), radius_rad) {
            Some(true) => {}
            Some(false) => return Some(false),
            None => whole = None,
        }
    }
    whole
}

/// Whether a cap lies above a skyline.
fn above(skyline: &HorizonProfile, [east, north, up]: Vector, radius_rad: f64) -> Option<bool> {
    let elevation = up.clamp(-1.0, 1.0).asin();
    // Napier's rule: a cap of radius r at elevation h spans asin(sin r / cos h) of azimuth to
    // either side; all of it when it holds the zenith.
    let reach = if elevation + radius_rad >= FRAC_PI_2 {
        std::f64::consts::PI
    } else {
        (radius_rad.sin() / elevation.cos()).min(1.0).asin()
    };
    let (low, high) = skyline.range_rad(east.atan2(north), reach);
    if elevation - radius_rad > high {
        Some(true)
    } else if elevation + radius_rad < low || radius_rad == 0.0 {
        Some(false)
    } else {
        None
    }
}

/// A direction in floor axes as east, north, up.
fn to_sky([x, y, z]: Vector, bearing: Azimuth) -> Vector {
    let (sin, cos) = bearing.radians().sin_cos();
    [x * cos + y * sin, y * cos - x * sin, z]
}

/// The true elevation above which the apparent one is above zero, radians.
fn rise_rad(site: &Site) -> f64 {
    let apparent = |elevation_deg: f64| elevation_deg + refraction_deg(site, elevation_deg);
    let (mut below, mut above) = (REFRACTION_FROM_DEG, 0.0);
    if apparent(below) >= 0.0 {
        return below.to_radians();
    }
    // The apparent elevation rises with the true one; fifty halvings leave nothing.
    for _ in 0..50 {
        let middle = f64::midpoint(below, above);
        if apparent(middle) > 0.0 {
            above = middle;
        } else {
            below = middle;
        }
    }
    above.to_radians()
}
