//! A surface through values measured at scattered places: triangles between neighbours.
//!
//! Inside of the outermost places the value is that of the plane through the triangle around it;
//! outside of them nothing is known and nothing is extrapolated. Where four places lie on one
//! circle, as on every square grid, either diagonal is as good as the other: the mean of both is
//! taken, so that turning the floor changes nothing.
//!
//! # Source
//! Delaunay triangulation: crate `spade`, with exact predicates.

use crate::axes::PointFloor;
use crate::region::{FloorBounds, Polygon, TOUCH_MM, between, turn};
use spade::{DelaunayTriangulation, HasPosition, Point2, Triangulation as _};
use std::collections::BTreeMap;

/// Places this near to each other are one place, whose value is the mean, millimetres.
pub const SAME_PLACE_MM: f64 = 0.1;
/// A place this far outside of the outermost ones still counts as within, millimetres: rounding of
/// coordinates that were turned or typed.
pub const HULL_TOLERANCE_MM: f64 = 1.0;
/// The share of a radius by which a fourth place may miss a circle and still lie on it.
const ON_CIRCLE: f64 = 1e-6;

/// A value measured at a place, or the mean of several.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// Where.
    pub place: PointFloor,
    /// The value.
    pub value: f64,
    /// How many readings it is the mean of.
    pub readings: u32,
}

/// A triangle between three nodes, counter-clockwise.
#[derive(Debug, Clone, Copy)]
struct Triangle {
    nodes: [usize; 3],
    /// The triangle beyond the edge that leads from a node to the next one.
    beyond: [Option<usize>; 3],
}

/// How much each node counts for the value at a place; the shares add up to 1.
pub type Shares = Vec<(usize, f64)>;

/// The surface.
#[derive(Debug, Clone, Default)]
pub struct Surface {
    nodes: Vec<Node>,
    triangles: Vec<Triangle>,
    /// One of the triangles at each node.
    at_node: Vec<Option<usize>>,
    /// The outline of the outermost nodes, counter-clockwise; none when all lie on one line.
    hull: Option<Polygon>,
    /// Centre and radius of the circle around each triangle, the widest first.
    circles: Vec<(PointFloor, f64)>,
}

struct Vertex([f64; 2]);

impl HasPosition for Vertex {
    type Scalar = f64;

    fn position(&self) -> Point2<f64> {
        let Self([x, y]) = *self;
        Point2::new(x, y)
    }
}

impl Surface {
    /// The surface through values at places.
    ///
    /// # Edge cases
    /// Values at one place are averaged. Places on one line, or fewer than three, have nodes but no
    /// surface between them. A value or coordinate that is no number is left out.
    pub fn through(values: impl IntoIterator<Item = (PointFloor, f64)>) -> Self {
        let mut surface = Self { nodes: merged(values), ..Self::default() };
        surface.triangulate();
        let around = |one: &Triangle| circle_through(surface.places(one.nodes)?);
        surface.circles = surface.triangles.iter().filter_map(around).collect();
        surface.circles.sort_by(|one, other| other.1.total_cmp(&one.1));
        surface
    }

    fn triangulate(&mut self) {
        let vertices = self.nodes.iter().map(|node| Vertex(near_zero(node.place))).collect();
        let Ok(triangulation) = DelaunayTriangulation::<Vertex>::bulk_load_stable(vertices) else {
            return;
        };
        let mut numbers = vec![None; triangulation.num_all_faces()];
        for (at, face) in triangulation.inner_faces().enumerate() {
            if let Some(number) = numbers.get_mut(face.fix().index()) {
                *number = Some(at);
            }
        }
        let number = |index: usize| numbers.get(index).copied().flatten();
        let all = triangulation.inner_faces().map(|face| Triangle {
            nodes: face.vertices().map(|vertex| vertex.fix().index()),
            beyond: face.adjacent_edges().map(|edge| number(edge.rev().face().fix().index())),
        });
        self.triangles = self.without_slivers(all.collect());
        self.at_node = vec![None; self.nodes.len()];
        for (at, triangle) in self.triangles.iter().enumerate() {
            for node in triangle.nodes {
                if let Some(entry) = self.at_node.get_mut(node) {
                    *entry = Some(at);
                }
            }
        }
        self.hull = self.outline();
    }

    /// The outline of all triangles, from its first node on.
    fn outline(&self) -> Option<Polygon> {
        // Which node follows a node along the rim; the last one, where the rim meets itself.
        let mut next: Vec<Option<usize>> = vec![None; self.nodes.len()];
        let mut along_rim = 0;
        for triangle in &self.triangles {
            for ((from, to), beyond) in edges_of(triangle.nodes).into_iter().zip(triangle.beyond) {
                if let Some(entry) = next.get_mut(from).filter(|_| beyond.is_none()) {
                    along_rim += usize::from(entry.is_none());
                    *entry = (*entry).max(Some(to));
                }
            }
        }
        let mut at = next.iter().position(Option::is_some);
        let mut outline = Vec::with_capacity(along_rim);
        while let Some(node) = at.filter(|_| outline.len() < along_rim) {
            outline.extend(self.nodes.get(node).map(|node| node.place));
            at = next.get(node).copied().flatten();
        }
        (outline.len() >= 3).then(|| Polygon::from_simple(outline))
    }

    /// The triangles without the slivers along the rim.
    ///
    /// Nodes along a straight wall are never quite on one line; the triangle between three of them
    /// would make the middle one count for nothing.
    fn without_slivers(&self, all: Vec<Triangle>) -> Vec<Triangle> {
        let mut kept = vec![true; all.len()];
        let is_kept = |kept: &[bool], at: usize| kept.get(at).copied().unwrap_or(false);
        let mut rim: Vec<(usize, (usize, usize))> = Vec::new();
        for (at, triangle) in all.iter().enumerate() {
            let edges = edges_of(triangle.nodes).into_iter().zip(triangle.beyond);
            rim.extend(edges.filter(|(_, beyond)| beyond.is_none()).map(|(edge, _)| (at, edge)));
        }
        while let Some((at, edge)) = rim.pop() {
            let Some(triangle) = all.get(at).filter(|_| is_kept(&kept, at)) else { continue };
            if !self.is_sliver(triangle.nodes, edge) {
                continue;
            }
            if let Some(entry) = kept.get_mut(at) {
                *entry = false;
            }
            for ((a, b), beyond) in edges_of(triangle.nodes).into_iter().zip(triangle.beyond) {
                rim.extend(beyond.map(|beyond| (beyond, (b, a))));
            }
        }
        let mut left = 0;
        let renumbered: Vec<_> = kept
            .iter()
            .map(|kept| {
                left += usize::from(*kept);
                kept.then(|| left - 1)
            })
            .collect();
        let number = |at: usize| renumbered.get(at).copied().flatten();
        let numbered = all.into_iter().enumerate().filter(|(at, _)| is_kept(&kept, *at));
        numbered
            .map(|(_, one)| Triangle { beyond: one.beyond.map(|at| number(at?)), ..one })
            .collect()
    }

    /// Whether the third node of a triangle lies on one of its edges, as far as anybody measures.
    fn is_sliver(&self, nodes: [usize; 3], (a, b): (usize, usize)) -> bool {
        let place = |node: usize| self.nodes.get(node).map(|node| node.place);
        let twice = self.places(nodes).map_or(0.0, |[a, b, c]| turn(a, b, c));
        let length = place(a).zip(place(b)).map_or(0.0, |(a, b)| between(a, b));
        twice < HULL_TOLERANCE_MM * length
    }

    /// The nodes, each place once.
    pub fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    /// The nodes within a zone or on its edge.
    pub fn nodes_within<'a>(&'a self, zone: &'a Polygon) -> impl Iterator<Item = &'a Node> {
        let around = FloorBounds::of(zone).widened(TOUCH_MM);
        self.nodes.iter().filter(move |one| around.holds(one.place) && zone.contains(one.place))
    }

    /// The outline of the part of the floor that lies between the nodes; none without a surface.
    /// It has no dent deeper than [`HULL_TOLERANCE_MM`].
    pub fn hull(&self) -> Option<&Polygon> {
        self.hull.as_ref()
    }

    /// Whether a place lies between the nodes.
    pub fn holds(&self, place: PointFloor) -> bool {
        self.distance_outside_mm(place).is_some_and(|outside| outside <= HULL_TOLERANCE_MM)
    }

    /// How far a place lies outside of the outermost nodes: 0 between them; none without a surface.
    pub fn distance_outside_mm(&self, place: PointFloor) -> Option<f64> {
        self.nearest_within(place).map(|nearest| between(nearest, place))
    }

    /// The place between the nodes that is nearest to a place.
    fn nearest_within(&self, place: PointFloor) -> Option<PointFloor> {
        let hull = self.hull.as_ref()?;
        if hull.contains(place) {
            return Some(place);
        }
        let corners = hull.vertices();
        let edges = corners.iter().zip(corners.iter().cycle().skip(1));
        let feet = edges.map(|(a, b)| foot_on(*a, *b, place));
        feet.min_by(|one, two| between(*one, place).total_cmp(&between(*two, place)))
    }

    /// The value at a place between the nodes.
    pub fn value_at(&self, place: PointFloor) -> Option<f64> {
        self.holds(place).then(|| self.value_beside(place))?
    }

    /// The value at a place, or at the nearest one between the nodes; none without a surface.
    pub fn value_beside(&self, place: PointFloor) -> Option<f64> {
        let shares = self.shares_beside(place)?;
        Some(shares.iter().filter_map(|(at, share)| Some(self.nodes.get(*at)?.value * share)).sum())
    }

    /// How the nodes count for a place between them.
    pub fn shares_at(&self, place: PointFloor) -> Option<Shares> {
        self.holds(place).then(|| self.shares_beside(place))?
    }

    fn shares_beside(&self, place: PointFloor) -> Option<Shares> {
        let place = self.nearest_within(place)?;
        let at = self.triangle_around(place)?;
        let triangle = self.triangles.get(at)?;
        let own = self.shares_in(triangle.nodes, place)?;
        for (edge, beyond) in triangle.beyond.iter().enumerate() {
            let Some(beyond) = beyond.and_then(|beyond| self.triangles.get(beyond)) else {
                continue;
            };
            let [a, b, c] = rotated(triangle.nodes, edge);
            let Some(d) = beyond.nodes.iter().copied().find(|node| ![a, b].contains(node)) else {
                continue;
            };
            if !self.on_one_circle([a, b, c], d) {
                continue;
            }
            // The other diagonal, from c to d, divides the quadrangle a, d, b, c.
            let other = [[d, b, c], [d, c, a]]
                .into_iter()
                .filter_map(|nodes| self.shares_in(nodes, place))
                .max_by(|one, two| least(one).total_cmp(&least(two)))?;
            let halved =
                |shares: [(usize, f64); 3]| shares.map(|(node, share)| (node, share / 2.0));
            return Some([halved(own), halved(other)].concat());
        }
        Some(own.into())
    }

    /// The triangle in which a place lies, or which it misses by rounding.
    ///
    /// A walk from a triangle at the nearest node towards the place; it never comes back to a
    /// triangle, because these are Delaunay triangles.
    fn triangle_around(&self, place: PointFloor) -> Option<usize> {
        let (nearest, _) = self.nearest_node(place)?;
        // A node whose triangles were all slivers has none; the walk may begin anywhere.
        let mut at = self.at_node.get(nearest).copied().flatten().unwrap_or(0);
        for _ in 0..self.triangles.len() {
            let triangle = self.triangles.get(at)?;
            let [a, b, c] = self.places(triangle.nodes)?;
            let sides = [turn(a, b, place), turn(b, c, place), turn(c, a, place)];
            let (edge, side) =
                sides.into_iter().enumerate().min_by(|one, two| one.1.total_cmp(&two.1))?;
            match triangle.beyond.get(edge).copied().flatten() {
                Some(beyond) if side < 0.0 => at = beyond,
                _ => return Some(at),
            }
        }
        Some(at)
    }

    /// Barycentric coordinates of a place.
    fn shares_in(&self, nodes: [usize; 3], place: PointFloor) -> Option<[(usize, f64); 3]> {
        let [a, b, c] = self.places(nodes)?;
        let whole = turn(a, b, c);
        let parts = [turn(b, c, place), turn(c, a, place), turn(a, b, place)];
        let [one, two, three] = nodes;
        let [first, second, third] = parts.map(|part| part / whole);
        (whole > 0.0).then_some([(one, first), (two, second), (three, third)])
    }

    fn places(&self, nodes: [usize; 3]) -> Option<[PointFloor; 3]> {
        let [a, b, c] = nodes.map(|node| self.nodes.get(node).map(|node| node.place));
        Some([a?, b?, c?])
    }

    fn on_one_circle(&self, nodes: [usize; 3], fourth: usize) -> bool {
        let circle = self.places(nodes).and_then(circle_through);
        let fourth = self.nodes.get(fourth).map(|node| node.place);
        circle.zip(fourth).is_some_and(|((centre, radius), fourth)| {
            (between(centre, fourth) - radius).abs() <= ON_CIRCLE * radius
        })
    }

    /// Centre and radius of the circle around each triangle, the widest first; no node lies within
    /// such a circle.
    pub(super) fn empty_circles(&self) -> &[(PointFloor, f64)] {
        &self.circles
    }

    /// The node nearest to a place, and how far away it is; none without a node.
    pub(super) fn nearest_node(&self, place: PointFloor) -> Option<(usize, f64)> {
        let squared = |node: &Node| {
            (node.place.x_mm - place.x_mm).powi(2) + (node.place.y_mm - place.y_mm).powi(2)
        };
        // A plain loop: this is asked for every zone of every bay.
        let mut nearest: Option<(usize, f64)> = None;
        for (at, squared) in self.nodes.iter().map(squared).enumerate() {
            if nearest.is_none_or(|(_, least)| squared < least) {
                nearest = Some((at, squared));
            }
        }
        nearest.map(|(at, squared)| (at, squared.sqrt()))
    }
}

/// Values in the order of their places, those at one place averaged.
fn merged(values: impl IntoIterator<Item = (PointFloor, f64)>) -> Vec<Node> {
    let is_number = |(place, value): &(PointFloor, f64)| {
        [place.x_mm, place.y_mm, *value].iter().all(|number| number.is_finite())
    };
    let mut cells: BTreeMap<[i64; 2], Node> = BTreeMap::new();
    for (place, value) in values.into_iter().filter(is_number) {
        let cell = [place.x_mm, place.y_mm].map(|mm| cell_of(mm / SAME_PLACE_MM));
        let node = cells.entry(cell).or_insert(Node { place, value: 0.0, readings: 0 });
        node.readings += 1;
        node.value += (value - node.value) / f64::from(node.readings);
    }
    cells.into_values().collect()
}

#[expect(clippy::cast_possible_truncation, reason = "floor coordinates are far below 2^63 cells")]
fn cell_of(tenths: f64) -> i64 {
    tenths.round() as i64
}

/// Coordinates with those next to zero set to it: the triangulation refuses subnormal numbers.
fn near_zero(place: PointFloor) -> [f64; 2] {
    [place.x_mm, place.y_mm].map(|mm| if mm.abs() < 1e-9 { 0.0 } else { mm })
}

fn edges_of([a, b, c]: [usize; 3]) -> [(usize, usize); 3] {
    [(a, b), (b, c), (c, a)]
}

fn rotated(nodes: [usize; 3], first: usize) -> [usize; 3] {
    let [a, b, c] = nodes;
    match first {
        0 => [a, b, c],
        1 => [b, c, a],
        _ => [c, a, b],
    }
}

fn least(shares: &[(usize, f64)]) -> f64 {
    shares.iter().map(|(_, share)| *share).fold(f64::INFINITY, f64::min)
}

fn foot_on(a: PointFloor, b: PointFloor, place: PointFloor) -> PointFloor {
    let (x, y) = (b.x_mm - a.x_mm, b.y_mm - a.y_mm);
    let along = (place.x_mm - a.x_mm) * x + (place.y_mm - a.y_mm) * y;
    let share = (along / (x * x + y * y)).clamp(0.0, 1.0);
    PointFloor { x_mm: a.x_mm + share * x, y_mm: a.y_mm + share * y }
}

fn circle_through([a, b, c]: [PointFloor; 3]) -> Option<(PointFloor, f64)> {
    let twice = 2.0 * turn(a, b, c);
    let (bx, by) = (b.x_mm - a.x_mm, b.y_mm - a.y_mm);
    let (cx, cy) = (c.x_mm - a.x_mm, c.y_mm - a.y_mm);
    let (bb, cc) = (bx * bx + by * by, cx * cx + cy * cy);
    let (x, y) = ((cy * bb - by * cc) / twice, (bx * cc - cx * bb) / twice);
    let centre = PointFloor { x_mm: a.x_mm + x, y_mm: a.y_mm + y };
    (x.is_finite() && y.is_finite()).then(|| (centre, x.hypot(y)))
}

#[cfg(test)]
mod tests;
