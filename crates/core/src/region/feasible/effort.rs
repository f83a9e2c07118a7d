//! How much there is to sum up before a region is known, so that a hostile drawing is refused and never
//! computed for minutes.
//!
//! Where both outlines turn one way only, their sum has as many edges as both together. Each corner that
//! turns inwards adds a turn through which edges of the other outline may run, forwards and backwards:
//! n edges and r such corners against m edges and s of them give at most n (1 + 2 s) + m (1 + 2 r). The
//! set operation takes longest where all of them cross.

use super::HeadingRange;
use super::grid::{GridPoint, cross, ring_of, vector};
use super::sweep::swept;
use crate::region::Polygon;

/// The most edges of sums in one region. 70 combs of ten teeth over each other, against another comb,
/// have about as many (`cargo bench -p baywright-core --bench feasible`).
pub const SUM_EDGES_MAX: usize = 250_000;

/// The corners of one outline or of several.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct CornerCount {
    outlines: usize,
    corners: usize,
    inward: usize,
}

impl CornerCount {
    /// The corners of an outline.
    pub fn of(outline: &Polygon) -> Self {
        Self::of_ring(&ring_of(outline))
    }

    /// The corners of what lies outside of an outline, within its rectangle: at each corner the other
    /// side, and those of the rectangle.
    pub fn outside_of(outline: &Polygon) -> Self {
        let Self { outlines, corners, inward } = Self::of(outline);
        Self { outlines, corners: corners + 4, inward: corners - inward }
    }

    /// The corners of a zone at every heading of a range: of the polygons that take its place, one by one.
    pub fn of_swept(zone: &Polygon, headings: HeadingRange) -> Vec<Self> {
        let rings = swept(zone, &headings.straight, headings.tolerance_deg);
        rings.iter().map(|ring| Self::of_ring(ring)).collect()
    }

    /// The corners of a counter-clockwise ring.
    pub(super) fn of_ring(ring: &[GridPoint]) -> Self {
        let count = ring.len();
        let edge = |at: usize| vector(ring[at % count], ring[(at + 1) % count]);
        let inward = (0..count).filter(|at| cross(edge(*at), edge(at + 1)) < 0).count();
        Self { outlines: 1, corners: count, inward }
    }

    /// These and others.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            outlines: self.outlines + other.outlines,
            corners: self.corners + other.corners,
            inward: self.inward + other.inward,
        }
    }

    /// At most how many edges the sums of one outline with each of several have.
    pub fn sum_edges(self, solids: Self) -> usize {
        let theirs = solids.corners.saturating_mul(1 + 2 * self.inward);
        let ours = self.corners.saturating_mul(solids.outlines + 2 * solids.inward);
        theirs.saturating_add(ours)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    const SQUARE: &[(f64, f64)] = &[(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0)];
    /// One corner turns inwards.
    const ANGLE: &[(f64, f64)] =
        &[(0.0, 0.0), (9.0, 0.0), (9.0, 4.0), (4.0, 4.0), (4.0, 9.0), (0.0, 9.0)];

    #[rstest]
    // Two convex outlines: the edges of both.
    #[case::squares(SQUARE, SQUARE, 8)]
    // 6 edges once, 4 edges once and twice more at the corner that turns inwards.
    #[case::an_angle_and_a_square(ANGLE, SQUARE, 6 + 3 * 4)]
    #[case::two_angles(ANGLE, ANGLE, 2 * 3 * 6)]
    fn the_edges_of_a_sum_are_counted_from_above(
        #[case] one: &[(f64, f64)],
        #[case] other: &[(f64, f64)],
        #[case] expected: usize,
    ) {
        let count = |outline: &[(f64, f64)]| CornerCount::of(&Polygon::new(outline).unwrap());
        assert_eq!(count(one).sum_edges(count(other)), expected);
        assert_eq!(count(other).sum_edges(count(one)), expected);
        let rings = [one, other].map(|outline| ring_of(&Polygon::new(outline).unwrap()));
        let sums = super::super::convolution(&rings[0], &rings[1]);
        assert!(sums.iter().map(Vec::len).sum::<usize>() <= expected);
        let (twice, single) = (count(other).and(count(other)), count(other));
        assert_eq!(count(one).sum_edges(twice), 2 * count(one).sum_edges(single));
    }
}
