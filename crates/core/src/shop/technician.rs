//! A person who does the work: roles and shift.

use crate::calendar::OpenHours;
use crate::fault::{Fault, FaultList, Faults};
use crate::ids::{RoleId, TechnicianId};
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use std::collections::BTreeSet;

/// A role that somebody can fill for a time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DatedRole {
    /// The role.
    pub role: RoleId,
    /// First local date on which it counts; none for always before.
    pub from: Option<NaiveDate>,
    /// First local date on which it no longer counts; none for no end.
    pub until: Option<NaiveDate>,
}

impl DatedRole {
    fn counts_on(&self, date: NaiveDate) -> bool {
        self.from.is_none_or(|from| from <= date) && self.until.is_none_or(|until| date < until)
    }
}

/// What a technician is made from.
#[derive(Debug, Clone, PartialEq)]
pub struct TechnicianDraft {
    /// Name within the shop.
    pub id: TechnicianId,
    /// What people call them.
    pub title: String,
    /// The roles they can fill without a date.
    pub roles: BTreeSet<RoleId>,
    /// The roles they can fill for a time.
    pub dated_roles: Vec<DatedRole>,
    /// Their shift.
    pub shift: OpenHours,
}

/// A person who does the work.
#[derive(Debug, Clone, PartialEq)]
pub struct Technician(TechnicianDraft);

impl Technician {
    /// Checks and takes a technician.
    ///
    /// # Errors
    /// A fault when there is no role or no title, or a dated role ends before it begins.
    pub fn new(draft: TechnicianDraft) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        if draft.title.trim().is_empty() {
            faults.push(Fault::new("title", "empty", "be stated", "say what people call them"));
        }
        let count = draft.roles.len() + draft.dated_roles.len();
        if count == 0 || count > 50 {
            faults.push(Fault::new(
                "role_ids",
                count,
                "hold 1 to 50 roles",
                "name the roles that the technician can fill",
            ));
        }
        for (index, dated) in draft.dated_roles.iter().enumerate() {
            if let (Some(from), Some(until)) = (dated.from, dated.until)
                && until <= from
            {
                let field = format!("dated_roles[{index}].until_date");
                let limit = format!("lie after from_date, {from}");
                faults.push(Fault::new(field, until, limit, "correct one of the two dates"));
            }
        }
        faults.finish(Self(draft))
    }

    /// The technician's name.
    pub fn id(&self) -> &TechnicianId {
        &self.0.id
    }

    /// The technician's parts.
    pub fn parts(&self) -> &TechnicianDraft {
        &self.0
    }

    /// Whether they can fill `role` on the local date `on`.
    pub fn fills(&self, role: &RoleId, on: NaiveDate) -> bool {
        let dated = || self.0.dated_roles.iter();
        self.0.roles.contains(role) || dated().any(|one| one.role == *role && one.counts_on(on))
    }

    /// Whether they are on shift at `at`.
    pub fn is_on_shift(&self, at: DateTime<Utc>) -> bool {
        let windows = self.0.shift.windows(at, at + TimeDelta::minutes(1));
        windows.is_ok_and(|windows| windows.contains(at))
    }
}
