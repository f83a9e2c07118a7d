//! The one spelling of each of the contract's kinds: `TASK_KIND_PRE_SCAN` is written `pre-scan`,
//! in files and on the command line alike.

use baywright_api::v1;

/// A kind of the contract that has a spelling.
pub trait Word: Copy + TryFrom<i32> + Into<i32> {
    /// What the contract's names begin with: `TASK_KIND_`.
    const PREFIX: &'static str;

    /// The contract's name.
    fn contract_name(self) -> &'static str;

    /// The spelling: `pre-scan`.
    fn word(self) -> String {
        let name = self.contract_name();
        name.strip_prefix(Self::PREFIX).unwrap_or(name).to_lowercase().replace('_', "-")
    }

    /// Every kind in the order declared, without the unspecified one.
    fn all() -> Vec<Self> {
        (1..NUMBERS_MAX).map_while(|number| Self::try_from(number).ok()).collect()
    }

    /// Reads the one spelling.
    fn from_word(text: &str) -> Option<Self> {
        Self::all().into_iter().find(|kind| kind.word() == text)
    }

    /// The spelling of a number as it comes in a message; unknown numbers show as such.
    fn word_of(number: i32) -> String {
        match Self::try_from(number) {
            Ok(kind) if number != 0 => kind.word(),
            Ok(_) => "not stated".to_owned(),
            Err(_) => format!("unknown ({number})"),
        }
    }
}

/// No kind of the contract has as many values; its numbers run without gaps.
const NUMBERS_MAX: i32 = 1_000;

macro_rules! words {
    ($($name:ident $prefix:literal,)+) => {$(
        impl Word for v1::$name {
            const PREFIX: &'static str = $prefix;
            fn contract_name(self) -> &'static str {
                self.as_str_name()
            }
        }
    )+};
}

words! {
    SensorFamily "SENSOR_FAMILY_",
    TaskKind "TASK_KIND_",
    TaskState "TASK_STATE_",
    WorkPlace "WORK_PLACE_",
    PrerequisiteKind "PREREQUISITE_KIND_",
    PrerequisiteState "PREREQUISITE_STATE_",
    AskedWhen "ASKED_WHEN_",
    XDatum "X_DATUM_",
    YDatum "Y_DATUM_",
    LightPlane "LIGHT_PLANE_",
    LampState "LAMP_STATE_",
    DaylightOpeningKind "DAYLIGHT_OPENING_KIND_",
    DoorState "DOOR_STATE_",
    RoadCondition "ROAD_CONDITION_",
    SunState "SUN_STATE_",
    ArrivalKind "ARRIVAL_KIND_",
    JobState "JOB_STATE_",
    OperationState "OPERATION_STATE_",
    ReadinessState "READINESS_STATE_",
    FailureCause "FAILURE_CAUSE_",
    Outcome "OUTCOME_",
    EvidenceSource "EVIDENCE_SOURCE_",
    FindingVerdict "FINDING_VERDICT_",
    ChangeKind "CHANGE_KIND_",
    ThingChange "THING_CHANGE_",
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_core::{demand, floor};
    use std::fmt::Display;

    #[track_caller]
    fn check_spellings<W: Word, K: Display>(core: &[K]) {
        let ours: Vec<String> = W::all().into_iter().map(Word::word).collect();
        let theirs: Vec<String> = core.iter().map(ToString::to_string).collect();
        assert_eq!(ours, theirs);
    }

    #[test]
    fn files_and_core_spell_every_shared_kind_alike() {
        check_spellings::<v1::SensorFamily, _>(demand::SensorFamily::ALL);
        check_spellings::<v1::TaskKind, _>(demand::TaskKind::ALL);
        check_spellings::<v1::WorkPlace, _>(demand::WorkPlace::ALL);
        check_spellings::<v1::PrerequisiteKind, _>(demand::PrerequisiteKind::ALL);
        check_spellings::<v1::XDatum, _>(demand::XDatum::ALL);
        check_spellings::<v1::YDatum, _>(demand::YDatum::ALL);
        check_spellings::<v1::LightPlane, _>(demand::LightPlane::ALL);
        check_spellings::<v1::LampState, _>(baywright_core::survey::LampState::ALL);
        check_spellings::<v1::DaylightOpeningKind, _>(floor::DaylightOpeningKind::ALL);
    }

    #[test]
    fn a_spelling_is_read_back_and_an_unknown_number_shows_as_such() {
        assert_eq!(v1::TaskKind::from_word("pre-scan"), Some(v1::TaskKind::PreScan));
        assert_eq!(v1::TaskKind::from_word("unspecified"), None);
        assert_eq!(v1::TaskKind::word_of(77), "unknown (77)");
        assert_eq!(v1::TaskKind::word_of(0), "not stated");
    }
}
