//! The directions in which light from an opening reaches a body: a cone with flat sides.
//!
//! From a point `z` of a convex body the sun is seen through a point `w` of a convex opening in the
//! direction `w - z`. All these differences together form a convex set, and their directions a convex
//! cone. Each of its sides is a plane that touches opening and body and has them on different
//! sides; so it runs through an edge of one of them and a corner of the other, which gives a finite
//! list of planes to try. A direction strictly inside of all sides reaches the body with a beam of
//! some width; one on a side only grazes it.

use super::vector::{Vector, cross, direction, dot, minus, scaled};
use crate::region::TOUCH_MM;

/// Directions nearer to each other than this span no plane, radians.
const SAME_DIRECTION_RAD: f64 = 1e-9;

/// A convex body, given by its corners and edges.
#[derive(Debug, Clone, Default)]
pub(super) struct Body {
    /// Corners in floor axes, millimetres.
    pub(super) corners: Vec<Vector>,
    /// Pairs of corners that an edge joins.
    pub(super) edges: Vec<(usize, usize)>,
}

impl Body {
    /// A flat body: corners in order around it.
    pub(super) fn flat(corners: Vec<Vector>) -> Self {
        let count = corners.len();
        let edges = (0..count).map(|at| (at, (at + 1) % count)).collect();
        Self { corners, edges }
    }

    /// A single point.
    pub(super) fn point(at: Vector) -> Self {
        Self { corners: vec![at], edges: Vec::new() }
    }
}

/// The inward normals of a cone's sides: a direction is inside when it lies before all of them.
pub(super) type Sides = Vec<Vector>;

/// The sides of the cone of directions from `body` to `opening`, unit vectors in floor axes; none
/// at all when the directions fill no solid angle.
pub(super) fn directions_to(opening: &Body, body: &Body) -> Option<Sides> {
    let mut sides: Sides = Vec::new();
    for (edged, cornered) in [(opening, body), (body, opening)] {
        for (from, to) in &edged.edges {
            let (from, to) = (edged.corners[*from], edged.corners[*to]);
            let Some(along) = direction(minus(to, from), TOUCH_MM) else { continue };
            for corner in &cornered.corners {
                let sight = direction(minus(from, *corner), TOUCH_MM);
                let normal =
                    sight.and_then(|sight| direction(cross(along, sight), SAME_DIRECTION_RAD));
                let Some(normal) = normal else { continue };
                for inward in [normal, scaled(normal, -1.0)] {
                    if parts_them(inward, *corner, opening, body) && !known(&sides, inward) {
                        sides.push(inward);
                    }
                }
            }
        }
    }
    let flat = sides.iter().any(|side| known(&sides, scaled(*side, -1.0)));
    (!sides.is_empty() && !flat).then_some(sides)
}

/// Whether a plane through a point has the opening before it and the body behind it, within
/// [`TOUCH_MM`].
fn parts_them(inward: Vector, through: Vector, opening: &Body, body: &Body) -> bool {
    let before = |corner: &Vector| dot(inward, minus(*corner, through)) >= -TOUCH_MM;
    let behind = |corner: &Vector| dot(inward, minus(*corner, through)) <= TOUCH_MM;
    opening.corners.iter().all(before) && body.corners.iter().all(behind)
}

fn known(sides: &[Vector], normal: Vector) -> bool {
    sides.iter().any(|side| dot(*side, normal) > 1.0 - 1e-15)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn window() -> Body {
        // A wall at y = 0, the body at y > 0: light comes from -y.
        Body::flat(vec![
            [1_000.0, 0.0, 1_000.0],
            [2_000.0, 0.0, 1_000.0],
            [2_000.0, 0.0, 2_000.0],
            [1_000.0, 0.0, 2_000.0],
        ])
    }

    fn inside(sides: &[Vector], towards: Vector) -> bool {
        sides.iter().all(|side| dot(*side, towards) > 0.0)
    }

    #[test]
    fn a_point_sees_the_sun_through_the_window_and_not_beside_it() {
        let sides = directions_to(&window(), &Body::point([1_500.0, 3_000.0, 0.0])).unwrap();
        assert_eq!(sides.len(), 4);
        assert!(inside(&sides, [0.0, -3_000.0, 1_500.0]));
        assert!(inside(&sides, [499.0, -3_000.0, 1_001.0]));
        assert!(!inside(&sides, [501.0, -3_000.0, 1_500.0]));
        assert!(!inside(&sides, [0.0, -3_000.0, 999.0]));
        assert!(!inside(&sides, [0.0, 3_000.0, -1_500.0]));
    }

    #[test]
    fn a_body_that_covers_the_window_is_reached_from_everywhere_outside() {
        let body = Body::flat(vec![
            [-5_000.0, 0.0, -5_000.0],
            [5_000.0, 0.0, -5_000.0],
            [5_000.0, 0.0, 5_000.0],
            [-5_000.0, 0.0, 5_000.0],
        ]);
        let mut deep = body.clone();
        deep.corners.push([0.0, 4_000.0, 0.0]);
        deep.edges.extend((0..4).map(|corner| (corner, 4)));
        let sides = directions_to(&window(), &deep).unwrap();
        assert!(inside(&sides, [1.0, -0.01, 0.0]) && inside(&sides, [-1.0, -0.01, 1.0]));
        assert!(!inside(&sides, [0.0, 0.01, 0.0]));
        // Flat in the wall, no beam enters it.
        assert!(directions_to(&window(), &body).is_none());
    }
}
