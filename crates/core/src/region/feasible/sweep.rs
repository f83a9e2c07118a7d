//! A zone at every heading within a tolerance, as simple polygons that hold all of it.
//!
//! Turning around the vehicle's origin moves each point along an arc. The zone at all headings
//! h - d to h + d together is the zone at h - d and what its edges pass over. Cut at the point
//! nearest to the origin, an edge is a piece along which the distance from the origin only grows;
//! in polar coordinates such a piece is a graph over the distance, and what it passes over is bounded
//! by the piece at h - d, the piece at h + d, and the arcs of its two ends: nothing else. Each such
//! patch is replaced by a polygon that holds it: the outer arc by tangents, the inner one by chords.
//! Hence the result holds the zone at every heading of the tolerance (it is never too small), and
//! reaches beyond that by r (1 / cos(d / n) - 1) at most, with n tangents to an arc of radius r; n is
//! the least number that keeps this within [`SWEEP_EXCESS_MM_MAX`].
//!
//! A hole that the zone closes around itself while turning is filled, which again is too large and
//! never too small.

use super::grid::{Ring, ring_of};
use crate::axes::{OffsetVehicle, PointFloor, PoseFloor};
use crate::region::Polygon;
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;

/// The farthest that the polygons reach beyond the zone at every heading of a tolerance, mm.
pub const SWEEP_EXCESS_MM_MAX: f64 = 0.5;

/// The zone at a heading and up to `tolerance_deg` to either side; counter-clockwise rings.
///
/// `straight` turns to the middle heading, around the origin.
pub(super) fn swept(zone: &Polygon, straight: &PoseFloor, tolerance_deg: f64) -> Vec<Ring> {
    let turned = turned(zone, straight);
    if tolerance_deg <= 0.0 {
        return vec![ring_of(&turned)];
    }
    let tolerance = tolerance_deg.to_radians();
    let reach = turned.vertices().iter().map(|vertex| radius(*vertex)).fold(0.0, f64::max);
    let arc = Arc::new(tolerance, reach);
    let mut overlay = Overlay::new(16 * turned.vertices().len());
    let right_most = Polygon::from_simple(
        turned.vertices().iter().map(|vertex| rotated(*vertex, -tolerance)).collect(),
    );
    overlay.add_contour(&ring_of(&right_most), ShapeType::Subject);
    for edge in turned.edges() {
        for (from, to) in growing_pieces(edge.from, edge.to) {
            let patch = Polygon::from_simple(arc.patch(from, to));
            overlay.add_contour(&ring_of(&patch), ShapeType::Subject);
        }
    }
    let shapes = overlay.overlay(OverlayRule::Subject, FillRule::NonZero);
    // The first contour of a shape bounds it; the others are holes, and filled.
    shapes.into_iter().filter_map(|shape| shape.into_iter().next()).collect()
}

/// A zone turned around the origin and put on the floor.
fn turned(zone: &Polygon, straight: &PoseFloor) -> Polygon {
    let place = |vertex: &PointFloor| {
        straight.to_floor(OffsetVehicle { x_mm: vertex.x_mm, y_mm: vertex.y_mm })
    };
    Polygon::from_simple(zone.vertices().iter().map(place).collect())
}

/// An edge in pieces, each from its nearer end to its farther one.
fn growing_pieces(from: PointFloor, to: PointFloor) -> Vec<(PointFloor, PointFloor)> {
    let (along_x, along_y) = (to.x_mm - from.x_mm, to.y_mm - from.y_mm);
    let length_squared = along_x * along_x + along_y * along_y;
    let share = -(from.x_mm * along_x + from.y_mm * along_y) / length_squared;
    if share > 0.0 && share < 1.0 {
        let nearest =
            PointFloor { x_mm: from.x_mm + share * along_x, y_mm: from.y_mm + share * along_y };
        vec![(nearest, from), (nearest, to)]
    } else if share <= 0.0 {
        vec![(from, to)]
    } else {
        vec![(to, from)]
    }
}

/// How arcs of the tolerance are replaced by tangents and chords.
struct Arc {
    tolerance: f64,
    tangents: u32,
}

impl Arc {
    fn new(tolerance: f64, reach_mm: f64) -> Self {
        let mut tangents = 1;
        // At the greatest tolerance and reach that are taken it is below a hundred.
        while tangents < 1_000
            && reach_mm * (1.0 / (tolerance / f64::from(tangents)).cos() - 1.0)
                > SWEEP_EXCESS_MM_MAX
        {
            tangents += 1;
        }
        Self { tolerance, tangents }
    }

    /// A polygon that holds what a piece passes over, which runs away from the origin.
    fn patch(&self, near: PointFloor, far: PointFloor) -> Vec<PointFloor> {
        let half = self.tolerance / f64::from(self.tangents);
        let apex = PointFloor { x_mm: far.x_mm / half.cos(), y_mm: far.y_mm / half.cos() };
        let angle = |halves: u32| f64::from(halves) * half - self.tolerance;
        let mut outline = vec![rotated(near, -self.tolerance), rotated(far, -self.tolerance)];
        outline.extend((0..self.tangents).map(|at| rotated(apex, angle(2 * at + 1))));
        outline.push(rotated(far, self.tolerance));
        outline.extend((1..=self.tangents).rev().map(|at| rotated(near, angle(2 * at))));
        outline
    }
}

fn rotated(point: PointFloor, angle: f64) -> PointFloor {
    let (sin, cos) = angle.sin_cos();
    PointFloor {
        x_mm: cos * point.x_mm - sin * point.y_mm,
        y_mm: sin * point.x_mm + cos * point.y_mm,
    }
}

fn radius(point: PointFloor) -> f64 {
    point.x_mm.hypot(point.y_mm)
}
