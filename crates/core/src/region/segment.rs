//! Straight edges: the distance between them and whether they cross.

use super::TOUCH_MM;
use crate::axes::PointFloor;

/// A straight edge from one point to another.
#[derive(Debug, Clone, Copy)]
pub(super) struct Segment {
    pub(super) from: PointFloor,
    pub(super) to: PointFloor,
}

/// Twice the signed area of a triangle: positive when `c` lies left of the way from `a` to `b`.
pub(crate) fn turn(a: PointFloor, b: PointFloor, c: PointFloor) -> f64 {
    (b.x_mm - a.x_mm) * (c.y_mm - a.y_mm) - (b.y_mm - a.y_mm) * (c.x_mm - a.x_mm)
}

/// The distance between two points, millimetres.
pub(crate) fn between(a: PointFloor, b: PointFloor) -> f64 {
    // Floors are far too small for the squares to overflow, and `hypot` takes several times as long.
    ((b.x_mm - a.x_mm).powi(2) + (b.y_mm - a.y_mm).powi(2)).sqrt()
}

impl Segment {
    /// Whether a point is near enough to the upright rectangle around the edge to touch the edge;
    /// most are not, and need no closer look.
    pub(super) fn may_touch(&self, point: PointFloor) -> bool {
        const NEAR_MM: f64 = 2.0 * TOUCH_MM;
        let beside = |a: f64, b: f64, at: f64| at < a.min(b) - NEAR_MM || at > a.max(b) + NEAR_MM;
        !beside(self.from.x_mm, self.to.x_mm, point.x_mm)
            && !beside(self.from.y_mm, self.to.y_mm, point.y_mm)
    }

    /// The smallest distance from a point to the edge, millimetres.
    pub(super) fn distance_to_point(&self, point: PointFloor) -> f64 {
        between(self.nearest_to_point(point), point)
    }

    /// The square of that distance: enough to compare, and quicker.
    pub(super) fn distance_squared_to_point(&self, point: PointFloor) -> f64 {
        let nearest = self.nearest_to_point(point);
        (nearest.x_mm - point.x_mm).powi(2) + (nearest.y_mm - point.y_mm).powi(2)
    }

    /// The point of the edge that is nearest to a point.
    pub(super) fn nearest_to_point(&self, point: PointFloor) -> PointFloor {
        let along_x = self.to.x_mm - self.from.x_mm;
        let along_y = self.to.y_mm - self.from.y_mm;
        let length_squared = along_x * along_x + along_y * along_y;
        if length_squared == 0.0 {
            return self.from;
        }
        let share = ((point.x_mm - self.from.x_mm) * along_x
            + (point.y_mm - self.from.y_mm) * along_y)
            / length_squared;
        let share = share.clamp(0.0, 1.0);
        PointFloor {
            x_mm: self.from.x_mm + share * along_x,
            y_mm: self.from.y_mm + share * along_y,
        }
    }

    /// Whether the two edges pass through each other, each with an end on either side of the other.
    pub(super) fn crosses(&self, other: &Self) -> bool {
        let opposite = |a: f64, b: f64| (a > 0.0 && b < 0.0) || (a < 0.0 && b > 0.0);
        opposite(turn(self.from, self.to, other.from), turn(self.from, self.to, other.to))
            && opposite(turn(other.from, other.to, self.from), turn(other.from, other.to, self.to))
    }

    /// The smallest distance between two edges, millimetres; zero when they cross.
    pub(super) fn distance_to(&self, other: &Self) -> f64 {
        if self.crosses(other) {
            return 0.0;
        }
        // Edges that do not cross are nearest to each other at an end of one of them.
        self.distance_to_point(other.from)
            .min(self.distance_to_point(other.to))
            .min(other.distance_to_point(self.from))
            .min(other.distance_to_point(self.to))
    }
}
