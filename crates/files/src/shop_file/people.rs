//! Technicians and units.

use super::shop::{exceptions, week};
use crate::reader::{Field, Table};
use baywright_api::v1::{Technician, Unit};

pub(crate) fn technician(table: &Table<'_>) -> Technician {
    table.some_of("roles", "name the roles that this technician can fill");
    Technician {
        technician_id: table.id("id"),
        title: table.text("title"),
        role_ids: table.each("roles", 50, Field::id),
        shift: table.nested("shift", week),
        exceptions: exceptions(table),
    }
}

pub(crate) fn unit(table: &Table<'_>) -> Unit {
    Unit {
        unit_id: table.id("id"),
        unit_kind_id: table.id("kind"),
        verified_until: table.date_or_empty("verified_until"),
    }
}
