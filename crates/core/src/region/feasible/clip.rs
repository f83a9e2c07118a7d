//! Cutting rings down to a rectangle, with the winding inside of it kept.
//!
//! What lies beyond a side is moved onto it (Sutherland and Hodgman), which changes the winding
//! number of no point inside. Set operations then need not look at what cannot matter.

use super::grid::{Bounds, GridPoint, Ring};

/// The ring cut down to the rectangle; empty when nothing of it is left.
pub(super) fn clipped(ring: Ring, bounds: &Bounds) -> Ring {
    let around = Bounds::of(&ring);
    if bounds.holds(&around) {
        return ring;
    }
    let Bounds { least, most } = *bounds;
    let mut ring = ring;
    for (cuts, side) in [
        (around.least.x < least.x, Side { vertical: true, at: least.x, keep_above: true }),
        (around.most.x > most.x, Side { vertical: true, at: most.x, keep_above: false }),
        (around.least.y < least.y, Side { vertical: false, at: least.y, keep_above: true }),
        (around.most.y > most.y, Side { vertical: false, at: most.y, keep_above: false }),
    ] {
        if cuts {
            ring = side.cut(&ring);
        }
    }
    ring
}

/// A side of the rectangle.
struct Side {
    vertical: bool,
    at: i64,
    keep_above: bool,
}

impl Side {
    fn cut(&self, ring: &[GridPoint]) -> Ring {
        let mut kept = Ring::with_capacity(ring.len() + 4);
        let Some(mut before) = ring.last().copied() else { return kept };
        for point in ring.iter().copied() {
            if self.keeps(before) != self.keeps(point) {
                kept.push(self.crossing(before, point));
            }
            if self.keeps(point) {
                kept.push(point);
            }
            before = point;
        }
        kept
    }

    fn keeps(&self, point: GridPoint) -> bool {
        let across = if self.vertical { point.x } else { point.y };
        if self.keep_above { across >= self.at } else { across <= self.at }
    }

    /// Where an edge with an end on either side crosses, to the nearest grid point.
    fn crossing(&self, from: GridPoint, to: GridPoint) -> GridPoint {
        let between = |a: i64, b: i64, c: i64, d: i64| {
            // The share of the edge up to the side, (at - a) / (b - a), of the way from c to d.
            let numerator = i128::from(self.at - a) * i128::from(d - c);
            let denominator = i128::from(b - a);
            let doubled = 2 * numerator + denominator;
            let nearest = doubled.div_euclid(2 * denominator);
            c + i64::try_from(nearest).unwrap_or(0)
        };
        if self.vertical {
            GridPoint::new(self.at, between(from.x, to.x, from.y, to.y))
        } else {
            GridPoint::new(between(from.y, to.y, from.x, to.x), self.at)
        }
    }
}
