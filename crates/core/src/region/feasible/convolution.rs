//! The Minkowski sum of two simple polygons as the winding of their convolution.
//!
//! The convolution of two outlines is the closed curve of all sums of a corner of one and an edge
//! of the other whose direction lies in the turn at that corner; at a corner that turns right the
//! edge is run backwards. Around a point p it winds as often as there are separate parts in the
//! overlap of one polygon with the other, reflected and put at p: zero outside of the sum, one or
//! more inside. (The overlap of two polygons without holes has none, so parts never cancel.) A set
//! operation with the fill rule "positive" therefore sees exactly the interior of the sum, with no
//! polygon cut into convex pieces first.
//!
//! # Source
//! L. Guibas, L. Ramshaw, J. Stolfi, A kinetic framework for computational geometry, 24th Symposium
//! on Foundations of Computer Science (1983); R. Wein, Exact and efficient construction of planar
//! Minkowski sums using the convolution method, European Symposium on Algorithms (2006). Both from
//! memory; the tests hold it against placing the polygons.

use super::grid::{GridPoint, Ring, cross, dot, vector};

/// The rings whose winding numbers add up to those of the convolution of two counter-clockwise
/// rings.
pub(super) fn convolution(a: &[GridPoint], b: &[GridPoint]) -> Vec<Ring> {
    if is_convex(a) && is_convex(b) { vec![convex_sum(a, b)] } else { cycles(a, b) }
}

/// Whether a counter-clockwise ring that does not cross itself never turns right.
pub(super) fn is_convex(ring: &[GridPoint]) -> bool {
    let corners = Corners(ring);
    (0..ring.len()).all(|at| cross(corners.edge_before(at), corners.edge(at)) >= 0)
}

/// The sum of two convex rings: their edges, merged by direction.
fn convex_sum(a: &[GridPoint], b: &[GridPoint]) -> Ring {
    let (a, b) = (Corners(a), Corners(b));
    let (start_a, start_b) = (a.lowest(), b.lowest());
    let (mut along_a, mut along_b) = (0, 0);
    let mut ring = Vec::with_capacity(a.0.len() + b.0.len());
    let mut at = plus(a.at(start_a), b.at(start_b));
    while along_a < a.0.len() || along_b < b.0.len() {
        ring.push(at);
        let (next_a, next_b) = (a.edge(start_a + along_a), b.edge(start_b + along_b));
        let takes_a = along_b == b.0.len() || (along_a < a.0.len() && comes_first(next_a, next_b));
        let step = if takes_a { next_a } else { next_b };
        *(if takes_a { &mut along_a } else { &mut along_b }) += 1;
        at = plus(at, step);
    }
    ring
}

/// Whether direction `a` comes no later than `b`, counted counter-clockwise from +x.
fn comes_first(a: GridPoint, b: GridPoint) -> bool {
    let lower_half = |v: GridPoint| v.y < 0 || (v.y == 0 && v.x < 0);
    match (lower_half(a), lower_half(b)) {
        (false, true) => true,
        (true, false) => false,
        (true, true) | (false, false) => cross(a, b) >= 0,
    }
}

/// A step of the convolution between two nodes; a node is a corner of each ring.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Step {
    from: usize,
    to: usize,
}

/// The convolution of any two simple rings, as closed runs of its steps.
fn cycles(a: &[GridPoint], b: &[GridPoint]) -> Vec<Ring> {
    let mut steps = steps(&Corners(a), &Corners(b));
    steps.sort_unstable();
    let mut taken = vec![false; steps.len()];
    let mut rings = Vec::new();
    for first in 0..steps.len() {
        let mut ring = Ring::new();
        let mut next = Some(first);
        // As many steps lead to a node as away from it, so that a run ends where it began.
        while let Some(at) = next.filter(|at| !taken[*at]) {
            taken[at] = true;
            let Step { from, to } = steps[at];
            ring.push(plus(a[from / b.len()], b[from % b.len()]));
            let begin = steps.partition_point(|step| step.from < to);
            next =
                (begin..steps.len()).take_while(|at| steps[*at].from == to).find(|at| !taken[*at]);
        }
        if ring.len() > 2 {
            rings.push(ring);
        }
    }
    rings
}

fn steps(a: &Corners<'_>, b: &Corners<'_>) -> Vec<Step> {
    let (count_a, count_b) = (a.0.len(), b.0.len());
    let node = |i: usize, j: usize| (i % count_a) * count_b + j % count_b;
    let mut steps = Vec::with_capacity(4 * (count_a + count_b));
    // Of two edges of one direction, that of b counts as turned a trifle further to the left, so
    // that each pair is taken once.
    for i in 0..count_a {
        let turn = Turn::at(a, i);
        for j in 0..count_b {
            if turn.holds(b.edge(j), Tie::AtStart) {
                steps.push(turn.run(node(i, j), node(i, j + 1)));
            }
        }
    }
    for j in 0..count_b {
        let turn = Turn::at(b, j);
        for i in 0..count_a {
            if turn.holds(a.edge(i), Tie::AtEnd) {
                steps.push(turn.run(node(i, j), node(i + 1, j)));
            }
        }
    }
    steps
}

/// Which end of a turn belongs to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Tie {
    AtStart,
    AtEnd,
}

/// The directions that a corner turns through, counter-clockwise, and whether it turns left.
struct Turn {
    start: GridPoint,
    end: GridPoint,
    left: bool,
}

impl Turn {
    fn at(corners: &Corners<'_>, at: usize) -> Self {
        let (before, after) = (corners.edge_before(at), corners.edge(at));
        if cross(before, after) >= 0 {
            Self { start: before, end: after, left: true }
        } else {
            Self { start: after, end: before, left: false }
        }
    }

    /// Whether a direction lies in the turn, which is less than half a turn.
    fn holds(&self, direction: GridPoint, tie: Tie) -> bool {
        let from_start = cross(self.start, direction);
        let to_end = cross(direction, self.end);
        match tie {
            Tie::AtStart => {
                to_end > 0
                    && (from_start > 0 || (from_start == 0 && dot(self.start, direction) > 0))
            }
            Tie::AtEnd => {
                from_start > 0 && (to_end > 0 || (to_end == 0 && dot(direction, self.end) > 0))
            }
        }
    }

    fn run(&self, from: usize, to: usize) -> Step {
        if self.left { Step { from, to } } else { Step { from: to, to: from } }
    }
}

/// The corners of a ring by number, counted on around it.
struct Corners<'a>(&'a [GridPoint]);

impl Corners<'_> {
    fn at(&self, at: usize) -> GridPoint {
        self.0[at % self.0.len()]
    }

    /// The edge that begins at a corner.
    fn edge(&self, at: usize) -> GridPoint {
        vector(self.at(at), self.at(at + 1))
    }

    fn edge_before(&self, at: usize) -> GridPoint {
        self.edge(at + self.0.len() - 1)
    }

    /// The lowest corner, the leftmost of them where there are two: edges from there on are in
    /// order of direction.
    fn lowest(&self) -> usize {
        (0..self.0.len()).min_by_key(|at| (self.0[*at].y, self.0[*at].x)).unwrap_or(0)
    }
}

fn plus(a: GridPoint, b: GridPoint) -> GridPoint {
    GridPoint::new(a.x + b.x, a.y + b.y)
}
