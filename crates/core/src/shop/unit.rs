//! Equipment: one piece, or several alike, with verification and absences.

use crate::fault::{Fault, FaultList, Faults};
use crate::ids::{UnitId, UnitKindId};
use chrono::NaiveDate;

/// The most alike under one name.
pub const UNIT_COUNT_MAX: u32 = 100;
/// The most absences of a unit.
pub const ABSENCES_MAX: usize = 100;

/// A span of local dates in which a unit is away.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitAbsence {
    /// First date on which it is away.
    pub from: NaiveDate,
    /// Date on which it is expected back; none where nobody knows.
    pub back: Option<NaiveDate>,
    /// Why: lent, in repair, at verification.
    pub reason: String,
}

/// What a unit is made from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitDraft {
    /// Name of the unit.
    pub id: UnitId,
    /// Its kind, as methods ask for it.
    pub kind: UnitKindId,
    /// First local date on which its verification no longer counts; none where it needs none.
    pub verified_until: Option<NaiveDate>,
    /// Where the verification is documented, and with what result.
    pub verification_document: String,
    /// How many alike there are, 1 to [`UNIT_COUNT_MAX`].
    pub count: u32,
    /// When it is away.
    pub absences: Vec<UnitAbsence>,
}

/// One piece of equipment, or several alike that share name and verification.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unit(UnitDraft);

impl Unit {
    /// Checks and takes a unit.
    ///
    /// # Errors
    /// A fault for a count out of range, too many absences, an absence without a reason or one that
    /// ends before it begins.
    pub fn new(draft: UnitDraft) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        faults.number_within("count", draft.count.into(), 1.0, UNIT_COUNT_MAX.into(), "pieces");
        if draft.absences.len() > ABSENCES_MAX {
            let limit = format!("hold at most {ABSENCES_MAX}");
            faults.push(Fault::new(
                "absences",
                draft.absences.len(),
                limit,
                "drop dates long past",
            ));
        }
        for (index, absence) in draft.absences.iter().enumerate() {
            if let Some(back) = absence.back
                && back <= absence.from
            {
                let limit = format!("lie after from_date, {}", absence.from);
                let field = format!("absences[{index}].back_date");
                faults.push(Fault::new(field, back, limit, "correct one of the two dates"));
            }
            if absence.reason.trim().is_empty() {
                let field = format!("absences[{index}].reason");
                faults.push(Fault::new(field, "empty", "be stated", "say where the unit is"));
            }
        }
        faults.finish(Self(draft))
    }

    /// The unit's name.
    pub fn id(&self) -> &UnitId {
        &self.0.id
    }

    /// The unit's parts.
    pub fn parts(&self) -> &UnitDraft {
        &self.0
    }

    /// The single pieces: the unit's own name for one, `NAME.1`, `NAME.2` and so on for several.
    pub fn pieces(&self) -> Vec<UnitId> {
        if self.0.count == 1 {
            return vec![self.0.id.clone()];
        }
        let named = (1..=self.0.count).map(|piece| UnitId::new(format!("{}.{piece}", self.0.id)));
        // A name at its greatest length leaves no room for a number: such a unit counts as one.
        named.collect::<Result<_, _>>().unwrap_or_else(|_| vec![self.0.id.clone()])
    }

    /// Whether its verification counts on `date`: an overdue one puts it out.
    pub fn is_verified_on(&self, date: NaiveDate) -> bool {
        self.0.verified_until.is_none_or(|until| date < until)
    }

    /// Whether it is away on `date`.
    pub fn is_away_on(&self, date: NaiveDate) -> bool {
        self.0
            .absences
            .iter()
            .any(|away| away.from <= date && away.back.is_none_or(|back| date < back))
    }

    /// Whether it may be used on `date`: here, and with a verification that counts.
    pub fn is_usable_on(&self, date: NaiveDate) -> bool {
        self.is_verified_on(date) && !self.is_away_on(date)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn unit(count: u32) -> Unit {
        let away = |from, back: Option<&str>| UnitAbsence {
            from: day(from),
            back: back.map(day),
            reason: "at verification".to_owned(),
        };
        Unit::new(UnitDraft {
            id: UnitId::new("mats").unwrap(),
            kind: UnitKindId::new("floor-mats").unwrap(),
            verified_until: Some(day("2026-12-31")),
            verification_document: "invented certificate".to_owned(),
            count,
            absences: vec![away("2026-05-10", Some("2026-05-12")), away("2026-06-01", None)],
        })
        .unwrap()
    }

    #[rstest]
    #[case::here("2026-05-09", true)]
    #[case::first_day_away("2026-05-10", false)]
    #[case::last_day_away("2026-05-11", false)]
    #[case::back("2026-05-12", true)]
    #[case::nobody_knows_when_it_comes_back("2027-01-01", false)]
    fn a_unit_is_used_only_while_it_is_here_and_verified(#[case] on: &str, #[case] usable: bool) {
        assert_eq!(unit(1).is_usable_on(day(on)), usable);
    }

    #[test]
    fn a_verification_that_is_overdue_puts_a_unit_out() {
        assert!(unit(1).is_verified_on(day("2026-12-30")));
        assert!(!unit(1).is_verified_on(day("2026-12-31")));
    }

    #[test]
    fn several_alike_are_numbered() {
        let names: Vec<_> = unit(3).pieces().iter().map(ToString::to_string).collect();
        assert_eq!(names, ["mats.1", "mats.2", "mats.3"]);
        assert_eq!(unit(1).pieces(), [UnitId::new("mats").unwrap()]);
    }

    #[test]
    fn every_fault_of_a_unit_is_named() {
        let mut draft = unit(1).parts().clone();
        draft.count = 0;
        draft.absences[0].back = Some(draft.absences[0].from);
        draft.absences[1].reason.clear();
        let faults = Unit::new(draft).unwrap_err();
        let fields: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
        assert_eq!(fields, ["count", "absences[0].back_date", "absences[1].reason"]);
    }
}
