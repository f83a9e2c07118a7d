//! Units: single pieces of equipment.

use crate::reading::{Reading as _, plain};
use crate::time::{date_from, date_text};
use crate::v1;
use baywright_core::fault::Faults;
use baywright_core::ids::{UnitId, UnitKindId};
use baywright_core::shop::Unit;

impl TryFrom<&v1::Unit> for Unit {
    type Error = Faults;

    fn try_from(message: &v1::Unit) -> Result<Self, Faults> {
        plain(|faults| {
            let until = &message.verified_until;
            Some(Self {
                id: faults.name("unit_id", &message.unit_id, UnitId::new)?,
                kind: faults.name("unit_kind_id", &message.unit_kind_id, UnitKindId::new)?,
                verified_until: if until.is_empty() {
                    None
                } else {
                    faults.leaf("verified_until", date_from(until))
                },
            })
        })
    }
}

impl From<&Unit> for v1::Unit {
    fn from(unit: &Unit) -> Self {
        Self {
            unit_id: unit.id.to_string(),
            unit_kind_id: unit.kind.to_string(),
            verified_until: unit.verified_until.map(date_text).unwrap_or_default(),
        }
    }
}
