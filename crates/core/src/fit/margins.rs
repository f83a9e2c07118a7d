//! How far the body and each zone could be moved towards each side of the vehicle until they meet
//! the bay's edge or an obstruction, and what that is.

use super::Neighbour;
use super::site::Site;
use crate::axes::{OffsetVehicle, PointFloor, PoseFloor};
use crate::demand::kinds::kinds;
use crate::demand::{Method, VehicleClass, ZoneNeed, ZoneShape};
use crate::ids::ZoneId;
use crate::region::{Direction, Meeting, Polygon, meetings, meetings_within};
use std::fmt;

kinds! {
    /// A side of the vehicle.
    Side ("side") {
        /// Ahead.
        Front = "front",
        /// Behind.
        Rear = "rear",
        /// To the left.
        Left = "left",
        /// To the right.
        Right = "right",
    }
}

/// How far a body or zone is from what limits it towards one side.
#[derive(Debug, Clone, PartialEq)]
pub struct SideMargin {
    /// The zone; none for the vehicle's own body.
    pub zone: Option<ZoneId>,
    /// Towards which side.
    pub side: Side,
    /// At which end of that side it meets: `rear` of the left side, `left` of the front; none when
    /// it meets in the middle or along more than half of the side.
    pub end: Option<Side>,
    /// How far it is from it, straight to that side, millimetres.
    pub gap_mm: f64,
    /// What it would meet.
    pub limited_by: Neighbour,
    /// The place on body or zone that would meet, where the vehicle stands.
    pub from: PointFloor,
    /// Where it would meet: `gap_mm` away from it.
    pub to: PointFloor,
}

/// Meetings within this of the nearest one count as one, millimetres.
const TOGETHER_MM: f64 = 1.0;

/// The margins of the body and of every zone of clear floor, in the order front, rear, left, right.
pub(super) fn side_margins(
    method: &Method,
    vehicle: &VehicleClass,
    site: &Site<'_>,
    pose: &PoseFloor,
) -> Vec<SideMargin> {
    let mut rooms = vec![(None, ZoneShape::of_body(vehicle), vehicle.height_mm())];
    for zone in method.zones() {
        for need in zone.needs() {
            if let (ZoneNeed::ClearFloor { up_to_mm }, Ok(shape)) = (need, zone.shape_for(vehicle))
            {
                rooms.push((Some(zone.id().clone()), shape, *up_to_mm));
            }
        }
    }
    let mut margins = Vec::new();
    for (zone, shape, up_to_mm) in rooms {
        for side in [Side::Front, Side::Rear, Side::Left, Side::Right] {
            let margin = towards(side, &shape, up_to_mm, site, pose);
            margins.extend(margin.map(|margin| SideMargin { zone: zone.clone(), ..margin }));
        }
    }
    margins
}

fn towards(
    side: Side,
    shape: &ZoneShape,
    up_to_mm: f64,
    site: &Site<'_>,
    pose: &PoseFloor,
) -> Option<SideMargin> {
    let placed = shape.placed(pose);
    let direction = side.direction(pose);
    let edge = |one: &Meeting| Neighbour::Edge(one.edge);
    let mut nearest = first(&meetings_within(&placed, site.bay.outline(), direction), edge);
    for obstruction in site.obstructions_up_to(up_to_mm) {
        let found = meetings(&placed, obstruction.outline(), direction);
        let named = first(&found, |_| Neighbour::Obstruction(obstruction.id().clone()));
        let gap = |one: &Option<(Neighbour, Vec<Meeting>)>| {
            one.as_ref().map_or(f64::INFINITY, |(_, together)| together[0].distance_mm)
        };
        if gap(&named) < gap(&nearest) {
            nearest = named;
        }
    }
    let (limited_by, together) = nearest?;
    let meeting = together.first()?;
    let (from, gap_mm) = (meeting.at, meeting.distance_mm);
    let to = PointFloor {
        x_mm: from.x_mm + gap_mm * direction.x,
        y_mm: from.y_mm + gap_mm * direction.y,
    };
    let end = side.end(&placed, &together, pose);
    Some(SideMargin { zone: None, side, end, gap_mm, limited_by, from, to })
}

/// The nearest meetings and what is met; never without one.
fn first(
    sorted: &[Meeting],
    name: impl Fn(&Meeting) -> Neighbour,
) -> Option<(Neighbour, Vec<Meeting>)> {
    let nearest = sorted.first()?;
    let most_mm = nearest.distance_mm + TOGETHER_MM;
    let together = sorted.iter().take_while(|one| one.distance_mm <= most_mm).copied().collect();
    Some((name(nearest), together))
}

impl Side {
    /// The way to the side on the floor.
    fn direction(self, pose: &PoseFloor) -> Direction {
        let (x_mm, y_mm) = match self {
            Self::Front => (1.0, 0.0),
            Self::Rear => (-1.0, 0.0),
            Self::Left => (0.0, 1.0),
            Self::Right => (0.0, -1.0),
        };
        let to = pose.to_floor(OffsetVehicle { x_mm, y_mm });
        let (x, y) = (to.x_mm - pose.x_mm(), to.y_mm - pose.y_mm());
        let length = x.hypot(y);
        Direction { x: x / length, y: y / length }
    }

    /// The ends of the side: the one that comes first along it and the one that comes last.
    fn ends(self) -> (Self, Self) {
        match self {
            Self::Front | Self::Rear => (Self::Right, Self::Left),
            Self::Left | Self::Right => (Self::Rear, Self::Front),
        }
    }

    /// The end at which a shape meets something, by thirds of its length along the side.
    fn end(self, placed: &Polygon, together: &[Meeting], pose: &PoseFloor) -> Option<Self> {
        let (low, high) = self.ends();
        let way = high.direction(pose);
        let along = |at: &PointFloor| way.x * at.x_mm + way.y * at.y_mm;
        let (least, most) = range(placed.vertices().iter().map(along));
        let (from, to) = range(together.iter().map(|one| along(&one.at)));
        let third = (most - least) / 3.0;
        if to - from > 1.5 * third {
            None
        } else if to <= least + third {
            Some(low)
        } else if from >= most - third {
            Some(high)
        } else {
            None
        }
    }
}

fn range(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), value| {
        (least.min(value), most.max(value))
    })
}

impl fmt::Display for SideMargin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.zone {
            Some(zone) => write!(f, "zone {zone}, {}", self.side)?,
            None => write!(f, "vehicle, {}", self.side)?,
        }
        if let Some(end) = self.end {
            write!(f, " {end}")?;
        }
        write!(f, ": {:.0} mm to {}", self.gap_mm, self.limited_by)
    }
}
