//! What the sun must not reach: a zone at a height, a zone as a volume, or a sensor's field of view.

use super::cone::{Body, Sides};
use super::convex::{clipped, convex_parts};
use super::opening::{Opening, Surface};
use super::vector::Vector;
use crate::axes::{FLOOR_COORDINATE_MM_MAX, PointFloor};
use crate::fault::{Fault, FaultList, Faults};
use crate::floor::HEIGHT_MM_MAX;
use crate::region::Polygon;

/// The largest half-angle of a field of view, degrees: beyond it a flat-sided view no longer exists.
pub const HALF_ANGLE_DEG_MAX: f64 = 89.0;
/// The least half-angle of a field of view, degrees.
pub const HALF_ANGLE_DEG_MIN: f64 = 0.01;

/// Something that the sun must not reach.
#[derive(Debug, Clone, PartialEq)]
pub struct SunTarget(Shape);

#[derive(Debug, Clone, PartialEq)]
enum Shape {
    Level { parts: Vec<Vec<PointFloor>>, height_mm: f64 },
    Volume { parts: Vec<Vec<PointFloor>>, up_to_mm: f64 },
    Sensor(SensorView),
}

/// A sensor's field of view: a pyramid about its axis.
///
/// It is bounded by four planes through the apex, at the half-angles left and right of the axis and
/// above and below it. A wider view is stated as several with turned axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SensorView {
    /// Floor x of the apex, millimetres.
    pub x_mm: f64,
    /// Floor y of the apex, millimetres.
    pub y_mm: f64,
    /// Height of the apex above the floor, millimetres.
    pub height_mm: f64,
    /// Degrees counter-clockwise from floor +x to the axis, -360 to 360.
    pub heading_deg: f64,
    /// Degrees by which the axis points above the horizontal, -90 to 90.
    pub pitch_deg: f64,
    /// Degrees from the axis to either side.
    pub half_angle_horizontal_deg: f64,
    /// Degrees from the axis up and down.
    pub half_angle_vertical_deg: f64,
}

impl SunTarget {
    /// A zone at one height: reached when the beam's cross-section at that height shares an area
    /// with it. Only glass above the height counts.
    ///
    /// # Errors
    /// A fault of `height_mm` outside of 0 to [`HEIGHT_MM_MAX`].
    pub fn level(outline: &Polygon, height_mm: f64) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        faults.number_within("height_mm", height_mm, 0.0, HEIGHT_MM_MAX, "mm");
        faults.finish(Self(Shape::Level { parts: convex_parts(outline), height_mm }))
    }

    /// A sun-free zone: everything from the floor up to a height. Reached when the beam enters it
    /// anywhere.
    ///
    /// # Errors
    /// A fault of `up_to_mm` unless it is at least 1 and at most [`HEIGHT_MM_MAX`].
    pub fn volume(outline: &Polygon, up_to_mm: f64) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        faults.number_within("up_to_mm", up_to_mm, 1.0, HEIGHT_MM_MAX, "mm");
        faults.finish(Self(Shape::Volume { parts: convex_parts(outline), up_to_mm }))
    }

    /// A sensor: reached when it sees the sun within its field of view.
    ///
    /// # Errors
    /// A fault for each coordinate and angle that is no number within the limits of [`SensorView`],
    /// the half-angles from [`HALF_ANGLE_DEG_MIN`] to [`HALF_ANGLE_DEG_MAX`].
    pub fn sensor(view: SensorView) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        let most = FLOOR_COORDINATE_MM_MAX;
        faults.number_within("x_mm", view.x_mm, -most, most, "mm");
        faults.number_within("y_mm", view.y_mm, -most, most, "mm");
        faults.number_within("height_mm", view.height_mm, 0.0, HEIGHT_MM_MAX, "mm");
        faults.number_within("heading_deg", view.heading_deg, -360.0, 360.0, "degrees");
        faults.number_within("pitch_deg", view.pitch_deg, -90.0, 90.0, "degrees");
        for (field, half_angle_deg) in [
            ("half_angle_horizontal_deg", view.half_angle_horizontal_deg),
            ("half_angle_vertical_deg", view.half_angle_vertical_deg),
        ] {
            if !(HALF_ANGLE_DEG_MIN..=HALF_ANGLE_DEG_MAX).contains(&half_angle_deg) {
                faults.push(Fault::new(
                    field,
                    half_angle_deg,
                    format!(
                        "be a number from {HALF_ANGLE_DEG_MIN} to {HALF_ANGLE_DEG_MAX} degrees"
                    ),
                    "give half of the angle, and a wider view as several with turned axes",
                ));
            }
        }
        faults.finish(Self(Shape::Sensor(view)))
    }

    /// The convex bodies on the inner side of an opening that light through it may reach, with
    /// the glass that counts for each.
    pub(super) fn bodies_behind(&self, opening: &Opening) -> Vec<(Body, Vec<Body>)> {
        match &self.0 {
            Shape::Level { parts, height_mm } => {
                let glass = opening.glass_above(*height_mm);
                let flat = |part: Vec<PointFloor>| {
                    let corners = part.iter().map(|at| [at.x_mm, at.y_mm, *height_mm]).collect();
                    (Body::flat(corners), glass.clone())
                };
                parts.iter().filter_map(|part| within(opening, part)).map(flat).collect()
            }
            Shape::Volume { parts, up_to_mm } => {
                let glass = opening.glass_above(0.0);
                let up_to_mm = match opening.surface() {
                    Surface::Wall { .. } => *up_to_mm,
                    Surface::Roof { height_mm, .. } => up_to_mm.min(*height_mm),
                };
                let deep = |part: Vec<PointFloor>| (prism(&part, up_to_mm), glass.clone());
                parts.iter().filter_map(|part| within(opening, part)).map(deep).collect()
            }
            Shape::Sensor(view) if is_behind(opening, view) => {
                let apex = Body::point([view.x_mm, view.y_mm, view.height_mm]);
                vec![(apex, opening.glass_above(0.0))]
            }
            Shape::Sensor(_) => Vec::new(),
        }
    }

    /// The sides of a field of view, floor axes; none for a zone.
    pub(super) fn sides(&self) -> Sides {
        match &self.0 {
            Shape::Level { .. } | Shape::Volume { .. } => Vec::new(),
            Shape::Sensor(view) => view.sides(),
        }
    }
}

impl SensorView {
    /// The inward normals of the four planes that bound it.
    fn sides(&self) -> Sides {
        let (sin_heading, cos_heading) = self.heading_deg.to_radians().sin_cos();
        let (sin_pitch, cos_pitch) = self.pitch_deg.to_radians().sin_cos();
        let axis = [cos_pitch * cos_heading, cos_pitch * sin_heading, sin_pitch];
        let left = [-sin_heading, cos_heading, 0.0];
        let up = [-sin_pitch * cos_heading, -sin_pitch * sin_heading, cos_pitch];
        let mut sides = Vec::with_capacity(4);
        for (across, half_angle_deg) in
            [(left, self.half_angle_horizontal_deg), (up, self.half_angle_vertical_deg)]
        {
            let (sin, cos) = half_angle_deg.to_radians().sin_cos();
            for sign in [cos, -cos] {
                sides.push(std::array::from_fn(|at| sin * axis[at] + sign * across[at]));
            }
        }
        sides
    }
}

/// What of a part lies on the inner side of the opening's wall.
fn within(opening: &Opening, part: &[PointFloor]) -> Option<Vec<PointFloor>> {
    let inner = match opening.surface() {
        Surface::Wall { base: [from, _], outward, .. } => {
            clipped(part, *outward, outward.0 * from.x_mm + outward.1 * from.y_mm)
        }
        Surface::Roof { .. } => part.to_vec(),
    };
    (!inner.is_empty()).then_some(inner)
}

fn is_behind(opening: &Opening, view: &SensorView) -> bool {
    match opening.surface() {
        Surface::Wall { base: [from, _], outward, .. } => {
            outward.0 * (view.x_mm - from.x_mm) + outward.1 * (view.y_mm - from.y_mm) < 0.0
        }
        Surface::Roof { height_mm, .. } => view.height_mm < *height_mm,
    }
}

/// The upright body over a convex outline, from the floor up to a height.
fn prism(outline: &[PointFloor], up_to_mm: f64) -> Body {
    let ring = |z: f64| outline.iter().map(move |at| -> Vector { [at.x_mm, at.y_mm, z] });
    let count = outline.len();
    let next = |at: usize| (at + 1) % count;
    let edges = (0..count)
        .flat_map(|at| [(at, next(at)), (at + count, next(at) + count), (at, at + count)]);
    Body { corners: ring(0.0).chain(ring(up_to_mm)).collect(), edges: edges.collect() }
}
