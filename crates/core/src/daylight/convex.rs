//! Convex parts of an outline, and the part of one that lies on one side of a line.

use crate::axes::PointFloor;
use crate::region::{Polygon, turn};

/// Parts thinner than this share of the square of their longest edge are no parts.
const FLAT: f64 = 1e-12;

/// Cuts a polygon into convex parts, each counter-clockwise. A convex one stays whole.
///
/// # Source
/// Ear clipping: G. H. Meisters, Polygons have ears, American Mathematical Monthly 82 (1975).
pub(super) fn convex_parts(polygon: &Polygon) -> Vec<Vec<PointFloor>> {
    let mut outline = polygon.vertices().to_vec();
    if signed_area_twice(&outline) < 0.0 {
        outline.reverse();
    }
    let mut parts = Vec::new();
    while outline.len() > 3 && !is_convex(&outline) {
        let ear = ear_of(&outline);
        let [before, at, after] = corner(&outline, ear);
        if turn(before, at, after) > 0.0 {
            parts.push(vec![before, at, after]);
        }
        let _cut = outline.remove(ear);
    }
    if signed_area_twice(&outline) > 0.0 {
        parts.push(outline);
    }
    parts
}

/// What of a convex outline lies where `normal . point <= bound`.
///
/// # Source
/// I. Sutherland, G. Hodgman, Reentrant polygon clipping, Communications of the ACM 17 (1974).
pub(super) fn clipped(outline: &[PointFloor], normal: (f64, f64), bound: f64) -> Vec<PointFloor> {
    let beyond = |point: PointFloor| normal.0 * point.x_mm + normal.1 * point.y_mm - bound;
    let mut kept = Vec::with_capacity(outline.len() + 1);
    for (from, to) in outline.iter().zip(outline.iter().cycle().skip(1)) {
        let (at_from, at_to) = (beyond(*from), beyond(*to));
        if at_from <= 0.0 {
            kept.push(*from);
        }
        if (at_from < 0.0 && at_to > 0.0) || (at_from > 0.0 && at_to < 0.0) {
            let share = at_from / (at_from - at_to);
            kept.push(PointFloor {
                x_mm: from.x_mm + share * (to.x_mm - from.x_mm),
                y_mm: from.y_mm + share * (to.y_mm - from.y_mm),
            });
        }
    }
    if signed_area_twice(&kept) > 0.0 { kept } else { Vec::new() }
}

/// Twice the area, positive counter-clockwise; counted from the first vertex.
fn signed_area_twice(outline: &[PointFloor]) -> f64 {
    let Some(origin) = outline.first() else { return 0.0 };
    outline.windows(2).map(|pair| turn(*origin, pair[0], pair[1])).sum()
}

/// A vertex between its neighbours.
fn corner(outline: &[PointFloor], at: usize) -> [PointFloor; 3] {
    let count = outline.len();
    [outline[(at + count - 1) % count], outline[at], outline[(at + 1) % count]]
}

fn is_convex(outline: &[PointFloor]) -> bool {
    (0..outline.len()).all(|at| {
        let [before, at, after] = corner(outline, at);
        let edge = (at.x_mm - before.x_mm).hypot(at.y_mm - before.y_mm)
            + (after.x_mm - at.x_mm).hypot(after.y_mm - at.y_mm);
        turn(before, at, after) >= -FLAT * edge * edge
    })
}

/// A vertex that can be cut off: a left turn with no other vertex in its triangle. A simple
/// polygon always has one; should rounding hide it, the sharpest left turn is taken.
fn ear_of(outline: &[PointFloor]) -> usize {
    let is_ear = |at: &usize| {
        let triangle @ [before, tip, after] = corner(outline, *at);
        let inside = |point: &PointFloor| {
            turn(before, tip, *point) >= 0.0
                && turn(tip, after, *point) >= 0.0
                && turn(after, before, *point) >= 0.0
        };
        turn(before, tip, after) > 0.0
            && !outline.iter().any(|point| !triangle.contains(point) && inside(point))
    };
    let sharpness = |at: &usize| {
        let [before, tip, after] = corner(outline, *at);
        turn(before, tip, after)
    };
    (0..outline.len())
        .find(is_ear)
        .or_else(|| (0..outline.len()).max_by(|a, b| sharpness(a).total_cmp(&sharpness(b))))
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    // Elementary plane geometry: at most two parts fewer than corners; area, square millimetres.
    #[case::square(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)], 1, 100.0)]
    #[case::square_clockwise(&[(0.0, 10.0), (10.0, 10.0), (10.0, 0.0), (0.0, 0.0)], 1, 100.0)]
    #[case::point_on_an_edge(
        &[(0.0, 0.0), (5.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)], 1, 100.0)]
    #[case::corner_missing(
        &[(0.0, 0.0), (10.0, 0.0), (10.0, 5.0), (5.0, 5.0), (5.0, 10.0), (0.0, 10.0)], 4, 75.0)]
    #[case::comb(
        &[(0.0, 0.0), (50.0, 0.0), (50.0, 30.0), (40.0, 30.0), (40.0, 10.0), (30.0, 10.0),
          (30.0, 30.0), (20.0, 30.0), (20.0, 10.0), (10.0, 10.0), (10.0, 30.0), (0.0, 30.0)],
        10, 1100.0)]
    fn an_outline_falls_into_convex_parts_of_the_same_area(
        #[case] outline: &[(f64, f64)],
        #[case] parts_max: usize,
        #[case] area_mm2: f64,
    ) {
        let parts = convex_parts(&Polygon::new(outline).unwrap());
        assert!(parts.len() <= parts_max, "{parts:?}");
        assert!(parts.iter().all(|part| is_convex(part)));
        let total: f64 = parts.iter().map(|part| signed_area_twice(part) / 2.0).sum();
        assert!((total - area_mm2).abs() < 1e-9, "{total}");
    }

    #[test]
    fn clipping_keeps_the_near_side() {
        let square = Polygon::new(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]).unwrap();
        let near = clipped(square.vertices(), (1.0, 0.0), 4.0);
        assert!((signed_area_twice(&near) / 2.0 - 40.0).abs() < 1e-9);
        assert!(clipped(square.vertices(), (1.0, 0.0), -1.0).is_empty());
    }
}
