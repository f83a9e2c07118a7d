//! The plane on which a vehicle stands: heights under its tyres, taken from a survey.
//!
//! The height under a tyre is that of the least-squares plane through the surveyed points around
//! it. Nothing is extrapolated: there must be points on all sides of the tyre.

use super::{HeightPoint, LevelPlane, Survey};
use crate::axes::{PointFloor, PoseFloor};
use crate::demand::VehicleClass;

/// Surveyed points this near to a tyre speak for the floor under it, millimetres; our own choice.
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
}

impl WheelPlane {
    /// The plane under a vehicle at a pose; none when the floor under a tyre was not surveyed.
    pub fn under(survey: &Survey, vehicle: &VehicleClass, pose: &PoseFloor) -> Option<Self> {
        let wheels = vehicle.wheels_vehicle();
        let mut heights_mm = [0.0; 4];
        let mut points = [[0.0; 3]; 4];
        for (at, wheel) in wheels.iter().enumerate() {
            let height_mm = height_under(survey.heights(), pose.to_floor(*wheel))?;
            heights_mm[at] = height_mm;
            points[at] = [wheel.x_mm, wheel.y_mm, height_mm];
        }
        let plane = LevelPlane::fit(&points).ok()?;
        Some(Self {
            heights_mm,
            along_deg: plane.slope_x_deg(),
            across_deg: plane.slope_y_deg(),
            twist_mm: plane.largest_residual_mm(),
        })
    }
}

fn height_under(heights: &[HeightPoint], tyre: PointFloor) -> Option<f64> {
    let near: Vec<_> = heights
        .iter()
        .map(|point| [point.x_mm - tyre.x_mm, point.y_mm - tyre.y_mm, point.height_mm])
        .filter(|[x, y, _]| x.hypot(*y) <= WHEEL_RADIUS_MM)
        .collect();
    if let Some([_, _, height_mm]) = near.iter().find(|[x, y, _]| x.hypot(*y) <= 1.0) {
        return Some(*height_mm);
    }
    if !surrounded(&near) {
        return None;
    }
    LevelPlane::fit(&near).ok().map(|plane| plane.height_mm_at(0.0, 0.0))
}

/// Whether points lie around the origin, so that no half of the plane is without one.
fn surrounded(points: &[[f64; 3]]) -> bool {
    let mut bearings: Vec<_> = points.iter().map(|[x, y, _]| y.atan2(*x)).collect();
    bearings.sort_by(f64::total_cmp);
    let (Some(first), Some(last)) = (bearings.first(), bearings.last()) else { return false };
    let closing = first + std::f64::consts::TAU - last;
    let widest = bearings.windows(2).map(|pair| pair[1] - pair[0]).fold(closing, f64::max);
    widest <= std::f64::consts::PI + 1e-9
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_height_under_a_tyre_is_never_extrapolated() {
        // Invented floor: 1 mm up for every 100 mm to the right.
        let grid = |x_mm: f64, y_mm: f64| HeightPoint { x_mm, y_mm, height_mm: x_mm / 100.0 };
        let points = [grid(0.0, 0.0), grid(800.0, 0.0), grid(0.0, 800.0), grid(800.0, 800.0)];

        let inside = height_under(&points, PointFloor { x_mm: 300.0, y_mm: 500.0 });
        let beside = height_under(&points, PointFloor { x_mm: 900.0, y_mm: 400.0 });

        assert!((inside.unwrap() - 3.0).abs() < 1e-9, "{inside:?}");
        assert_eq!(beside, None);
    }
}
