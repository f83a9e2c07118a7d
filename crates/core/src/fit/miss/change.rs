//! The single changes that are tried, each with its size in steps.

use crate::axes::PoseFloor;
use crate::demand::kinds::kinds;
use crate::fit::{Neighbour, Quantity, Unit};
use crate::ids::{BayId, DaylightOpeningId, ObstructionId, UnitKindId};
use chrono::NaiveDate;
use std::fmt;

/// The most floor that is looked for at a side, millimetres.
pub const FLOOR_GAIN_MM_MAX: u32 = 10_000;
/// The most light that is looked for, lux.
pub const LIGHT_ADDED_LUX_MAX: u32 = 5_000;
/// The most that a floor is raised or lowered, millimetres.
pub const RELEVEL_MM_MAX: u32 = 200;
/// The step in which the uncertainty of heights is made smaller, millimetres.
const HEIGHT_U_STEP_MM: f64 = 0.01;
/// The step in which the relative uncertainty of light readings is made smaller.
const LIGHT_U_STEP: f64 = 0.001;

kinds! {
    /// The kind of a single change; the one that takes less effort first (our own choice).
    ChangeKind ("change") {
        /// The blind of a daylight opening is closed.
        CloseBlind = "close-blind",
        /// A mark is painted where there is room already.
        PaintStation = "paint-station",
        /// Nothing stands in a bay next to it meanwhile.
        KeepNeighbourEmpty = "keep-neighbour-empty",
        /// The bay is surveyed again and shows the same figures.
        RenewSurvey = "renew-survey",
        /// Heights are measured with less uncertainty and show the same figures.
        MeasureHeights = "measure-heights",
        /// Light is measured with less uncertainty and shows the same figures.
        MeasureLight = "measure-light",
        /// An obstruction is taken away.
        RemoveObstruction = "remove-obstruction",
        /// A unit of equipment is bought.
        BuyUnit = "buy-unit",
        /// Lamps are added.
        AddLight = "add-light",
        /// The floor is levelled.
        Relevel = "relevel",
        /// The bay grows at a side.
        GainFloor = "gain-floor",
    }
}

/// A single change to a bay, to its survey or to the equipment.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// The blind of a daylight opening is closed while work runs.
    CloseBlind {
        /// The opening.
        opening: DaylightOpeningId,
        /// The local date that was asked for.
        on: NaiveDate,
        /// How much longer runs may take place on that date, minutes.
        minutes: u32,
    },
    /// A station is painted at a pose at which there is room.
    PaintStation {
        /// The pose.
        pose: PoseFloor,
    },
    /// The floor of a neighbouring bay may be reached over, with all that stands in it for good.
    KeepNeighbourEmpty {
        /// That bay.
        bay: BayId,
    },
    /// The bay is surveyed again today, with the figures of the survey that no longer counts.
    RenewSurvey,
    /// Heights as surveyed, with a smaller standard uncertainty.
    MeasureHeights {
        /// The uncertainty now, millimetres.
        from_mm: f64,
        /// Steps of 0.01 mm less.
        steps: u32,
    },
    /// Light as surveyed, with a smaller relative standard uncertainty.
    MeasureLight {
        /// The uncertainty now, relative to the reading.
        from: f64,
        /// Steps of 0.001 less.
        steps: u32,
    },
    /// An obstruction is taken away.
    RemoveObstruction {
        /// Which one.
        obstruction: ObstructionId,
    },
    /// A unit of a kind of which none can be used is bought.
    BuyUnit {
        /// The kind.
        kind: UnitKindId,
    },
    /// Every reading of the bay rises by the same.
    AddLight {
        /// Lux.
        lux: u32,
    },
    /// Every surveyed point is raised or lowered towards one height, as far as needed.
    Relevel {
        /// The height, millimetres above the survey's datum.
        to_mm: f64,
        /// The most that a point is raised or lowered, millimetres.
        most_mm: u32,
    },
    /// A strip of clear floor along a whole side of the bay.
    GainFloor {
        /// The side: the bay's edge that begins at this vertex of its outline, with the edges that
        /// go straight on from it.
        edge: usize,
        /// How wide the strip is, millimetres.
        gain_mm: u32,
    },
}

impl Change {
    /// Its kind.
    pub fn kind(&self) -> ChangeKind {
        match self {
            Self::CloseBlind { .. } => ChangeKind::CloseBlind,
            Self::PaintStation { .. } => ChangeKind::PaintStation,
            Self::KeepNeighbourEmpty { .. } => ChangeKind::KeepNeighbourEmpty,
            Self::RenewSurvey => ChangeKind::RenewSurvey,
            Self::MeasureHeights { .. } => ChangeKind::MeasureHeights,
            Self::MeasureLight { .. } => ChangeKind::MeasureLight,
            Self::RemoveObstruction { .. } => ChangeKind::RemoveObstruction,
            Self::BuyUnit { .. } => ChangeKind::BuyUnit,
            Self::AddLight { .. } => ChangeKind::AddLight,
            Self::Relevel { .. } => ChangeKind::Relevel,
            Self::GainFloor { .. } => ChangeKind::GainFloor,
        }
    }

    /// The same change in a number of steps; one that has no size stays as it is.
    pub(super) fn sized(&self, count: u32) -> Self {
        let mut sized = self.clone();
        match &mut sized {
            Self::MeasureHeights { steps, .. } | Self::MeasureLight { steps, .. } => *steps = count,
            Self::AddLight { lux } => *lux = count,
            Self::Relevel { most_mm, .. } => *most_mm = count,
            Self::GainFloor { gain_mm, .. } => *gain_mm = count,
            Self::PaintStation { .. }
            | Self::KeepNeighbourEmpty { .. }
            | Self::RenewSurvey
            | Self::RemoveObstruction { .. }
            | Self::CloseBlind { .. }
            | Self::BuyUnit { .. } => {}
        }
        sized
    }

    /// The steps that it has; none when it has no size.
    fn steps(&self) -> Option<u32> {
        match *self {
            Self::MeasureHeights { steps, .. } | Self::MeasureLight { steps, .. } => Some(steps),
            Self::AddLight { lux } => Some(lux),
            Self::Relevel { most_mm, .. } => Some(most_mm),
            Self::GainFloor { gain_mm, .. } => Some(gain_mm),
            Self::PaintStation { .. }
            | Self::CloseBlind { .. }
            | Self::KeepNeighbourEmpty { .. }
            | Self::RenewSurvey
            | Self::RemoveObstruction { .. }
            | Self::BuyUnit { .. } => None,
        }
    }

    /// The minutes that a closed blind leaves for the run; none for other changes.
    pub fn minutes(&self) -> Option<u32> {
        match *self {
            Self::CloseBlind { minutes, .. } => Some(minutes),
            _ => None,
        }
    }

    /// Whether another change is the same, except for the minutes that a blind leaves: how many these
    /// are depends on the work.
    pub fn is_but_for_minutes(&self, other: &Self) -> bool {
        match (self, other) {
            (
                Self::CloseBlind { opening, on, .. },
                Self::CloseBlind { opening: theirs, on: when, .. },
            ) => (opening, on) == (theirs, when),
            _ => self == other,
        }
    }

    /// The change with one step less; none when nothing is left of it.
    pub fn one_step_less(&self) -> Option<Self> {
        let less = self.steps()?.checked_sub(1).filter(|less| *less > 0)?;
        Some(self.sized(less))
    }

    /// The most steps that are looked for.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a count of steps of an uncertainty of at most 100 mm, never negative"
    )]
    pub(super) fn steps_max(&self) -> u32 {
        // The uncertainty never becomes zero: at least one step is left of it.
        let left = |from: f64, step: f64| ((from / step).ceil() as u32).saturating_sub(1).max(1);
        match *self {
            Self::MeasureHeights { from_mm, .. } => left(from_mm, HEIGHT_U_STEP_MM),
            Self::MeasureLight { from, .. } => left(from, LIGHT_U_STEP),
            Self::AddLight { .. } => LIGHT_ADDED_LUX_MAX,
            Self::Relevel { .. } => RELEVEL_MM_MAX,
            Self::GainFloor { .. } => FLOOR_GAIN_MM_MAX,
            Self::PaintStation { .. }
            | Self::KeepNeighbourEmpty { .. }
            | Self::RenewSurvey
            | Self::RemoveObstruction { .. }
            | Self::CloseBlind { .. }
            | Self::BuyUnit { .. } => 1,
        }
    }

    /// Its size with its unit: what is gained, moved or added, or the uncertainty that is enough; none
    /// for a change that is made or not.
    pub fn size(&self) -> Option<Quantity> {
        let quantity = |value: f64, unit: Unit| Some(Quantity { value, unit });
        match *self {
            Self::MeasureHeights { from_mm, steps } => {
                quantity(less(from_mm, steps, HEIGHT_U_STEP_MM), Unit::Millimetre)
            }
            Self::MeasureLight { from, steps } => {
                quantity(less(from, steps, LIGHT_U_STEP), Unit::Ratio)
            }
            Self::AddLight { lux } => quantity(f64::from(lux), Unit::Lux),
            Self::Relevel { most_mm, .. } => quantity(f64::from(most_mm), Unit::Millimetre),
            Self::GainFloor { gain_mm, .. } => quantity(f64::from(gain_mm), Unit::Millimetre),
            Self::CloseBlind { minutes, .. } => quantity(f64::from(minutes), Unit::Minute),
            Self::PaintStation { .. }
            | Self::KeepNeighbourEmpty { .. }
            | Self::RenewSurvey
            | Self::RemoveObstruction { .. }
            | Self::BuyUnit { .. } => None,
        }
    }
}

/// What is left of an uncertainty after a number of steps; never zero.
fn less(from: f64, steps: u32, step: f64) -> f64 {
    (from - f64::from(steps) * step).max(step / 10.0)
}

impl fmt::Display for Change {
    /// What to do, without a full stop.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let size = |f: &mut fmt::Formatter<'_>| match self.size() {
            Some(size) => write!(f, "{size}"),
            None => Ok(()),
        };
        match self {
            Self::CloseBlind { opening, on, .. } => {
                write!(f, "close the blind on daylight opening {opening}, which on {on} leaves ")?;
                size(f)?;
                f.write_str(" more for the run")
            }
            Self::PaintStation { pose } => write!(f, "paint a station at {pose}"),
            Self::KeepNeighbourEmpty { bay } => {
                write!(f, "keep bay {bay} empty meanwhile and let zones reach over it")
            }
            Self::RenewSurvey => f.write_str("survey the bay again, if it shows the same figures"),
            Self::MeasureHeights { from_mm, steps } => write!(
                f,
                "measure heights with a standard uncertainty of {:.2} mm or less",
                less(*from_mm, *steps, HEIGHT_U_STEP_MM)
            ),
            Self::MeasureLight { from, steps } => write!(
                f,
                "measure light with a standard uncertainty of {:.1} % or less",
                100.0 * less(*from, *steps, LIGHT_U_STEP)
            ),
            Self::RemoveObstruction { obstruction } => write!(f, "take {obstruction} away"),
            Self::BuyUnit { kind } => write!(f, "buy a unit of kind {kind}"),
            Self::AddLight { .. } => {
                f.write_str("add ")?;
                size(f)?;
                f.write_str(" everywhere")
            }
            Self::Relevel { to_mm, .. } => {
                f.write_str("level the floor, raised or lowered by up to ")?;
                size(f)?;
                write!(f, " towards {to_mm:.1} mm above the datum")
            }
            Self::GainFloor { edge, .. } => {
                f.write_str("gain ")?;
                size(f)?;
                write!(f, " of clear floor along {}", Neighbour::Edge(*edge))
            }
        }
    }
}
