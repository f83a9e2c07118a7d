//! The adhesive of replaced glass: what was recorded when it was set, and the three instants that follow.
//!
//! The minutes are the adhesive maker's for the product, temperature and humidity of the day, told
//! by the person who set the glass. There is no default: that the minutes depend on these is common
//! practice; ANSI/AGSC/AGRSS 003 (from a public summary) asks for the maker's instructions.

use crate::fault::{Fault, FaultList, Faults};
use crate::ids::TaskId;
use chrono::{DateTime, TimeDelta, Utc};

/// The longest cure, in minutes: ten days.
pub const CURE_MINUTES_MAX: u32 = 14_400;

/// Minutes that the adhesive maker states, counted from the instant the glass is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CureMinutes {
    moved: u32,
    calibrated: u32,
    driven: u32,
}

impl CureMinutes {
    /// Takes the three stated spans: until moved, until calibrated, until driven.
    ///
    /// # Errors
    /// A fault for each span above [`CURE_MINUTES_MAX`], and one when the vehicle could be driven
    /// before it may be moved.
    pub fn new(moved: u32, calibrated: u32, driven: u32) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        for (field, minutes) in [
            ("moved_minutes", moved),
            ("calibrated_minutes", calibrated),
            ("driven_minutes", driven),
        ] {
            faults.number_within(field, minutes.into(), 0.0, CURE_MINUTES_MAX.into(), "minutes");
        }
        if driven < moved {
            faults.push(Fault::new(
                "driven_minutes",
                driven,
                format!("be at least moved_minutes ({moved})"),
                "read both spans again in the adhesive maker's sheet",
            ));
        }
        faults.finish(Self { moved, calibrated, driven })
    }

    /// Minutes until the vehicle may be moved.
    pub fn moved(&self) -> u32 {
        self.moved
    }

    /// Minutes until sensors that look through the glass may be calibrated.
    pub fn calibrated(&self) -> u32 {
        self.calibrated
    }

    /// Minutes until the vehicle may be driven.
    pub fn driven(&self) -> u32 {
        self.driven
    }
}

/// What an adhesive record is made from.
#[derive(Debug, Clone, PartialEq)]
pub struct AdhesiveDraft {
    /// The product, as on its package.
    pub product: String,
    /// When the glass was set.
    pub set_at: DateTime<Utc>,
    /// Temperature, degrees Celsius.
    pub temperature_c: f64,
    /// Relative humidity, percent.
    pub humidity_percent: f64,
    /// The maker's stated minutes for these conditions.
    pub cure: CureMinutes,
    /// Where the minutes are stated.
    pub document: String,
    /// The glass task; none for outside work.
    pub task: Option<TaskId>,
}

/// What was recorded when glass was set.
#[derive(Debug, Clone, PartialEq)]
pub struct Adhesive(AdhesiveDraft);

impl Adhesive {
    /// Checks and takes a record.
    ///
    /// # Errors
    /// A fault for an empty product or document, and for temperature or humidity out of range.
    pub fn new(draft: AdhesiveDraft) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        for (field, text) in [("product", &draft.product), ("document", &draft.document)] {
            if text.trim().is_empty() {
                faults.push(Fault::new(
                    field,
                    "empty",
                    "be stated",
                    "copy it from the adhesive's package or sheet",
                ));
            }
        }
        faults.number_within("temperature_c", draft.temperature_c, -40.0, 60.0, "degrees Celsius");
        faults.number_within("humidity_percent", draft.humidity_percent, 0.0, 100.0, "percent");
        faults.finish(Self(draft))
    }

    /// The record's parts.
    pub fn parts(&self) -> &AdhesiveDraft {
        &self.0
    }

    /// First instant at which the vehicle may be moved.
    pub fn movable_at(&self) -> DateTime<Utc> {
        self.instant(self.0.cure.moved)
    }

    /// First instant at which sensors that look through the glass may be calibrated.
    pub fn calibratable_at(&self) -> DateTime<Utc> {
        self.instant(self.0.cure.calibrated)
    }

    /// First instant at which the vehicle may be driven.
    pub fn drivable_at(&self) -> DateTime<Utc> {
        self.instant(self.0.cure.driven)
    }

    fn instant(&self, minutes: u32) -> DateTime<Utc> {
        self.0.set_at + TimeDelta::minutes(minutes.into())
    }
}
