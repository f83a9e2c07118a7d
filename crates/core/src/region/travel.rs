//! How far a polygon can be moved straight into a direction until it meets something.
//!
//! Two outlines first meet at a corner of one of them: the corners of what moves run against the
//! edges of what stands, and the corners of what stands, seen backwards, against the edges of what
//! moves. Only edges that face each other count, so that touching walls do not stop a move along
//! or away from them.

use super::Polygon;
use super::segment::Segment;
use crate::axes::PointFloor;

/// A first meeting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meeting {
    /// How far the polygon moves before, millimetres.
    pub distance_mm: f64,
    /// The place on the polygon, before it is moved, that meets.
    pub at: PointFloor,
    /// The edge of what stands that is met, by the vertex at which it begins, counted from 0.
    pub edge: usize,
}

/// A direction on the floor, of length 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Direction {
    /// The part along x.
    pub x: f64,
    /// The part along y.
    pub y: f64,
}

/// Meetings nearer than this in front of an edge count although they lie behind it, millimetres: the
/// polygon touches.
const BEHIND_MM: f64 = 0.1;

/// The meetings of a polygon that moves with a polygon that stands, nearest first; what moves lies
/// outside of it.
pub fn meetings(moving: &Polygon, standing: &Polygon, direction: Direction) -> Vec<Meeting> {
    all(moving, standing, direction, 1.0)
}

/// The meetings of a polygon that moves with the outline in which it lies, nearest first.
pub fn meetings_within(moving: &Polygon, outline: &Polygon, direction: Direction) -> Vec<Meeting> {
    all(moving, outline, direction, -1.0)
}

/// `outwards` is 1 when the standing polygon blocks from its outside, -1 from its inside.
fn all(moving: &Polygon, standing: &Polygon, go: Direction, outwards: f64) -> Vec<Meeting> {
    let back = Direction { x: -go.x, y: -go.y };
    let mut found = Vec::new();
    let faces_of_standing = outwards * standing.sense();
    for (edge, wall) in standing.edges().enumerate() {
        for corner in moving.vertices() {
            if let Some((distance_mm, _)) = run(*corner, go, &wall, faces_of_standing) {
                found.push(Meeting { distance_mm, at: *corner, edge });
            }
        }
        for side in moving.edges() {
            if let Some((distance_mm, at)) = run(wall.from, back, &side, moving.sense()) {
                found.push(Meeting { distance_mm, at, edge });
            }
        }
    }
    found.sort_by(|a, b| a.distance_mm.total_cmp(&b.distance_mm).then(a.edge.cmp(&b.edge)));
    found
}

/// How far a point runs until it meets an edge from its outer side, and where.
fn run(point: PointFloor, go: Direction, edge: &Segment, sense: f64) -> Option<(f64, PointFloor)> {
    let (along_x, along_y) = (edge.to.x_mm - edge.from.x_mm, edge.to.y_mm - edge.from.y_mm);
    // The outward normal of a counter-clockwise edge is (along_y, -along_x).
    let against = sense * (go.x * along_y - go.y * along_x);
    if against >= -1e-9 * along_x.hypot(along_y) {
        return None;
    }
    let (to_x, to_y) = (edge.from.x_mm - point.x_mm, edge.from.y_mm - point.y_mm);
    let turn = go.x * along_y - go.y * along_x;
    let distance_mm = (to_x * along_y - to_y * along_x) / turn;
    let share = (to_x * go.y - to_y * go.x) / turn;
    let meets = distance_mm >= -BEHIND_MM && (0.0..=1.0).contains(&share);
    let at = PointFloor {
        x_mm: edge.from.x_mm + share * along_x,
        y_mm: edge.from.y_mm + share * along_y,
    };
    meets.then_some((distance_mm.max(0.0), at))
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Polygon {
        Polygon::new(&[(x, y), (x + width, y), (x + width, y + height), (x, y + height)]).unwrap()
    }

    #[rstest]
    // Elementary plane geometry: a square of 100 mm in a room of 1000 by 800 mm.
    #[case::to_the_right_wall(1.0, 0.0, 600.0)]
    #[case::to_the_left_wall(-1.0, 0.0, 300.0)]
    #[case::to_the_upper_wall(0.0, 1.0, 700.0)]
    #[case::it_touches_the_lower_wall(0.0, -1.0, 0.0)]
    fn a_square_runs_up_to_the_wall(#[case] x: f64, #[case] y: f64, #[case] expected_mm: f64) {
        let (square, room) = (rectangle(300.0, 0.0, 100.0, 100.0), rectangle(0.0, 0.0, 1e3, 800.0));
        let found = meetings_within(&square, &room, Direction { x, y });
        assert!((found[0].distance_mm - expected_mm).abs() < 1e-9, "{found:?}");
    }

    #[test]
    fn a_column_is_met_at_its_corner_and_not_from_beside_it() {
        let square = rectangle(0.0, 0.0, 100.0, 100.0);
        let column = Polygon::new(&[(250.0, 50.0), (300.0, 0.0), (350.0, 50.0), (300.0, 100.0)]);
        let column = column.unwrap();
        let ahead = meetings(&square, &column, Direction { x: 1.0, y: 0.0 });
        assert!((ahead[0].distance_mm - 150.0).abs() < 1e-9, "{ahead:?}");
        assert_eq!(ahead[0].at, PointFloor { x_mm: 100.0, y_mm: 50.0 });
        assert!(meetings(&square, &column, Direction { x: 0.0, y: 1.0 }).is_empty());
    }
}
