//! A body that stands in a bay: its outline, the heights it takes up, and when it stands there.

use crate::draft_checks::dates_in_order;
use crate::fault::{Fault, FaultList, Faults};
use crate::ids::ObstructionId;
use crate::region::Polygon;
use chrono::NaiveDate;

/// The greatest height above the floor of anything in a shop, millimetres.
pub const HEIGHT_MM_MAX: f64 = 30_000.0;

/// An obstruction as it was given, not yet checked.
#[derive(Debug, Clone, PartialEq)]
pub struct ObstructionDraft {
    /// Its name, unique within the bay.
    pub id: ObstructionId,
    /// Its corners in floor axes, millimetres, in order, either way round; it may reach over the
    /// bay's edge.
    pub outline_mm: Vec<(f64, f64)>,
    /// The height above the floor at which it begins, 0 to [`HEIGHT_MM_MAX`].
    pub from_mm: f64,
    /// The height at which it ends, above `from_mm`, at most [`HEIGHT_MM_MAX`].
    pub to_mm: f64,
    /// Whether it is of metal.
    pub metal: bool,
    /// From the first day it stands there to the first day it no longer does; absent: always.
    pub dates: Option<(NaiveDate, NaiveDate)>,
}

/// A body that stands in a bay: a column, a bench, a lift.
#[derive(Debug, Clone, PartialEq)]
pub struct Obstruction {
    id: ObstructionId,
    outline: Polygon,
    from_mm: f64,
    to_mm: f64,
    metal: bool,
    dates: Option<(NaiveDate, NaiveDate)>,
}

impl Obstruction {
    /// Checks and takes an obstruction.
    ///
    /// # Errors
    /// Every fault of outline, heights and dates.
    pub fn new(draft: ObstructionDraft) -> Result<Self, Faults> {
        let ObstructionDraft { id, outline_mm, from_mm, to_mm, metal, dates } = draft;
        let mut faults = FaultList::new();
        let outline = Polygon::checked_into(&mut faults, "outline_mm", &outline_mm);
        faults.number_within("from_mm", from_mm, 0.0, HEIGHT_MM_MAX, "mm");
        faults.number_within("to_mm", to_mm, 0.0, HEIGHT_MM_MAX, "mm");
        if to_mm <= from_mm {
            faults.push(Fault::new(
                "to_mm",
                to_mm,
                format!("be above from_mm, which is {from_mm} mm"),
                "give the heights of the underside and of the top above the floor",
            ));
        }
        if let Some((from, until)) = dates {
            dates_in_order(&mut faults, "dates", from, until);
        }
        faults.finish(Self { id, outline, from_mm, to_mm, metal, dates })
    }

    /// Its name.
    pub fn id(&self) -> &ObstructionId {
        &self.id
    }

    /// Its outline in floor axes.
    pub fn outline(&self) -> &Polygon {
        &self.outline
    }

    /// The height above the floor at which it begins, millimetres.
    pub fn from_mm(&self) -> f64 {
        self.from_mm
    }

    /// The height above the floor at which it ends, millimetres.
    pub fn to_mm(&self) -> f64 {
        self.to_mm
    }

    /// Whether it is of metal.
    pub fn metal(&self) -> bool {
        self.metal
    }

    /// First day and first day after, when it does not stand there always.
    pub fn dates(&self) -> Option<(NaiveDate, NaiveDate)> {
        self.dates
    }

    /// Whether it stands there on a day.
    pub fn stands_on(&self, day: NaiveDate) -> bool {
        self.dates.is_none_or(|(from, until)| from <= day && day < until)
    }

    /// Whether it takes up any height from the floor up to `up_to_mm`.
    ///
    /// # Edge cases
    /// An obstruction that begins exactly at `up_to_mm` counts: nothing is left between.
    pub fn meets_heights_up_to(&self, up_to_mm: f64) -> bool {
        self.from_mm <= up_to_mm
    }
}
