//! The plane on which a vehicle stands: heights under its tyres, taken from a survey, and the
//! height of the floor elsewhere relative to it.
//!
//! The height under a tyre is that of the triangulated floor. Nothing is extrapolated: a tyre must
//! stand between surveyed points, and one of them must be near. Every result is a sum of surveyed
//! heights with factors, so its uncertainty follows from theirs, with what they share.
//!
//! # Source
//! Uncertainty: JCGM 100:2008, 5.1.2 and 5.2.2 (clause numbers from memory).

use super::{HeightErrors, LevelPlane, Shares, Survey, Term};
use crate::axes::{PointFloor, PoseFloor};
use crate::demand::VehicleClass;
use std::collections::BTreeMap;

/// A surveyed point must be this near to a tyre or a target to speak for the floor under it,
/// millimetres; our own choice.
pub const WHEEL_RADIUS_MM: f64 = 1_000.0;

/// The plane through the four points where the tyres touch, in vehicle axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WheelPlane {
    /// Heights under front left, front right, rear left and rear right, millimetres above the
    /// survey's datum.
    pub heights_mm: [f64; 4],
    /// Slope along the vehicle, positive when its front is higher, degrees.
    pub along_deg: f64,
    /// Slope across the vehicle, positive when its left is higher, degrees.
    pub across_deg: f64,
    /// The largest distance of a tyre from the plane, millimetres.
    pub twist_mm: f64,
    /// Standard uncertainty of the slope along the vehicle, degrees.
    pub along_u_deg: f64,
    /// Standard uncertainty of the slope across the vehicle, degrees.
    pub across_u_deg: f64,
}

/// How far the floor at a place lies above the vehicle's own plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeightAboveVehicle {
    /// Millimetres, negative below the plane.
    pub height_mm: f64,
    /// Its standard uncertainty, millimetres.
    pub uncertainty_mm: f64,
}

/// A vehicle on a surveyed floor.
struct Standing<'a> {
    survey: &'a Survey,
    errors: HeightErrors,
    wheels: [(PointFloor, Shares); 4],
    heights_mm: [f64; 4],
    plane: LevelPlane,
    /// What each wheel's height counts for the slopes along and across the vehicle.
    along: [f64; 4],
    across: [f64; 4],
}

impl WheelPlane {
    /// The plane under a vehicle at a pose; none when the floor under a tyre was not surveyed.
    pub fn under(survey: &Survey, vehicle: &VehicleClass, pose: &PoseFloor) -> Option<Self> {
        let standing = Standing::of(survey, vehicle, pose)?;
        let uncertain = |factors: &[f64; 4], deg: f64| {
            // d(atan s)/ds = cos^2 of the angle.
            let cos = deg.to_radians().cos();
            (standing.uncertainty(factors, None) * cos * cos).to_degrees()
        };
        let (along_deg, across_deg) = (standing.plane.slope_x_deg(), standing.plane.slope_y_deg());
        Some(Self {
            heights_mm: standing.heights_mm,
            along_deg,
            across_deg,
            twist_mm: standing.plane.largest_residual_mm(),
            along_u_deg: uncertain(&standing.along, along_deg),
            across_u_deg: uncertain(&standing.across, across_deg),
        })
    }

    /// How far the floor at a place lies above the plane of the tyres, which goes on beyond them;
    /// none where the floor at the place or under a tyre was not surveyed.
    pub fn height_above(
        survey: &Survey,
        vehicle: &VehicleClass,
        pose: &PoseFloor,
        place: PointFloor,
    ) -> Option<HeightAboveVehicle> {
        let standing = Standing::of(survey, vehicle, pose)?;
        let shares = shares_under(survey, place)?;
        let offset = pose.to_vehicle(place);
        let floor_mm = height_of(survey, &shares);
        let plane_mm = standing.plane.height_mm_at(offset.x_mm, offset.y_mm);
        // The plane's height there is the mean of the wheels and the two slopes away from it.
        let middle = standing.middle(pose);
        let (ahead, aside) = (offset.x_mm - middle.0, offset.y_mm - middle.1);
        let mut factors = [0.0; 4];
        for (at, factor) in factors.iter_mut().enumerate() {
            *factor = -(0.25 + ahead * standing.along[at] + aside * standing.across[at]);
        }
        Some(HeightAboveVehicle {
            height_mm: floor_mm - plane_mm,
            uncertainty_mm: standing.uncertainty(&factors, Some((place, &shares))),
        })
    }
}

impl<'a> Standing<'a> {
    fn of(survey: &'a Survey, vehicle: &VehicleClass, pose: &PoseFloor) -> Option<Self> {
        let offsets = vehicle.wheels_vehicle();
        let places = offsets.map(|offset| pose.to_floor(offset));
        let [fl, fr, rl, rr] = places.map(|place| Some((place, shares_under(survey, place)?)));
        let wheels = [fl?, fr?, rl?, rr?];
        let heights_mm = [0, 1, 2, 3].map(|at: usize| height_of(survey, &wheels[at].1));
        let points =
            [0, 1, 2, 3].map(|at: usize| [offsets[at].x_mm, offsets[at].y_mm, heights_mm[at]]);
        let plane = LevelPlane::fit(&points).ok()?;
        // Least squares through the corners of a rectangle: each wheel counts alike.
        let length: f64 = offsets[0].x_mm - offsets[2].x_mm;
        let width: f64 = offsets[0].y_mm - offsets[1].y_mm;
        let (a, c) = (0.5 / length, 0.5 / width);
        let errors = survey.height_errors();
        let (along, across) = ([a, a, -a, -a], [c, -c, c, -c]);
        Some(Self { survey, errors, wheels, heights_mm, plane, along, across })
    }

    /// The middle of the four wheels in vehicle axes.
    fn middle(&self, pose: &PoseFloor) -> (f64, f64) {
        let offsets = self.wheels.each_ref().map(|(place, _)| pose.to_vehicle(*place));
        (
            offsets.iter().map(|one| one.x_mm).sum::<f64>() / 4.0,
            offsets.iter().map(|one| one.y_mm).sum::<f64>() / 4.0,
        )
    }

    /// Uncertainty of the wheels' heights with factors, and of the floor at a place beside them.
    fn uncertainty(&self, factors: &[f64; 4], beside: Option<(PointFloor, &Shares)>) -> f64 {
        let mut by_node: BTreeMap<usize, f64> = BTreeMap::new();
        let wheels = self.wheels.iter().zip(factors).map(|((_, shares), factor)| (shares, *factor));
        for (shares, factor) in wheels.chain(beside.map(|(_, shares)| (shares, 1.0))) {
            for (node, share) in shares {
                *by_node.entry(*node).or_default() += factor * share;
            }
        }
        let term = |(node, factor): (usize, f64)| {
            let node = self.survey.floor().nodes().get(node)?;
            let (x_mm, y_mm) = (node.place.x_mm, node.place.y_mm);
            Some(Term { x_mm, y_mm, factor, readings: node.readings })
        };
        let terms: Vec<_> = by_node.into_iter().filter_map(term).collect();
        let (place, _) = self.wheels[0];
        self.errors.of_sum(&terms, (place.x_mm, place.y_mm))
    }
}

fn shares_under(survey: &Survey, place: PointFloor) -> Option<Shares> {
    let (_, distance_mm) = survey.floor().nearest_node(place)?;
    (distance_mm <= WHEEL_RADIUS_MM).then(|| survey.floor().shares_at(place))?
}

fn height_of(survey: &Survey, shares: &Shares) -> f64 {
    let height = |(node, share): &(usize, f64)| {
        survey.floor().nodes().get(*node).map(|node| node.value * share)
    };
    shares.iter().filter_map(height).sum()
}

#[cfg(test)]
mod tests;
