//! What lies outside of a floor but inside of the rectangle around it: its pockets.
//!
//! A zone that stays in the rectangle lies on the floor exactly when it meets no pocket. Unlike the
//! whole outside, which goes around the floor, a pocket has no hole.

use super::grid::{Bounds, GridPoint, Ring};

/// The pockets of a counter-clockwise ring, each counter-clockwise.
pub(super) fn pockets(floor: &[GridPoint]) -> Vec<Ring> {
    let bounds = Bounds::of(floor);
    let count = floor.len();
    let touching: Vec<usize> =
        (0..count).filter(|at| perimeter_place(&bounds, floor[*at]).is_some()).collect();
    let mut found = Vec::new();
    for (at, start) in touching.iter().copied().enumerate() {
        let end = touching[(at + 1) % touching.len()];
        let (from, to) = (floor[start], floor[end]);
        let inner = (end + count - start - 1) % count;
        let corners = corners_between(&bounds, from, to);
        // An edge along the rectangle leaves nothing outside of it.
        if inner > 0 || !corners.is_empty() || !on_one_side(&bounds, from, to) {
            let mut ring = vec![from];
            ring.extend(corners);
            ring.push(to);
            ring.extend((0..inner).map(|back| floor[(end + count - 1 - back) % count]));
            found.push(ring);
        }
    }
    found
}

/// How far around the rectangle a point on its edge lies, as side (from 0, the lower one,
/// counter-clockwise) and distance along it; none for a point off the edge.
fn perimeter_place(bounds: &Bounds, point: GridPoint) -> Option<(usize, i64)> {
    let Bounds { least, most } = *bounds;
    if point.y == least.y && point.x < most.x {
        Some((0, point.x - least.x))
    } else if point.x == most.x && point.y < most.y {
        Some((1, point.y - least.y))
    } else if point.y == most.y && point.x > least.x {
        Some((2, most.x - point.x))
    } else if point.x == least.x {
        Some((3, most.y - point.y))
    } else {
        None
    }
}

/// The corners of the rectangle that are passed on the way around it from one point of its edge to
/// another, counter-clockwise, without those at the ends.
fn corners_between(bounds: &Bounds, from: GridPoint, to: GridPoint) -> Vec<GridPoint> {
    let (Some(start), Some(end)) = (perimeter_place(bounds, from), perimeter_place(bounds, to))
    else {
        return Vec::new();
    };
    let corners = bounds.corners();
    let mut passed = Vec::new();
    let mut side = start.0;
    // The way leads over the next corner until the end lies ahead on the same side.
    while side % 4 != end.0 || (side == start.0 && end.1 <= start.1) {
        side += 1;
        let corner = corners[side % 4];
        if corner != to {
            passed.push(corner);
        }
    }
    passed
}

fn on_one_side(bounds: &Bounds, from: GridPoint, to: GridPoint) -> bool {
    let Bounds { least, most } = *bounds;
    let along = |a: i64, b: i64, sides: [i64; 2]| a == b && sides.contains(&a);
    along(from.x, to.x, [least.x, most.x]) || along(from.y, to.y, [least.y, most.y])
}
