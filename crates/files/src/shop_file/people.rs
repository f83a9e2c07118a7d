//! Technicians, units and accounts.

use super::shop::{exceptions, week};
use crate::reader::{Field, Table};
use baywright_api::v1::{Account, DatedRole, Technician, Unit, UnitAbsence};

pub(crate) fn technician(table: &Table<'_>) -> Technician {
    let dated_roles = table.tables("dated_role", 50, dated_role);
    if dated_roles.is_empty() {
        table.some_of("roles", "name the roles that this technician can fill");
    }
    Technician {
        technician_id: table.id("id"),
        title: table.text("title"),
        role_ids: table.each("roles", 50, Field::id),
        shift: table.nested("shift", week),
        exceptions: exceptions(table),
        dated_roles,
    }
}

fn dated_role(table: &Table<'_>) -> DatedRole {
    DatedRole {
        role_id: table.id("role"),
        from_date: table.date_or_empty("from"),
        until_date: table.date_or_empty("until"),
    }
}

pub(crate) fn unit(table: &Table<'_>) -> Unit {
    Unit {
        unit_id: table.id("id"),
        unit_kind_id: table.id("kind"),
        verified_until: table.date_or_empty("verified_until"),
        verification_document: table.text_or_empty("verification_document"),
        count: table.whole_if_any("count", 1..=100),
        absences: table.tables("absence", 100, absence),
    }
}

fn absence(table: &Table<'_>) -> UnitAbsence {
    UnitAbsence {
        from_date: table.date("from"),
        back_date: table.date_or_empty("back"),
        reason: table.text("reason"),
    }
}

pub(crate) fn account(table: &Table<'_>) -> Account {
    Account {
        account_id: table.id("id"),
        title: table.text("title"),
        party: table.text_or_empty("party"),
    }
}
