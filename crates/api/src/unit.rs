//! Units: equipment with verification and absences; and the accounts that send work.

use crate::reading::{Reading as _, plain, whole};
use crate::time::{date_from, date_text};
use crate::v1;
use baywright_core::fault::{FaultList, Faults};
use baywright_core::ids::{AccountId, UnitId, UnitKindId};
use baywright_core::shop::{Account, Unit, UnitAbsence, UnitDraft};
use chrono::NaiveDate;

impl TryFrom<&v1::Unit> for Unit {
    type Error = Faults;

    fn try_from(message: &v1::Unit) -> Result<Self, Faults> {
        whole(
            |faults| {
                Some(UnitDraft {
                    id: faults.name("unit_id", &message.unit_id, UnitId::new)?,
                    kind: faults.name("unit_kind_id", &message.unit_kind_id, UnitKindId::new)?,
                    verified_until: date_or_none(faults, "verified_until", &message.verified_until),
                    verification_document: faults
                        .line_or_empty("verification_document", &message.verification_document),
                    count: message.count.unwrap_or(1),
                    absences: faults.each("absences", &message.absences, absence),
                })
            },
            Self::new,
            |fault| fault,
        )
    }
}

fn absence(faults: &mut FaultList, message: &v1::UnitAbsence) -> Option<UnitAbsence> {
    let from = faults.leaf("from_date", date_from(&message.from_date));
    let back = date_or_none(faults, "back_date", &message.back_date);
    faults.line_or_empty("reason", &message.reason);
    // A stand-in from far ahead lies after every date on which somebody comes back.
    Some(UnitAbsence { from: from.unwrap_or(NaiveDate::MIN), back, reason: message.reason.clone() })
}

/// Reads a date that may be left out.
pub(crate) fn date_or_none(faults: &mut FaultList, field: &str, text: &str) -> Option<NaiveDate> {
    if text.is_empty() { None } else { faults.leaf(field, date_from(text)) }
}

impl From<&Unit> for v1::Unit {
    fn from(unit: &Unit) -> Self {
        let parts = unit.parts();
        let absence = |absence: &UnitAbsence| v1::UnitAbsence {
            from_date: date_text(absence.from),
            back_date: absence.back.map(date_text).unwrap_or_default(),
            reason: absence.reason.clone(),
        };
        Self {
            unit_id: parts.id.to_string(),
            unit_kind_id: parts.kind.to_string(),
            verified_until: parts.verified_until.map(date_text).unwrap_or_default(),
            verification_document: parts.verification_document.clone(),
            count: Some(parts.count).filter(|count| *count != 1),
            absences: parts.absences.iter().map(absence).collect(),
        }
    }
}

impl TryFrom<&v1::Account> for Account {
    type Error = Faults;

    fn try_from(message: &v1::Account) -> Result<Self, Faults> {
        plain(|faults| {
            Some(Self {
                id: faults.name("account_id", &message.account_id, AccountId::new)?,
                title: faults.line("title", &message.title),
                party: faults.line_or_empty("party", &message.party),
            })
        })
    }
}

impl From<&Account> for v1::Account {
    fn from(account: &Account) -> Self {
        Self {
            account_id: account.id.to_string(),
            title: account.title.clone(),
            party: account.party.clone(),
        }
    }
}
