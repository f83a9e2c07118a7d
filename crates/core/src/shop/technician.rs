//! A person who does the work: roles and shift.

use crate::calendar::OpenHours;
use crate::fault::{Fault, FaultList, Faults};
use crate::ids::{RoleId, TechnicianId};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeSet;

/// What a technician is made from.
#[derive(Debug, Clone, PartialEq)]
pub struct TechnicianDraft {
    /// Name within the shop.
    pub id: TechnicianId,
    /// What people call them.
    pub title: String,
    /// The roles they can fill.
    pub roles: BTreeSet<RoleId>,
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
    /// A fault when there is no role or no title.
    pub fn new(draft: TechnicianDraft) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        if draft.title.trim().is_empty() {
            faults.push(Fault::new("title", "empty", "be stated", "say what people call them"));
        }
        if draft.roles.is_empty() || draft.roles.len() > 50 {
            faults.push(Fault::new(
                "role_ids",
                draft.roles.len(),
                "hold 1 to 50 roles",
                "name the roles that the technician can fill",
            ));
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

    /// Whether they can fill `role`.
    pub fn fills(&self, role: &RoleId) -> bool {
        self.0.roles.contains(role)
    }

    /// Whether they are on shift at `at`.
    pub fn is_on_shift(&self, at: DateTime<Utc>) -> bool {
        let windows = self.0.shift.windows(at, at + TimeDelta::minutes(1));
        windows.is_ok_and(|windows| windows.contains(at))
    }
}
