//! The position of a region that lies farthest from its edge.
//!
//! Squares are split into four and searched best first; a square whose middle has clearance c and
//! whose half diagonal is h holds no position with more than c + h, so that what cannot win is left
//! aside. The order of squares depends on nothing but the region.

use super::FeasibleRegion;
use super::region::RegionPiece;
use crate::axes::PointFloor;
use crate::region::segment::Segment;
use std::collections::BinaryHeap;

/// How much more clearance another position may have, millimetres.
pub const CENTRE_PRECISION_MM: f64 = 1.0;

/// The most squares that are looked at, so that a long sliver at a slant ends; the best position
/// found by then is taken, and it lies in the region.
const SQUARES_MAX: usize = 20_000;
/// The most edges that are looked at for all squares together, so that a region of very many edges ends
/// too; a thousand squares are always looked at.
const EDGES_LOOKED_AT_MAX: usize = 50_000_000;

/// A square that may hold the position.
struct Square {
    most_mm: f64,
    middle: PointFloor,
    half_mm: f64,
}

/// The position with the largest clearance.
pub(super) fn most_central(region: &FeasibleRegion) -> Option<PointFloor> {
    let edges: Vec<_> = region.edges().collect();
    let mut best: Option<(f64, PointFloor)> = None;
    let mut squares = BinaryHeap::new();
    for piece in region.pieces() {
        let consider = |best: &mut Option<(f64, PointFloor)>, point| {
            let clearance_mm = clearance_mm(region, &edges, point);
            if best.is_none_or(|(most_mm, _)| clearance_mm > most_mm) {
                *best = Some((clearance_mm, point));
            }
            clearance_mm
        };
        if let Some(inside) = point_inside(piece) {
            let _clearance = consider(&mut best, inside);
        }
        squares.extend(squares_over(piece).into_iter().map(|(middle, half_mm)| Square {
            most_mm: consider(&mut best, middle) + half_mm * std::f64::consts::SQRT_2,
            middle,
            half_mm,
        }));
    }
    let squares_max = SQUARES_MAX.min((EDGES_LOOKED_AT_MAX / edges.len().max(1)).max(1_000));
    let mut looked_at = 0;
    while let Some(square) = squares.pop() {
        let (most_mm, _) = best?;
        if square.most_mm <= most_mm + CENTRE_PRECISION_MM || looked_at >= squares_max {
            break;
        }
        let half_mm = square.half_mm / 2.0;
        for (x, y) in [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)] {
            let middle = PointFloor {
                x_mm: square.middle.x_mm + x * half_mm,
                y_mm: square.middle.y_mm + y * half_mm,
            };
            let clearance_mm = clearance_mm(region, &edges, middle);
            if best.is_none_or(|(most_mm, _)| clearance_mm > most_mm) {
                best = Some((clearance_mm, middle));
            }
            let most_mm = clearance_mm + half_mm * std::f64::consts::SQRT_2;
            squares.push(Square { most_mm, middle, half_mm });
            looked_at += 1;
        }
    }
    best.map(|(_, point)| point)
}

fn clearance_mm(region: &FeasibleRegion, edges: &[Segment], point: PointFloor) -> f64 {
    let squared = edges.iter().map(|edge| edge.distance_squared_to_point(point));
    let distance_mm = squared.fold(f64::INFINITY, f64::min).sqrt();
    let inside = region.pieces().iter().any(|piece| piece.encloses(point));
    if inside { distance_mm } else { -distance_mm }
}

/// Squares that cover a piece, as middles and half sides.
fn squares_over(piece: &RegionPiece) -> Vec<(PointFloor, f64)> {
    let vertices = piece.outer().vertices();
    let range = |of: fn(&PointFloor) -> f64| {
        vertices.iter().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), value| {
            (least.min(value), most.max(value))
        })
    };
    let ((x_least, x_most), (y_least, y_most)) = (range(|at| at.x_mm), range(|at| at.y_mm));
    let longer_mm = (x_most - x_least).max(y_most - y_least);
    // A narrow piece along an axis starts with squares of its width, as far as they are few.
    let side_mm = (x_most - x_least).min(y_most - y_least).max(longer_mm / 64.0);
    let mut squares = Vec::new();
    let mut y_mm = y_least;
    while y_mm < y_most {
        let mut x_mm = x_least;
        while x_mm < x_most {
            let middle = PointFloor { x_mm: x_mm + side_mm / 2.0, y_mm: y_mm + side_mm / 2.0 };
            squares.push((middle, side_mm / 2.0));
            x_mm += side_mm;
        }
        y_mm += side_mm;
    }
    squares
}

/// A point inside of a piece: on a level line that passes between its vertices, in the middle of the
/// widest stretch inside.
fn point_inside(piece: &RegionPiece) -> Option<PointFloor> {
    let mut levels: Vec<_> = piece.outer().vertices().iter().map(|vertex| vertex.y_mm).collect();
    levels.sort_by(f64::total_cmp);
    let widest_gap = levels
        .windows(2)
        .map(|pair| (pair[1] - pair[0], f64::midpoint(pair[0], pair[1])))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    let (_, y_mm) = widest_gap?;
    let mut crossings: Vec<_> = piece
        .edges()
        .filter(|edge| (edge.from.y_mm > y_mm) != (edge.to.y_mm > y_mm))
        .map(|Segment { from, to }| {
            from.x_mm + (to.x_mm - from.x_mm) * (y_mm - from.y_mm) / (to.y_mm - from.y_mm)
        })
        .collect();
    crossings.sort_by(f64::total_cmp);
    let stretches = crossings.chunks_exact(2);
    let widest = stretches.max_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])))?;
    Some(PointFloor { x_mm: f64::midpoint(widest[0], widest[1]), y_mm })
}

impl PartialEq for Square {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Square {}

impl PartialOrd for Square {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Square {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.most_mm
            .total_cmp(&other.most_mm)
            .then(self.middle.x_mm.total_cmp(&other.middle.x_mm))
            .then(self.middle.y_mm.total_cmp(&other.middle.y_mm))
    }
}
