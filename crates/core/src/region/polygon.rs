//! A simple polygon of the floor: one closed outline that neither crosses nor touches itself.
//!
//! Every pair of edges is looked at, which is quick at the number of vertices that an outline may
//! have and names the two edges that meet. Points nearer to each other than [`TOUCH_MM`] count as
//! one: no floor is measured to a micrometre.

use super::segment::{Segment, between, turn};
use crate::axes::{FLOOR_COORDINATE_MM_MAX, PointFloor};
use crate::fault::{Fault, FaultList, Faults};

/// The most vertices of an outline.
pub const OUTLINE_VERTICES_MAX: usize = 500;
/// Points and edges nearer than this touch, millimetres.
pub const TOUCH_MM: f64 = 0.001;
/// The least area of an outline, square millimetres.
pub const AREA_MM2_MIN: f64 = 1.0;

/// A simple polygon in floor axes, either way round.
#[derive(Debug, Clone, PartialEq)]
pub struct Polygon {
    vertices: Vec<PointFloor>,
}

/// The edge of an outline that is nearest to something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NearestEdge {
    /// The vertex at which the edge begins, counted from 0.
    pub edge: usize,
    /// The distance to it, millimetres.
    pub distance_mm: f64,
}

impl Polygon {
    /// Checks and takes an outline, closed by itself: the first vertex is not repeated.
    ///
    /// # Errors
    /// A fault for fewer than 3 or more than [`OUTLINE_VERTICES_MAX`] vertices, for each
    /// coordinate that is no number within [`FLOOR_COORDINATE_MM_MAX`], for each vertex that
    /// repeats the one before, for two edges that cross or touch (both named by their vertices;
    /// the first such pair), and for an area below [`AREA_MM2_MIN`]. Fields are relative to the
    /// outline: `[3]`.
    pub fn new(outline_mm: &[(f64, f64)]) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        let count = outline_mm.len();
        if !(3..=OUTLINE_VERTICES_MAX).contains(&count) {
            faults.push(Fault::new(
                "",
                format!("a list of {count}"),
                format!("have 3 to {OUTLINE_VERTICES_MAX} vertices"),
                "give every corner once, in order around the outline",
            ));
        }
        let most = FLOOR_COORDINATE_MM_MAX;
        for (at, (x_mm, y_mm)) in outline_mm.iter().enumerate().take(OUTLINE_VERTICES_MAX) {
            faults.number_within(&format!("[{at}].x_mm"), *x_mm, -most, most, "mm");
            faults.number_within(&format!("[{at}].y_mm"), *y_mm, -most, most, "mm");
        }
        let polygon = Self::from_simple(
            outline_mm.iter().map(|(x_mm, y_mm)| PointFloor { x_mm: *x_mm, y_mm: *y_mm }).collect(),
        );
        if faults.is_empty() {
            polygon.check_shape(&mut faults);
        }
        faults.finish(polygon)
    }

    /// Notes the faults of an outline under `field` and gives the polygon, which is sound only if
    /// nothing was noted.
    pub(crate) fn checked_into(
        faults: &mut FaultList,
        field: &str,
        outline_mm: &[(f64, f64)],
    ) -> Self {
        faults.take(field, Self::new(outline_mm)).unwrap_or_else(|| Self::from_simple(Vec::new()))
    }

    /// Takes vertices that are known to form a simple polygon.
    pub(crate) fn from_simple(vertices: Vec<PointFloor>) -> Self {
        Self { vertices }
    }

    /// The vertices in the order given.
    pub fn vertices(&self) -> &[PointFloor] {
        &self.vertices
    }

    /// The edges, each from a vertex to the next one; the last leads back to the first.
    pub(super) fn edges(&self) -> impl Iterator<Item = Segment> + '_ {
        let next = self.vertices.iter().cycle().skip(1);
        self.vertices.iter().zip(next).map(|(from, to)| Segment { from: *from, to: *to })
    }

    /// The area, square millimetres.
    pub fn area_mm2(&self) -> f64 {
        self.twice_signed_area().abs() / 2.0
    }

    /// 1 when the outline goes around counter-clockwise, -1 when it goes around clockwise.
    pub(crate) fn sense(&self) -> f64 {
        self.twice_signed_area().signum()
    }

    fn twice_signed_area(&self) -> f64 {
        // Shoelace formula, counted from the first vertex so that a far origin costs no digits.
        let Some(origin) = self.vertices.first() else { return 0.0 };
        self.vertices.windows(2).map(|pair| turn(*origin, pair[0], pair[1])).sum()
    }

    /// The centre of the area.
    pub fn middle(&self) -> PointFloor {
        let Some(origin) = self.vertices.first() else {
            return PointFloor { x_mm: 0.0, y_mm: 0.0 };
        };
        let (mut x, mut y, mut area) = (0.0, 0.0, 0.0);
        for pair in self.vertices.windows(2) {
            let twice = turn(*origin, pair[0], pair[1]);
            area += twice;
            x += twice * (pair[0].x_mm + pair[1].x_mm - 2.0 * origin.x_mm);
            y += twice * (pair[0].y_mm + pair[1].y_mm - 2.0 * origin.y_mm);
        }
        // A third of the sum of a triangle's corners, weighted by its area.
        let share = 1.0 / (3.0 * area);
        PointFloor { x_mm: origin.x_mm + x * share, y_mm: origin.y_mm + y * share }
    }

    /// Whether a point lies inside of the polygon or on its edge (within [`TOUCH_MM`]).
    pub fn contains(&self, point: PointFloor) -> bool {
        let touches =
            |edge: Segment| edge.may_touch(point) && edge.distance_to_point(point) <= TOUCH_MM;
        self.encloses(point) || self.edges().any(touches)
    }

    /// Whether a ray from the point to the right leaves the polygon an odd number of times.
    pub(super) fn encloses(&self, point: PointFloor) -> bool {
        let mut inside = false;
        for Segment { from, to } in self.edges() {
            if (from.y_mm > point.y_mm) != (to.y_mm > point.y_mm) {
                let upwards = to.y_mm > from.y_mm;
                if (turn(from, to, point) > 0.0) == upwards {
                    inside = !inside;
                }
            }
        }
        inside
    }

    /// The edge of this outline that is nearest to a point.
    pub fn edge_nearest_to_point(&self, point: PointFloor) -> NearestEdge {
        nearest(self.edges().map(|edge| edge.distance_to_point(point)))
    }

    /// The edge of this outline that is nearest to the edges of another polygon, whichever of the
    /// two contains the other.
    pub fn edge_nearest_to(&self, other: &Self) -> NearestEdge {
        nearest(self.edges().map(|edge| {
            other.edges().map(|theirs| edge.distance_to(&theirs)).fold(f64::INFINITY, f64::min)
        }))
    }

    /// The smallest distance between two polygons, millimetres; zero when they touch or overlap.
    pub fn distance_mm_to(&self, other: &Self) -> f64 {
        let holds = |outer: &Self, inner: &Self| {
            inner.vertices.first().is_some_and(|vertex| outer.contains(*vertex))
        };
        if holds(self, other) || holds(other, self) {
            return 0.0;
        }
        self.edge_nearest_to(other).distance_mm
    }

    /// Whether the straight way between two points passes through an edge.
    pub fn is_crossed_by(&self, from: PointFloor, to: PointFloor) -> bool {
        let way = Segment { from, to };
        self.edges().any(|edge| edge.crosses(&way))
    }

    fn check_shape(&self, faults: &mut FaultList) {
        let count = self.vertices.len();
        let name = |at: usize| format!("[{at}] to [{}]", (at + 1) % count);
        for (at, edge) in self.edges().enumerate() {
            if between(edge.from, edge.to) <= TOUCH_MM {
                faults.push(Fault::new(
                    format!("[{}]", (at + 1) % count),
                    format!("the same point as vertex [{at}]"),
                    "differ from the vertex before it",
                    "give every corner once; the outline closes by itself",
                ));
            }
        }
        if !faults.is_empty() {
            return;
        }
        if let Some((first, second, how)) = self.first_meeting() {
            faults.push(Fault::new(
                "",
                format!("an outline whose edge {} {how} edge {}", name(first), name(second)),
                "neither cross nor touch itself",
                "give the corners in order around the outline",
            ));
        } else if self.area_mm2() < AREA_MM2_MIN {
            faults.push(Fault::new(
                "",
                format!("an outline of {} mm2", self.area_mm2()),
                format!("have an area of at least {AREA_MM2_MIN} mm2"),
                "check the unit: coordinates are in millimetres",
            ));
        }
    }

    /// The first two edges that cross, touch or fold back onto each other.
    fn first_meeting(&self) -> Option<(usize, usize, &'static str)> {
        let edges: Vec<_> = self.edges().collect();
        let count = edges.len();
        for (first, a) in edges.iter().enumerate() {
            for (second, b) in edges.iter().enumerate().skip(first + 1) {
                let follows = second == first + 1;
                let closes = first == 0 && second == count - 1;
                if follows || closes {
                    let (earlier, later) = if follows { (a, b) } else { (b, a) };
                    let folds = earlier.distance_to_point(later.to) <= TOUCH_MM
                        || later.distance_to_point(earlier.from) <= TOUCH_MM;
                    if folds {
                        return Some((first, second, "folds back onto"));
                    }
                } else if a.crosses(b) {
                    return Some((first, second, "crosses"));
                } else if a.distance_to(b) <= TOUCH_MM {
                    return Some((first, second, "touches"));
                }
            }
        }
        None
    }
}

/// The first of the smallest distances.
fn nearest(distances_mm: impl Iterator<Item = f64>) -> NearestEdge {
    let none = NearestEdge { edge: 0, distance_mm: f64::INFINITY };
    distances_mm.enumerate().fold(none, |best, (edge, distance_mm)| {
        if distance_mm < best.distance_mm { NearestEdge { edge, distance_mm } } else { best }
    })
}

#[cfg(test)]
mod tests;
