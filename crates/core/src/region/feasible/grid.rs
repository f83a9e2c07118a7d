//! The integer grid on which set operations run, so that every test of sides is exact.
//!
//! Coordinates are rounded once, when they are put on the grid; sums and differences of grid
//! points are grid points, so Minkowski sums round nothing.

use crate::axes::PointFloor;
use crate::region::Polygon;
use i_overlay::i_float::int::point::IntPoint;

/// Grid steps to a millimetre. A point is moved by at most half a step along each axis, which is
/// half a nanometre: far below what [`TOUCH_MM`](crate::region::TOUCH_MM) takes for one point.
pub(super) const STEPS_PER_MM: f64 = 1_048_576.0;

/// A point on the grid. The coordinates of a shop (at most 200 m, sums of two at most 600 m) stay
/// below 2^40 steps, far inside of the range of the set operations (2^62).
pub(super) type GridPoint = IntPoint<i64>;

/// A closed run of grid points; the last one leads back to the first.
pub(super) type Ring = Vec<GridPoint>;

/// The nearest grid point.
#[expect(clippy::cast_possible_truncation, reason = "rounded, and within 2^40 by construction")]
pub(super) fn to_grid(point: PointFloor) -> GridPoint {
    let steps = |mm: f64| (mm * STEPS_PER_MM).round() as i64;
    GridPoint::new(steps(point.x_mm), steps(point.y_mm))
}

/// The point in floor axes; exact.
#[expect(clippy::cast_precision_loss, reason = "grid coordinates are below 2^53")]
pub(super) fn from_grid(point: GridPoint) -> PointFloor {
    PointFloor { x_mm: point.x as f64 / STEPS_PER_MM, y_mm: point.y as f64 / STEPS_PER_MM }
}

/// A polygon on the grid, counter-clockwise.
pub(super) fn ring_of(polygon: &Polygon) -> Ring {
    let mut ring: Ring = polygon.vertices().iter().map(|vertex| to_grid(*vertex)).collect();
    if twice_signed_area(&ring) < 0 {
        ring.reverse();
    }
    ring
}

/// A ring turned by half a turn around the origin, which keeps its sense.
pub(super) fn reflected(ring: &[GridPoint]) -> Ring {
    ring.iter().map(|point| GridPoint::new(-point.x, -point.y)).collect()
}

/// The vector from one grid point to another.
pub(super) fn vector(from: GridPoint, to: GridPoint) -> GridPoint {
    GridPoint::new(to.x - from.x, to.y - from.y)
}

/// The signed area of the parallelogram that two vectors span; positive when `b` points to the left
/// of `a`.
pub(super) fn cross(a: GridPoint, b: GridPoint) -> i128 {
    i128::from(a.x) * i128::from(b.y) - i128::from(a.y) * i128::from(b.x)
}

/// Positive when two vectors point to the same side.
pub(super) fn dot(a: GridPoint, b: GridPoint) -> i128 {
    i128::from(a.x) * i128::from(b.x) + i128::from(a.y) * i128::from(b.y)
}

fn twice_signed_area(ring: &[GridPoint]) -> i128 {
    let Some(origin) = ring.first() else { return 0 };
    ring.windows(2).map(|pair| cross(vector(*origin, pair[0]), vector(*origin, pair[1]))).sum()
}

/// A rectangle along the axes, given by its least and greatest coordinates.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Bounds {
    pub(super) least: GridPoint,
    pub(super) most: GridPoint,
}

impl Bounds {
    /// The smallest rectangle around points; an empty one for none.
    pub(super) fn of(points: &[GridPoint]) -> Self {
        let none = Self {
            least: GridPoint::new(i64::MAX, i64::MAX),
            most: GridPoint::new(i64::MIN, i64::MIN),
        };
        points.iter().fold(none, |bounds, point| Self {
            least: GridPoint::new(bounds.least.x.min(point.x), bounds.least.y.min(point.y)),
            most: GridPoint::new(bounds.most.x.max(point.x), bounds.most.y.max(point.y)),
        })
    }

    /// The smallest rectangle around shapes.
    pub(super) fn of_shapes(shapes: &[Vec<Ring>]) -> Self {
        let bounds = shapes.iter().flatten().map(|ring| Self::of(ring));
        bounds.reduce(|a, b| a.around(&b)).unwrap_or_else(|| Self::of(&[]))
    }

    /// The smallest rectangle around two.
    fn around(&self, other: &Self) -> Self {
        Self::of(&[self.least, self.most, other.least, other.most])
    }

    /// Width and height together.
    pub(super) fn half_circumference(&self) -> i64 {
        self.most.x - self.least.x + self.most.y - self.least.y
    }

    /// Whether it has area.
    pub(super) fn has_area(&self) -> bool {
        self.least.x < self.most.x && self.least.y < self.most.y
    }

    /// What two rectangles have in common; without area when that is nothing.
    pub(super) fn common(&self, other: &Self) -> Self {
        Self {
            least: GridPoint::new(self.least.x.max(other.least.x), self.least.y.max(other.least.y)),
            most: GridPoint::new(self.most.x.min(other.most.x), self.most.y.min(other.most.y)),
        }
    }

    /// The bounds of the Minkowski sum of what two rectangles bound.
    pub(super) fn sum(&self, other: &Self) -> Self {
        Self {
            least: GridPoint::new(self.least.x + other.least.x, self.least.y + other.least.y),
            most: GridPoint::new(self.most.x + other.most.x, self.most.y + other.most.y),
        }
    }

    /// Whether the other rectangle lies in this one.
    pub(super) fn holds(&self, other: &Self) -> bool {
        self.common(other) == *other
    }

    /// Where the smaller rectangle may be moved to so that it stays inside of this one.
    pub(super) fn eroded_by(&self, zone: &Self) -> Self {
        Self {
            least: GridPoint::new(self.least.x - zone.least.x, self.least.y - zone.least.y),
            most: GridPoint::new(self.most.x - zone.most.x, self.most.y - zone.most.y),
        }
    }

    /// The corners, counter-clockwise from the least ones.
    pub(super) fn corners(&self) -> [GridPoint; 4] {
        let Self { least, most } = *self;
        [least, GridPoint::new(most.x, least.y), most, GridPoint::new(least.x, most.y)]
    }
}
