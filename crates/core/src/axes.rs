//! Floor axes and vehicle axes, and the way from one to the other.
//!
//! Floor axes: millimetres, x right and y up the drawing, z up from the survey's datum. Vehicle
//! axes: x forward, y left, z up, origin on the floor under the middle of the front axle. The
//! heading turns counter-clockwise from floor +x to vehicle +x.
//!
//! # Source
//! Directions of the vehicle axes: ISO 8855, Road vehicles - Vehicle dynamics and road-holding
//! ability - Vocabulary. The place of the origin is our own choice.

use crate::fault::{FaultList, Faults};
use std::fmt;

/// The farthest that a point of a floor lies from its origin along an axis, millimetres.
pub const FLOOR_COORDINATE_MM_MAX: f64 = 200_000.0;

/// A point of the floor, in floor axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointFloor {
    /// To the right of the drawing, millimetres.
    pub x_mm: f64,
    /// Up the drawing, millimetres.
    pub y_mm: f64,
}

/// A point fixed to the vehicle, in vehicle axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OffsetVehicle {
    /// Forward of the front axle, millimetres.
    pub x_mm: f64,
    /// To the left of the centreline, millimetres.
    pub y_mm: f64,
}

/// A pose as it was given, not yet checked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PoseFloorDraft {
    /// Floor x of the point under the middle of the front axle, millimetres.
    pub x_mm: f64,
    /// Floor y of the point under the middle of the front axle, millimetres.
    pub y_mm: f64,
    /// Degrees counter-clockwise from floor +x to vehicle +x, from -360 to 360.
    pub heading_deg: f64,
}

/// Where a vehicle stands: the floor point under the middle of its front axle, and its heading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PoseFloor {
    x_mm: f64,
    y_mm: f64,
    heading_deg: f64,
}

impl PoseFloor {
    /// Checks and takes a pose; the heading is brought into `0..360`.
    ///
    /// # Errors
    /// A fault for each coordinate beyond [`FLOOR_COORDINATE_MM_MAX`] and for a heading outside
    /// -360 to 360 degrees; NaN and infinity are refused.
    pub fn new(draft: PoseFloorDraft) -> Result<Self, Faults> {
        let PoseFloorDraft { x_mm, y_mm, heading_deg } = draft;
        let mut faults = FaultList::new();
        let most = FLOOR_COORDINATE_MM_MAX;
        faults.number_within("x_mm", x_mm, -most, most, "mm");
        faults.number_within("y_mm", y_mm, -most, most, "mm");
        faults.number_within("heading_deg", heading_deg, -360.0, 360.0, "degrees");
        faults.finish(Self { x_mm, y_mm, heading_deg: whole_turn(heading_deg) })
    }

    /// Floor x of the point under the middle of the front axle, millimetres.
    pub fn x_mm(&self) -> f64 {
        self.x_mm
    }

    /// Floor y of the point under the middle of the front axle, millimetres.
    pub fn y_mm(&self) -> f64 {
        self.y_mm
    }

    /// Degrees counter-clockwise from floor +x to vehicle +x, in `0..360`.
    pub fn heading_deg(&self) -> f64 {
        self.heading_deg
    }

    /// The point of the floor on which the vehicle's origin stands.
    pub fn point_floor(&self) -> PointFloor {
        PointFloor { x_mm: self.x_mm, y_mm: self.y_mm }
    }

    /// Where a point fixed to the vehicle lies on the floor.
    ///
    /// # Example: one metre ahead of a vehicle that looks up the drawing
    /// ```
    /// use baywright_core::axes::{OffsetVehicle, PointFloor, PoseFloor, PoseFloorDraft};
    ///
    /// let draft = PoseFloorDraft { x_mm: 4_000.0, y_mm: 2_000.0, heading_deg: 90.0 };
    /// let ahead = PoseFloor::new(draft)?.to_floor(OffsetVehicle { x_mm: 1_000.0, y_mm: 0.0 });
    /// assert_eq!(ahead, PointFloor { x_mm: 4_000.0, y_mm: 3_000.0 });
    /// # Ok::<(), baywright_core::fault::Faults>(())
    /// ```
    ///
    /// # Edge cases
    /// Headings 0, 90, 180 and 270 turn exactly.
    pub fn to_floor(&self, offset_vehicle: OffsetVehicle) -> PointFloor {
        let (sin, cos) = sin_cos_exact(self.heading_deg);
        PointFloor {
            x_mm: self.x_mm + cos * offset_vehicle.x_mm - sin * offset_vehicle.y_mm,
            y_mm: self.y_mm + sin * offset_vehicle.x_mm + cos * offset_vehicle.y_mm,
        }
    }

    /// Where a point of the floor lies, seen from the vehicle: the way back of [`Self::to_floor`].
    pub fn to_vehicle(&self, point_floor: PointFloor) -> OffsetVehicle {
        let (sin, cos) = sin_cos_exact(self.heading_deg);
        let (x, y) = (point_floor.x_mm - self.x_mm, point_floor.y_mm - self.y_mm);
        OffsetVehicle { x_mm: cos * x + sin * y, y_mm: cos * y - sin * x }
    }
}

impl fmt::Display for PoseFloor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "x {:.0} mm, y {:.0} mm, heading {:.1} degrees",
            self.x_mm, self.y_mm, self.heading_deg
        )
    }
}

/// The same direction in `0..360`, degrees.
fn whole_turn(heading_deg: f64) -> f64 {
    let turned = heading_deg.rem_euclid(360.0);
    // A tiny negative number is rounded up to 360; minus zero is taken to zero.
    if turned >= 360.0 || turned == 0.0 { 0.0 } else { turned }
}

/// Sine and cosine, exact at the quarter turns where 64-bit radians are not.
#[expect(clippy::float_cmp, reason = "only the exact quarter turns are meant")]
fn sin_cos_exact(heading_deg: f64) -> (f64, f64) {
    let quarters = heading_deg / 90.0;
    if quarters == 0.0 {
        (0.0, 1.0)
    } else if quarters == 1.0 {
        (1.0, 0.0)
    } else if quarters == 2.0 {
        (0.0, -1.0)
    } else if quarters == 3.0 {
        (-1.0, 0.0)
    } else {
        heading_deg.to_radians().sin_cos()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    // Rotation of the plane: quarter turns exchange the axes and round nothing.
    #[case::nose_to_the_right(0.0, 10.3, 0.1)]
    #[case::nose_up(90.0, -0.1, 10.3)]
    #[case::nose_to_the_left(180.0, -10.3, -0.1)]
    #[case::nose_down(270.0, 0.1, -10.3)]
    #[case::nose_down_given_as_minus_ninety(-90.0, 0.1, -10.3)]
    #[case::a_whole_turn(360.0, 10.3, 0.1)]
    fn quarter_turns_are_exact(#[case] heading_deg: f64, #[case] x_mm: f64, #[case] y_mm: f64) {
        let pose = PoseFloor::new(PoseFloorDraft { x_mm: 0.0, y_mm: 0.0, heading_deg }).unwrap();
        let at = pose.to_floor(OffsetVehicle { x_mm: 10.3, y_mm: 0.1 });
        assert_eq!(at, PointFloor { x_mm, y_mm });
    }

    #[test]
    fn left_of_a_vehicle_that_looks_up_the_drawing_is_left_on_the_drawing() {
        let draft = PoseFloorDraft { x_mm: 5_000.0, y_mm: 3_000.0, heading_deg: 90.0 };
        let at =
            PoseFloor::new(draft).unwrap().to_floor(OffsetVehicle { x_mm: 1_000.0, y_mm: 800.0 });
        assert_eq!(at, PointFloor { x_mm: 4_200.0, y_mm: 4_000.0 });
    }

    #[test]
    fn a_pose_that_is_no_number_is_refused_with_every_field() {
        let draft = PoseFloorDraft { x_mm: f64::NAN, y_mm: f64::INFINITY, heading_deg: -360.5 };
        let faults = PoseFloor::new(draft).unwrap_err();
        let fields: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
        assert_eq!(fields, ["x_mm", "y_mm", "heading_deg"]);
    }
}
