//! Reference cases: values from publications and general-purpose libraries, and how our results
//! are held against them.
//!
//! A folder's files are split into cases by their shape alone ([`split`]); a case is recognised by
//! its keys, wherever it stands. What no [`Kind`] recognises is counted as skipped, never dropped.
//!
//! To add a kind: one file beside the others with a `KIND`, and its line in [`KINDS`].

mod cases;
mod compare;
mod decision;
mod floor_numbers;
mod floor_plane;
mod inclination;
mod kind;
mod light;
mod placement;
mod regression;
mod run;
mod slope;
mod sun;
mod surface;
mod vin;
mod wall_time;

pub use cases::{Case, split};
pub use compare::Comparison;
pub use kind::{Kind, Mismatch};
pub use run::{Tally, run};

/// Every kind of case that is checked.
pub const KINDS: &[Kind] = &[
    wall_time::INSTANTS,
    wall_time::ELAPSED,
    vin::VALIDITY,
    vin::SUM,
    vin::REFUSAL,
    decision::GUARDED,
    decision::BETWEEN_TWO,
    decision::REJECTION,
    floor_numbers::PROFILE,
    floor_numbers::TILT,
    inclination::HEIGHT_DIFFERENCE,
    inclination::TWO_HEIGHTS,
    light::SPACING,
    light::GRID,
    light::UNIFORMITY,
    light::POINT_SOURCES,
    regression::CERTIFIED,
    regression::EXACT_PLANE,
    slope::FOUR_WHEELS,
    slope::RESULTANT,
    slope::WITHIN,
    surface::HEIGHTS,
    floor_plane::PLANE,
    floor_plane::NO_PLANE,
    sun::POSITION,
    sun::RISE_AND_SET,
    sun::WINDOW,
    sun::SUN_FREE,
    placement::PLACEMENT,
];
