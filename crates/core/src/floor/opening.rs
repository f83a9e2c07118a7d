//! A daylight opening of a bay: what it is, and where it is if it was drawn.
//!
//! An opening that is drawn lies on the bay's edge or over the bay, unless it is said to lie beyond
//! it: then its light crosses other floor first. Of an opening that is not drawn nothing is
//! computed; the sun is confirmed at the vehicle.

use crate::axes::PointFloor;
use crate::daylight::{BlindState, DoorState, HorizonProfile, Opening, OpeningDraft, OpeningPlace};
use crate::demand::kinds::kinds;
use crate::fault::{Fault, FaultList, Faults};
use crate::ids::DaylightOpeningId;
use crate::region::{Polygon, common_part};

/// How far the base of an opening may lie from the bay's edge, millimetres: a wall's thickness,
/// where outlines are drawn along its inner side.
pub const WALL_OFF_MM_MAX: f64 = 300.0;

/// The most by which the base may turn out of the direction of the edge: the sine of 5 degrees.
const WALL_TURN_SINE_MAX: f64 = 0.087_155_742_747_658_17;

kinds! {
    /// What lets the daylight in.
    DaylightOpeningKind ("kind") {
        /// An opening in a wall, glazed.
        Window = "window",
        /// An opening in the roof, glazed.
        Skylight = "skylight",
        /// A door or gate, glazed or open.
        Door = "door",
    }
}

/// A window, skylight or door that lets daylight into a bay.
#[derive(Debug, Clone, PartialEq)]
pub struct DaylightOpening {
    /// Its name, unique within the bay.
    pub id: DaylightOpeningId,
    /// What it is.
    pub kind: DaylightOpeningKind,
    /// Whether it can be shut against the light.
    pub blind: bool,
    /// Where it is and how it is assumed to stand, if it was drawn.
    pub drawn: Option<DrawnOpening>,
}

/// Where an opening is, and how it is assumed to stand while work runs.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnOpening {
    /// Where it is.
    pub place: DrawnPlace,
    /// Whether its blind is assumed to be closed.
    pub blind_closed: bool,
    /// How a door is assumed to stand; none means open.
    pub door: Option<DoorState>,
    /// The skyline seen from it, azimuth and elevation, degrees; none means a free horizon.
    pub horizon_deg: Vec<(f64, f64)>,
    /// Whether it lies in a wall or roof away from the bay.
    pub beyond_bay: bool,
}

/// Where an opening was drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum DrawnPlace {
    /// An upright rectangle on a wall.
    Wall {
        /// The two ends of its lower edge in floor axes, millimetres.
        base_mm: Vec<(f64, f64)>,
        /// Height of its lower edge, millimetres.
        sill_mm: f64,
        /// Height of its upper edge, millimetres.
        head_mm: f64,
        /// Towards outdoors; none means away from the bay.
        outward: Option<(f64, f64)>,
    },
    /// A level polygon in the roof.
    Roof {
        /// Its corners in floor axes, millimetres.
        outline_mm: Vec<(f64, f64)>,
        /// Its height, millimetres.
        height_mm: f64,
    },
}

/// The bay that an opening is drawn for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Room<'a> {
    /// Its outline, if that is sound.
    pub(super) outline: Option<&'a Polygon>,
    pub(super) ceiling_mm: f64,
}

impl DaylightOpening {
    /// Checks the opening against its bay; none where it is not drawn.
    pub(super) fn checked(&self, room: Room<'_>) -> Result<Option<Opening>, Faults> {
        let Some(drawn) = &self.drawn else { return Ok(None) };
        let mut faults = FaultList::new();
        self.check_states(&mut faults, drawn);
        let horizon = if drawn.horizon_deg.is_empty() {
            None
        } else {
            faults.take("horizon", HorizonProfile::new(&drawn.horizon_deg))
        };
        let place = match &drawn.place {
            DrawnPlace::Wall { base_mm, sill_mm, head_mm, outward } => {
                let place = wall(&mut faults, base_mm, *outward, drawn.beyond_bay, room);
                place.map(|(base_mm, outward_normal)| OpeningPlace::Wall {
                    base_mm,
                    sill_mm: *sill_mm,
                    head_mm: *head_mm,
                    outward_normal,
                })
            }
            DrawnPlace::Roof { outline_mm, height_mm } => {
                check_roof(&mut faults, outline_mm, *height_mm, drawn.beyond_bay, room);
                Some(OpeningPlace::Roof { outline_mm: outline_mm.clone(), height_mm: *height_mm })
            }
        };
        let outer = match &drawn.place {
            DrawnPlace::Wall { .. } => "wall",
            DrawnPlace::Roof { .. } => "roof",
        };
        let blind = match (self.blind, drawn.blind_closed) {
            (false, _) => BlindState::None,
            (true, false) => BlindState::Open,
            (true, true) => BlindState::Closed,
        };
        let door =
            (self.kind == DaylightOpeningKind::Door).then(|| drawn.door.unwrap_or(DoorState::Open));
        let opening = place.and_then(|place| {
            let draft = OpeningDraft { id: self.id.clone(), place, blind, door, horizon };
            faults.take(outer, Opening::new(draft))
        });
        faults.finish(opening)
    }

    fn check_states(&self, faults: &mut FaultList, drawn: &DrawnOpening) {
        let on_wall = matches!(drawn.place, DrawnPlace::Wall { .. });
        if on_wall == (self.kind == DaylightOpeningKind::Skylight) {
            let (field, limit) = if on_wall {
                ("wall", "be left out for a skylight, which lies in the roof")
            } else {
                ("roof", "be left out for windows and doors, which lie on a wall")
            };
            faults.push(Fault::new(field, "given", limit, "correct the kind or the place"));
        }
        if drawn.blind_closed && !self.blind {
            faults.push(Fault::new(
                "blind_closed",
                "true",
                "be false where there is no blind",
                "say that there is a blind, or leave this out",
            ));
        }
        if drawn.door.is_some() && self.kind != DaylightOpeningKind::Door {
            faults.push(Fault::new(
                "door_state",
                "given",
                "be left out for windows and skylights",
                "correct the kind, or leave this out",
            ));
        }
    }
}

type Base = [(f64, f64); 2];

/// Base and outward normal of an opening on a wall; a stand-in for the normal after a fault, so that
/// the rest is checked too.
fn wall(
    faults: &mut FaultList,
    base_mm: &[(f64, f64)],
    outward: Option<(f64, f64)>,
    beyond_bay: bool,
    room: Room<'_>,
) -> Option<(Base, (f64, f64))> {
    let [from, to] = base_mm else {
        faults.push(Fault::new(
            "wall.base_mm",
            format!("a list of {}", base_mm.len()),
            "have 2 points",
            "give the two ends of its lower edge",
        ));
        return None;
    };
    let base = [*from, *to];
    let square = (to.1 - from.1, from.0 - to.0);
    let Some(outline) = room.outline else { return Some((base, square)) };
    if beyond_bay {
        let Some(outward) = outward else {
            faults.push(Fault::new(
                "wall.outward_normal",
                "absent",
                "be given for an opening beyond the bay",
                "give the direction from the opening to outdoors in floor axes",
            ));
            return Some((base, square));
        };
        let faces = |corner: &PointFloor| {
            outward.0 * (corner.x_mm - from.0) + outward.1 * (corner.y_mm - from.1) < 0.0
        };
        if !outline.vertices().iter().any(faces) {
            faults.push(wrong_side(outward));
        }
        return Some((base, outward));
    }
    let Some(away) = away_from_bay(outline, base) else {
        faults.push(Fault::new(
            "wall.base_mm",
            format!("({}, {}) to ({}, {}) mm", from.0, from.1, to.0, to.1),
            format!("lie along one edge of the bay's outline, within {WALL_OFF_MM_MAX} mm of it"),
            "correct the two ends, or say that the opening lies beyond the bay",
        ));
        return Some((base, outward.unwrap_or(square)));
    };
    if let Some(outward) = outward
        && outward.0 * away.0 + outward.1 * away.1 <= 0.0
    {
        faults.push(wrong_side(outward));
    }
    Some((base, outward.unwrap_or(away)))
}

fn wrong_side(outward: (f64, f64)) -> Fault {
    Fault::new(
        "wall.outward_normal",
        format!("({}, {})", outward.0, outward.1),
        "point away from the bay",
        "give the direction from the opening to outdoors, or leave it out",
    )
}

/// The direction away from the bay, square to a base that lies along one of its edges.
fn away_from_bay(outline: &Polygon, base: Base) -> Option<(f64, f64)> {
    let corners = outline.vertices();
    let along = (base[1].0 - base[0].0, base[1].1 - base[0].1);
    let length = along.0.hypot(along.1);
    let mut nearest: Option<(f64, (f64, f64))> = None;
    for (at, from) in corners.iter().enumerate() {
        let to = &corners[(at + 1) % corners.len()];
        let edge = (to.x_mm - from.x_mm, to.y_mm - from.y_mm);
        let edge_length = edge.0.hypot(edge.1);
        let turn = (along.0 * edge.1 - along.1 * edge.0).abs();
        if length > 0.0 && turn > WALL_TURN_SINE_MAX * length * edge_length {
            continue;
        }
        let off = base.map(|end| distance_to_edge(end, from, edge));
        let off = off[0].max(off[1]);
        if off <= WALL_OFF_MM_MAX && nearest.is_none_or(|(least, _)| off < least) {
            nearest = Some((off, edge));
        }
    }
    let (_, edge) = nearest?;
    // To the right of an edge lies the outside of an outline that runs counter-clockwise.
    let right = (edge.1, -edge.0);
    let right = if is_counter_clockwise(corners) { right } else { (-right.0, -right.1) };
    // The base itself says which way is square to it; the edge only says which side.
    let square = (along.1, -along.0);
    let same_side = square.0 * right.0 + square.1 * right.1 > 0.0;
    Some(if same_side { square } else { (-square.0, -square.1) })
}

fn distance_to_edge(point: (f64, f64), from: &PointFloor, edge: (f64, f64)) -> f64 {
    let off = (point.0 - from.x_mm, point.1 - from.y_mm);
    let square = edge.0 * edge.0 + edge.1 * edge.1;
    let share = ((off.0 * edge.0 + off.1 * edge.1) / square).clamp(0.0, 1.0);
    (off.0 - share * edge.0).hypot(off.1 - share * edge.1)
}

fn is_counter_clockwise(corners: &[PointFloor]) -> bool {
    let doubled: f64 = corners
        .iter()
        .zip(corners.iter().cycle().skip(1))
        .map(|(from, to)| from.x_mm * to.y_mm - to.x_mm * from.y_mm)
        .sum();
    doubled > 0.0
}

fn check_roof(
    faults: &mut FaultList,
    outline_mm: &[(f64, f64)],
    height_mm: f64,
    beyond_bay: bool,
    room: Room<'_>,
) {
    if !beyond_bay
        && let Some(bay) = room.outline
        && let Ok(outline) = Polygon::new(outline_mm)
        && !common_part(&outline, bay).has_area()
    {
        faults.push(Fault::new(
            "roof.outline_mm",
            "beside the bay",
            "lie over the bay, in part at least",
            "correct the corners, or say that the opening lies beyond the bay",
        ));
    }
    if height_mm < room.ceiling_mm {
        faults.push(Fault::new(
            "roof.height_mm",
            height_mm,
            format!("not be below the bay's ceiling, {} mm", room.ceiling_mm),
            "measure the height of the opening above the floor",
        ));
    }
}

#[cfg(test)]
mod tests;
