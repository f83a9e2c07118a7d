//! Technicians: roles and shifts. Shifts are meant in the shop's time zone.

use crate::hours::{exception_messages, open_hours};
use crate::reading::{Reading as _, whole};
use crate::time::date_text;
use crate::unit::date_or_none;
use crate::v1;
use baywright_core::calendar::TimeZone;
use baywright_core::fault::{FaultList, Faults};
use baywright_core::ids::{RoleId, TechnicianId};
use baywright_core::shop::{DatedRole, Technician, TechnicianDraft};

/// Reads a technician of a shop in `zone`.
///
/// # Errors
/// Every fault of the message.
pub fn technician_from(message: &v1::Technician, zone: TimeZone) -> Result<Technician, Faults> {
    let week = message.shift.as_ref();
    whole(
        |faults| {
            faults.line_or_empty("title", &message.title);
            Some(TechnicianDraft {
                id: faults.name("technician_id", &message.technician_id, TechnicianId::new)?,
                title: message.title.clone(),
                roles: faults.names("role_ids", &message.role_ids, RoleId::new),
                dated_roles: faults.each("dated_roles", &message.dated_roles, dated_role),
                shift: open_hours(faults, zone, "shift", week, &message.exceptions)?,
            })
        },
        Technician::new,
        |fault| fault,
    )
}

fn dated_role(faults: &mut FaultList, message: &v1::DatedRole) -> Option<DatedRole> {
    Some(DatedRole {
        role: faults.name("role_id", &message.role_id, RoleId::new)?,
        from: date_or_none(faults, "from_date", &message.from_date),
        until: date_or_none(faults, "until_date", &message.until_date),
    })
}

impl From<&Technician> for v1::Technician {
    fn from(technician: &Technician) -> Self {
        let parts = technician.parts();
        Self {
            technician_id: parts.id.to_string(),
            title: parts.title.clone(),
            role_ids: parts.roles.iter().map(RoleId::to_string).collect(),
            shift: Some(parts.shift.weekly().into()),
            exceptions: exception_messages(&parts.shift),
            dated_roles: parts.dated_roles.iter().map(dated_role_message).collect(),
        }
    }
}

fn dated_role_message(dated: &DatedRole) -> v1::DatedRole {
    v1::DatedRole {
        role_id: dated.role.to_string(),
        from_date: dated.from.map(date_text).unwrap_or_default(),
        until_date: dated.until.map(date_text).unwrap_or_default(),
    }
}
