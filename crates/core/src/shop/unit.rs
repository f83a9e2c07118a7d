//! One piece of equipment, and until when its verification counts.

use crate::ids::{UnitId, UnitKindId};
use chrono::NaiveDate;

/// One piece of equipment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unit {
    /// Name of the unit.
    pub id: UnitId,
    /// Its kind, as methods ask for it.
    pub kind: UnitKindId,
    /// First local date on which its verification no longer counts; none where it needs none.
    pub verified_until: Option<NaiveDate>,
}

impl Unit {
    /// Whether it may be used on `date`: an overdue verification puts it out.
    pub fn is_verified_on(&self, date: NaiveDate) -> bool {
        self.verified_until.is_none_or(|until| date < until)
    }
}
