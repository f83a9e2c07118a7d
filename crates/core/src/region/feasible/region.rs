//! The set of feasible positions: polygons with holes, what lies in them and how far from the edge.

use super::centre;
use super::grid::from_grid;
use crate::axes::PointFloor;
use crate::region::segment::{Segment, between};
use crate::region::{Polygon, TOUCH_MM};
use i_overlay::i_shape::int::shape::IntShapes;

/// A piece narrower than this (twice its area over its circumference) is no room, millimetres.
pub const PIECE_WIDTH_MM_MIN: f64 = TOUCH_MM;

/// The positions of the vehicle's origin at which every zone lies on free floor; floor axes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FeasibleRegion {
    pieces: Vec<RegionPiece>,
}

/// One piece of a region: everything inside of `outer` and outside of every hole, edges included.
#[derive(Debug, Clone, PartialEq)]
pub struct RegionPiece {
    outer: Polygon,
    holes: Vec<Polygon>,
}

impl FeasibleRegion {
    /// The pieces of a set operation that are wide enough, the largest first.
    pub(super) fn from_shapes(shapes: IntShapes<i64>) -> Self {
        let mut pieces: Vec<_> = shapes
            .into_iter()
            .filter_map(|shape| {
                let mut rings = shape
                    .into_iter()
                    .map(|ring| Polygon::from_simple(ring.into_iter().map(from_grid).collect()));
                Some(RegionPiece { outer: rings.next()?, holes: rings.collect() })
            })
            .filter(|piece| piece.width_mm() >= PIECE_WIDTH_MM_MIN)
            .collect();
        pieces.sort_by(|a, b| b.area_mm2().total_cmp(&a.area_mm2()));
        Self { pieces }
    }

    /// The pieces, the largest first; none when the vehicle fits nowhere.
    pub fn pieces(&self) -> &[RegionPiece] {
        &self.pieces
    }

    /// Whether there is no such position.
    pub fn is_empty(&self) -> bool {
        self.pieces.is_empty()
    }

    /// The area of all pieces, square millimetres.
    pub fn area_mm2(&self) -> f64 {
        self.pieces.iter().map(RegionPiece::area_mm2).sum()
    }

    /// Whether a position is feasible, the edge of the region (within [`TOUCH_MM`]) included.
    pub fn contains(&self, point: PointFloor) -> bool {
        self.pieces.iter().any(|piece| piece.contains(point))
    }

    /// How far a position lies inside of the region, millimetres: as far as the vehicle may be off
    /// in any direction, and the distance of the zone that is nearest to what it keeps clear of.
    /// Negative outside: how far the nearest feasible position is away. Infinitely negative when
    /// the region is empty.
    pub fn clearance_mm(&self, point: PointFloor) -> f64 {
        let edge = self.edges().map(|edge| edge.distance_to_point(point));
        let distance_mm = edge.fold(f64::INFINITY, f64::min);
        let inside = self.pieces.iter().any(|piece| piece.encloses(point));
        if inside { distance_mm } else { -distance_mm }
    }

    /// The feasible position nearest to a point: the point itself where it is feasible.
    pub fn nearest_to(&self, point: PointFloor) -> Option<PointFloor> {
        if self.pieces.iter().any(|piece| piece.encloses(point)) {
            return Some(point);
        }
        let nearest = |best: Option<PointFloor>, edge: Segment| {
            let at = edge.nearest_to_point(point);
            best.filter(|best| between(*best, point) <= between(at, point)).or(Some(at))
        };
        self.edges().fold(None, nearest)
    }

    /// The position with the largest clearance, to within [`CENTRE_PRECISION_MM`]; the same one for
    /// the same region. None when the region is empty.
    ///
    /// [`CENTRE_PRECISION_MM`]: super::CENTRE_PRECISION_MM
    pub fn most_central(&self) -> Option<PointFloor> {
        centre::most_central(self)
    }

    /// Every edge of every piece and hole.
    pub(super) fn edges(&self) -> impl Iterator<Item = Segment> + '_ {
        self.pieces.iter().flat_map(RegionPiece::edges)
    }
}

impl RegionPiece {
    /// What bounds the piece.
    pub fn outer(&self) -> &Polygon {
        &self.outer
    }

    /// What is left out of it.
    pub fn holes(&self) -> &[Polygon] {
        &self.holes
    }

    /// The area without the holes, square millimetres.
    pub fn area_mm2(&self) -> f64 {
        let holes_mm2: f64 = self.holes.iter().map(Polygon::area_mm2).sum();
        self.outer.area_mm2() - holes_mm2
    }

    /// Whether a point lies in the piece, its edges (within [`TOUCH_MM`]) included.
    pub fn contains(&self, point: PointFloor) -> bool {
        self.encloses(point) || self.edges().any(|edge| edge.distance_to_point(point) <= TOUCH_MM)
    }

    /// Twice the area over the circumference: the width of a long strip.
    fn width_mm(&self) -> f64 {
        let around_mm: f64 = self.edges().map(|edge| between(edge.from, edge.to)).sum();
        2.0 * self.area_mm2() / around_mm
    }

    pub(super) fn encloses(&self, point: PointFloor) -> bool {
        self.outer.encloses(point) && !self.holes.iter().any(|hole| hole.encloses(point))
    }

    pub(super) fn edges(&self) -> impl Iterator<Item = Segment> + '_ {
        std::iter::once(&self.outer).chain(&self.holes).flat_map(Polygon::edges)
    }
}
