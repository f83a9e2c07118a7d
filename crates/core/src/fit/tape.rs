//! Tape distances: how a person sets a pose with a tape from two walls.
//!
//! Of each wheel line (front axle, rear axle) the point under the middle of one tyre is measured
//! square to two walls. The walls are straight edges of the bay that stand at an angle to each other;
//! the tape must meet each wall between its ends and run clear of obstructions that stand on the
//! floor. Two such points give position and heading.

use super::Neighbour;
use super::margins::Side;
use super::site::Site;
use crate::axes::{PointFloor, PoseFloor};
use crate::demand::VehicleClass;
use crate::floor::Obstruction;
use crate::region::{Polygon, TOUCH_MM};
use std::fmt;

/// The least sine of the angle between the two walls, so that a millimetre on the tape is no more
/// than two on the floor.
pub const WALL_ANGLE_SINE_MIN: f64 = 0.5;
/// What stands lower than this is in the way of a tape on the floor, millimetres.
const TAPE_HEIGHT_MM: f64 = 50.0;

/// Where to hold the tape, and what it shows.
#[derive(Debug, Clone, PartialEq)]
pub struct TapeDistances {
    /// The side on which the tyres are.
    pub side: Side,
    /// The two walls, each an edge of the bay.
    pub walls: [Neighbour; 2],
    /// From the floor point under the middle of the front tyre square to each wall, whole
    /// millimetres.
    pub front_mm: [f64; 2],
    /// The same for the rear tyre of that side.
    pub rear_mm: [f64; 2],
    /// Where the tapes begin: the floor under the middle of the front tyre and of the rear one.
    pub tyres: [PointFloor; 2],
    /// Where they end: for the front tyre and for the rear one the points on the two walls.
    pub feet: [[PointFloor; 2]; 2],
}

/// A wall that both tyres of a side can be measured from.
struct Wall {
    edge: usize,
    /// Its direction, of length 1.
    along: (f64, f64),
    front_mm: f64,
    rear_mm: f64,
    /// Where the tapes of the front and of the rear tyre meet it.
    feet: [PointFloor; 2],
}

/// The pair of walls with the shortest tapes, on whichever side of the vehicle; none when no two
/// walls serve.
pub(super) fn tape_distances(
    vehicle: &VehicleClass,
    site: &Site<'_>,
    pose: &PoseFloor,
) -> Option<TapeDistances> {
    let [front_left, front_right, rear_left, rear_right] =
        vehicle.wheels_vehicle().map(|wheel| pose.to_floor(wheel));
    let sides = [(Side::Left, front_left, rear_left), (Side::Right, front_right, rear_right)];
    let mut best: Option<(f64, TapeDistances)> = None;
    // From a tyre outside of the bay a wall would be measured from its far side.
    let inside = |tyre: PointFloor| site.bay.outline().contains(tyre);
    for (side, front, rear) in sides.into_iter().filter(|one| inside(one.1) && inside(one.2)) {
        let walls = walls_in_reach(site, front, rear);
        for (at, first) in walls.iter().enumerate() {
            for second in &walls[at + 1..] {
                let sine = first.along.0 * second.along.1 - first.along.1 * second.along.0;
                let length_mm = first.front_mm + first.rear_mm + second.front_mm + second.rear_mm;
                let shorter = best.as_ref().is_none_or(|(least, _)| length_mm < *least);
                if sine.abs() >= WALL_ANGLE_SINE_MIN && shorter {
                    let distances = TapeDistances {
                        side,
                        walls: [first, second].map(|wall| Neighbour::Edge(wall.edge)),
                        front_mm: [first, second].map(|wall| wall.front_mm.round()),
                        rear_mm: [first, second].map(|wall| wall.rear_mm.round()),
                        tyres: [front, rear],
                        feet: [0, 1].map(|tyre| [first, second].map(|wall| wall.feet[tyre])),
                    };
                    best = Some((length_mm, distances));
                }
            }
        }
    }
    best.map(|(_, distances)| distances)
}

fn walls_in_reach(site: &Site<'_>, front: PointFloor, rear: PointFloor) -> Vec<Wall> {
    let outline = site.bay.outline().vertices();
    let in_the_way: Vec<&Polygon> =
        site.obstructions_up_to(TAPE_HEIGHT_MM).map(Obstruction::outline).collect();
    let mut walls = Vec::new();
    for (edge, from) in outline.iter().enumerate() {
        let to = outline[(edge + 1) % outline.len()];
        let length_mm = (to.x_mm - from.x_mm).hypot(to.y_mm - from.y_mm);
        let along = ((to.x_mm - from.x_mm) / length_mm, (to.y_mm - from.y_mm) / length_mm);
        let tape = |tyre: PointFloor| {
            let (x, y) = (tyre.x_mm - from.x_mm, tyre.y_mm - from.y_mm);
            let foot_mm = x * along.0 + y * along.1;
            let foot = PointFloor {
                x_mm: from.x_mm + foot_mm * along.0,
                y_mm: from.y_mm + foot_mm * along.1,
            };
            let meets = (0.0..=length_mm).contains(&foot_mm);
            (meets && is_clear(tyre, foot, site.bay.outline(), &in_the_way))
                .then(|| ((x * along.1 - y * along.0).abs(), foot))
        };
        if let (Some((front_mm, front_foot)), Some((rear_mm, rear_foot))) =
            (tape(front), tape(rear))
        {
            walls.push(Wall { edge, along, front_mm, rear_mm, feet: [front_foot, rear_foot] });
        }
    }
    walls
}

/// Whether a tape from a tyre to a wall stays in the bay and touches no obstruction.
fn is_clear(tyre: PointFloor, foot: PointFloor, bay: &Polygon, in_the_way: &[&Polygon]) -> bool {
    let (x, y) = (foot.x_mm - tyre.x_mm, foot.y_mm - tyre.y_mm);
    let length_mm = x.hypot(y);
    if length_mm <= TOUCH_MM {
        return true;
    }
    // It ends a little before the wall, so that it does not cross the wall itself.
    let share = 1.0 - (1.0_f64).min(length_mm / 2.0) / length_mm;
    let end = PointFloor { x_mm: tyre.x_mm + share * x, y_mm: tyre.y_mm + share * y };
    !bay.is_crossed_by(tyre, end)
        && !in_the_way.iter().any(|one| one.is_crossed_by(tyre, end) || one.contains(end))
}

impl fmt::Display for TapeDistances {
    /// One sentence that a person can follow.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { side, walls: [first, second], front_mm, rear_mm, .. } = self;
        write!(
            f,
            "from the floor under the middle of the {side} front tyre {:.0} mm square to {first} \
             and {:.0} mm to {second}; from the {side} rear tyre {:.0} mm and {:.0} mm to the same",
            front_mm[0], front_mm[1], rear_mm[0], rear_mm[1]
        )
    }
}
