//! A daylight opening: where it is, what stands before it, and whether it is shut.
//!
//! The glass is thin and lets through whatever comes from outside. Blinds and doors move: a result
//! holds under the state that was assumed, which is listed with it as an [`Assumption`].

use super::cone::Body;
use super::convex::convex_parts;
use super::horizon::HorizonProfile;
use super::vector::Vector;
use crate::axes::{FLOOR_COORDINATE_MM_MAX, PointFloor};
use crate::fault::{Fault, FaultList, Faults};
use crate::floor::HEIGHT_MM_MAX;
use crate::ids::DaylightOpeningId;
use crate::region::Polygon;
use std::fmt;

/// The most corners of an opening in the roof.
pub const ROOF_OPENING_CORNERS_MAX: usize = 32;
/// The least width and height of an opening, millimetres.
pub const OPENING_SIZE_MM_MIN: f64 = 1.0;
/// The most by which an outward normal may be off square to its wall, degrees.
pub const NORMAL_OFF_SQUARE_DEG_MAX: f64 = 1.0;

/// Where an opening is, as it was given.
#[derive(Debug, Clone, PartialEq)]
pub enum OpeningPlace {
    /// An upright rectangle on a wall, at any angle to the floor's axes.
    Wall {
        /// The two ends of its lower edge in floor axes, millimetres.
        base_mm: [(f64, f64); 2],
        /// Height of its lower edge above the floor, millimetres.
        sill_mm: f64,
        /// Height of its upper edge, above the sill.
        head_mm: f64,
        /// Points outdoors, floor axes, of any length; square to the base within
        /// [`NORMAL_OFF_SQUARE_DEG_MAX`].
        outward_normal: (f64, f64),
    },
    /// A level polygon in the roof; outdoors is above it.
    Roof {
        /// Its corners in floor axes, millimetres, in order, either way round; at most
        /// [`ROOF_OPENING_CORNERS_MAX`].
        outline_mm: Vec<(f64, f64)>,
        /// Its height above the floor, millimetres.
        height_mm: f64,
    },
}

/// What can be drawn over an opening against the light.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BlindState {
    /// There is no blind.
    None,
    /// There is one, and it is assumed to be open.
    Open,
    /// There is one, and it is assumed to be closed: no direct sun passes.
    Closed,
}

/// How a door is assumed to stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DoorState {
    /// Open: the sun shines through it.
    Open,
    /// Closed, without glass: no sun passes.
    ClosedOpaque,
    /// Closed, glazed all over: the sun shines through it as through a window.
    ClosedGlazed,
}

/// An opening as it was given, not yet checked.
#[derive(Debug, Clone, PartialEq)]
pub struct OpeningDraft {
    /// Its name, unique within the bay.
    pub id: DaylightOpeningId,
    /// Where it is.
    pub place: OpeningPlace,
    /// Its blind.
    pub blind: BlindState,
    /// How it stands, if it is a door.
    pub door: Option<DoorState>,
    /// The skyline seen from it; absent: a free horizon.
    pub horizon: Option<HorizonProfile>,
}

/// A window, skylight or door with all that bears on the sun in it.
#[derive(Debug, Clone)]
pub struct Opening {
    draft: OpeningDraft,
    surface: Surface,
}

/// The opening's surface in floor axes.
#[derive(Debug, Clone)]
pub(super) enum Surface {
    /// Ends of the base, sill and head, and the unit normal that points outdoors.
    Wall { base: [PointFloor; 2], sill_mm: f64, head_mm: f64, outward: (f64, f64) },
    /// Convex parts and their height.
    Roof { parts: Vec<Vec<PointFloor>>, height_mm: f64 },
}

/// A state that a result rests on: somebody has to see to it that it holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Assumption {
    /// The opening.
    pub opening: DaylightOpeningId,
    /// What is assumed of it.
    pub state: AssumedState,
}

/// What is assumed of an opening.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AssumedState {
    /// The state of its blind.
    Blind(BlindState),
    /// The state of the door.
    Door(DoorState),
}

impl Opening {
    /// Checks and takes an opening.
    ///
    /// # Errors
    /// A fault for each coordinate or height out of range, a base shorter or a height smaller than
    /// [`OPENING_SIZE_MM_MIN`], a normal that is no direction or not square to the base, and
    /// every fault of a roof opening's outline.
    pub fn new(draft: OpeningDraft) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        let surface = match &draft.place {
            OpeningPlace::Wall { base_mm, sill_mm, head_mm, outward_normal } => {
                check_heights(&mut faults, *sill_mm, *head_mm);
                wall(&mut faults, *base_mm, (*sill_mm, *head_mm), *outward_normal)
            }
            OpeningPlace::Roof { outline_mm, height_mm } => {
                roof(&mut faults, outline_mm, *height_mm)
            }
        };
        faults.finish(Self { draft, surface })
    }

    /// Its name.
    pub fn id(&self) -> &DaylightOpeningId {
        &self.draft.id
    }

    /// The opening as it was given.
    pub fn parts(&self) -> &OpeningDraft {
        &self.draft
    }

    /// The same opening with its blind in another state.
    #[must_use]
    pub fn with_blind(mut self, blind: BlindState) -> Self {
        self.draft.blind = blind;
        self
    }

    /// The same opening, a door that stands otherwise.
    #[must_use]
    pub fn with_door(mut self, door: Option<DoorState>) -> Self {
        self.draft.door = door;
        self
    }

    /// Whether the sun can pass in the state assumed.
    pub fn lets_sun_in(&self) -> bool {
        self.draft.blind != BlindState::Closed && self.draft.door != Some(DoorState::ClosedOpaque)
    }

    /// What is assumed of what can move.
    pub fn assumptions(&self) -> Vec<Assumption> {
        let blind = match self.draft.blind {
            BlindState::None => None,
            state @ (BlindState::Open | BlindState::Closed) => Some(AssumedState::Blind(state)),
        };
        let door = self.draft.door.map(AssumedState::Door);
        let states = blind.into_iter().chain(door);
        states.map(|state| Assumption { opening: self.draft.id.clone(), state }).collect()
    }

    /// Towards outdoors, unit vector in floor axes.
    pub(super) fn outward(&self) -> Vector {
        match &self.surface {
            Surface::Wall { outward, .. } => [outward.0, outward.1, 0.0],
            Surface::Roof { .. } => [0.0, 0.0, 1.0],
        }
    }

    /// Its surface.
    pub(super) fn surface(&self) -> &Surface {
        &self.surface
    }

    /// The convex parts of the glass above a height.
    pub(super) fn glass_above(&self, above_mm: f64) -> Vec<Body> {
        match &self.surface {
            Surface::Wall { base: [from, to], sill_mm, head_mm, .. } => {
                let low = sill_mm.max(above_mm);
                if *head_mm <= low {
                    return Vec::new();
                }
                let at = |point: &PointFloor, z: f64| [point.x_mm, point.y_mm, z];
                let corners = [at(from, low), at(to, low), at(to, *head_mm), at(from, *head_mm)];
                vec![Body::flat(corners.to_vec())]
            }
            Surface::Roof { height_mm, .. } if *height_mm <= above_mm => Vec::new(),
            Surface::Roof { parts, height_mm } => {
                let lifted = |part: &Vec<PointFloor>| {
                    Body::flat(
                        part.iter().map(|point| [point.x_mm, point.y_mm, *height_mm]).collect(),
                    )
                };
                parts.iter().map(lifted).collect()
            }
        }
    }
}

fn check_heights(faults: &mut FaultList, sill_mm: f64, head_mm: f64) {
    faults.number_within("sill_mm", sill_mm, 0.0, HEIGHT_MM_MAX, "mm");
    faults.number_within("head_mm", head_mm, 0.0, HEIGHT_MM_MAX, "mm");
    if head_mm - sill_mm < OPENING_SIZE_MM_MIN {
        faults.push(Fault::new(
            "head_mm",
            head_mm,
            format!("be at least {OPENING_SIZE_MM_MIN} mm above the sill, {sill_mm} mm"),
            "exchange sill and head, or measure again",
        ));
    }
}

fn wall(
    faults: &mut FaultList,
    base_mm: [(f64, f64); 2],
    (sill_mm, head_mm): (f64, f64),
    outward_normal: (f64, f64),
) -> Surface {
    let most = FLOOR_COORDINATE_MM_MAX;
    for (at, (x_mm, y_mm)) in base_mm.iter().enumerate() {
        faults.number_within(&format!("base_mm[{at}].x_mm"), *x_mm, -most, most, "mm");
        faults.number_within(&format!("base_mm[{at}].y_mm"), *y_mm, -most, most, "mm");
    }
    let base = base_mm.map(|(x_mm, y_mm)| PointFloor { x_mm, y_mm });
    let along = (base[1].x_mm - base[0].x_mm, base[1].y_mm - base[0].y_mm);
    let length = along.0.hypot(along.1);
    if length < OPENING_SIZE_MM_MIN {
        faults.push(Fault::new(
            "base_mm",
            format!("{length} mm long"),
            format!("be at least {OPENING_SIZE_MM_MIN} mm long"),
            "give the two ends of the lower edge",
        ));
    }
    let (normal_x, normal_y) = outward_normal;
    let square = (along.1 / length, -along.0 / length);
    let towards = normal_x * square.0 + normal_y * square.1;
    let off_square_deg = ((normal_x * along.0 + normal_y * along.1) / length)
        .atan2(towards.abs())
        .to_degrees()
        .abs();
    let is_direction =
        normal_x.is_finite() && normal_y.is_finite() && normal_x.hypot(normal_y) > 1e-9;
    if !is_direction || off_square_deg > NORMAL_OFF_SQUARE_DEG_MAX {
        faults.push(Fault::new(
            "outward_normal",
            format!("({normal_x}, {normal_y})"),
            format!("be square to the base within {NORMAL_OFF_SQUARE_DEG_MAX} degrees"),
            "give the direction from the opening to outdoors in floor axes",
        ));
    }
    // The wall itself says which way is square to it; the normal only says which side.
    let outward = if towards < 0.0 { (-square.0, -square.1) } else { square };
    Surface::Wall { base, sill_mm, head_mm, outward }
}

fn roof(faults: &mut FaultList, outline_mm: &[(f64, f64)], height_mm: f64) -> Surface {
    faults.number_within("height_mm", height_mm, 0.0, HEIGHT_MM_MAX, "mm");
    if outline_mm.len() > ROOF_OPENING_CORNERS_MAX {
        faults.push(Fault::new(
            "outline_mm",
            format!("a list of {}", outline_mm.len()),
            format!("have at most {ROOF_OPENING_CORNERS_MAX} corners"),
            "give several openings, or fewer corners",
        ));
    }
    let outline = faults.take("outline_mm", Polygon::new(outline_mm));
    let parts = outline.map(|outline| convex_parts(&outline)).unwrap_or_default();
    Surface::Roof { parts, height_mm }
}

impl fmt::Display for Assumption {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let state = match self.state {
            AssumedState::Blind(BlindState::None) => "there is no blind",
            AssumedState::Blind(BlindState::Open) => "the blind is open",
            AssumedState::Blind(BlindState::Closed) => "the blind is closed",
            AssumedState::Door(DoorState::Open) => "the door is open",
            AssumedState::Door(DoorState::ClosedOpaque) => "the door is closed",
            AssumedState::Door(DoorState::ClosedGlazed) => "the glazed door is closed",
        };
        write!(f, "assumed of {}: {state}", self.opening)
    }
}
