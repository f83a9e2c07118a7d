//! Technicians, units and accounts.

use super::shop::{exceptions, week, week_keys, write_exceptions};
use crate::reader::{Field, Table};
use crate::toml_text::{Keys, TomlText};
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

pub(crate) fn write_technician(file: &mut TomlText, technician: &Technician) {
    let keys = Keys::default()
        .text("id", &technician.technician_id)
        .text("title", &technician.title)
        .names("roles", &technician.role_ids)
        .raw_if_any("shift", technician.shift.as_ref().map(|shift| week_keys(shift).inline()));
    file.item("technician", keys);
    write_exceptions(file, "technician.exception", &technician.exceptions);
    for role in &technician.dated_roles {
        let keys = Keys::default()
            .text("role", &role.role_id)
            .date_if_any("from", &role.from_date)
            .date_if_any("until", &role.until_date);
        file.item("technician.dated_role", keys);
    }
}

pub(crate) fn write_unit(file: &mut TomlText, unit: &Unit) {
    let keys = Keys::default()
        .text("id", &unit.unit_id)
        .text("kind", &unit.unit_kind_id)
        .date_if_any("verified_until", &unit.verified_until)
        .text_if_any("verification_document", &unit.verification_document)
        .raw_if_any("count", unit.count);
    file.item("unit", keys);
    for absence in &unit.absences {
        let keys = Keys::default()
            .date("from", &absence.from_date)
            .date_if_any("back", &absence.back_date)
            .text("reason", &absence.reason);
        file.item("unit.absence", keys);
    }
}

pub(crate) fn write_account(file: &mut TomlText, account: &Account) {
    let keys = Keys::default()
        .text("id", &account.account_id)
        .text("title", &account.title)
        .text_if_any("party", &account.party);
    file.item("account", keys);
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
