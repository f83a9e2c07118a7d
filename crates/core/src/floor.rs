//! The floor: bays with their outline, obstructions, stations and daylight openings.

mod bay;
mod obstruction;
mod opening;
mod placing;

pub use bay::{Bay, BayDraft, DAYLIGHT_OPENINGS_MAX, OBSTRUCTIONS_MAX, STATIONS_MAX, Station};
pub use obstruction::{HEIGHT_MM_MAX, Obstruction, ObstructionDraft};
pub use opening::{
    DaylightOpening, DaylightOpeningKind, DrawnOpening, DrawnPlace, WALL_OFF_MM_MAX,
};
pub use placing::{HEADINGS_MAX, Placing};
