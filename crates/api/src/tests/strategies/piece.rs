//! Small pieces: names, texts, instants, dates and kinds.
#![cfg(test)]

use baywright_core::demand::{DocumentRef, PrerequisiteKind, SensorFamily, TaskKind};
use baywright_core::fault::Faults;
use baywright_core::ids::TaskId;
use baywright_core::work::{CureMinutes, TaskAfter, TaskSelector, UndoTarget};
use chrono::{DateTime, NaiveDate, Utc};
use proptest::collection::btree_set;
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::fmt::Debug;

pub(crate) fn name<T: Debug>(
    make: fn(String) -> Result<T, Faults>,
) -> impl Strategy<Value = T> + Clone {
    "[A-Za-z0-9][A-Za-z0-9._-]{0,9}".prop_map(move |text| make(text).unwrap())
}

/// Names of which no two are the same.
pub(crate) fn names<T: Debug + Ord>(
    make: fn(String) -> Result<T, Faults>,
    most: usize,
) -> impl Strategy<Value = Vec<T>> {
    btree_set(name(make), 0..=most).prop_map(|names| names.into_iter().collect())
}

/// A text as a person writes it, of any script; possibly empty, possibly of several lines.
pub(crate) fn text() -> impl Strategy<Value = String> + Clone {
    "(?s).{0,12}"
}

pub(crate) fn line() -> impl Strategy<Value = String> + Clone {
    "[a-zA-Zäß%] ?[a-zA-Zäß%0-9]{0,9}"
}

/// An instant in whole microseconds, before 1970 too.
pub(crate) fn instant() -> impl Strategy<Value = DateTime<Utc>> + Clone {
    (-2_000_000_000_000_000_i64..4_000_000_000_000_000)
        .prop_map(|micros| DateTime::from_timestamp_micros(micros).unwrap())
}

pub(crate) fn date() -> impl Strategy<Value = NaiveDate> + Clone {
    (1_i32..3_000_000).prop_map(|days| NaiveDate::from_num_days_from_ce_opt(days).unwrap())
}

/// Two dates, the second later.
pub(crate) fn dates() -> impl Strategy<Value = (NaiveDate, NaiveDate)> {
    (1_i32..2_000_000, 1_i32..1_000_000).prop_map(|(from, days)| {
        let date = |days| NaiveDate::from_num_days_from_ce_opt(days).unwrap();
        (date(from), date(from + days))
    })
}

pub(crate) fn one_of<T: Copy + Debug + 'static>(
    all: &'static [T],
) -> impl Strategy<Value = T> + Clone {
    proptest::sample::select(all)
}

pub(crate) fn sensors() -> impl Strategy<Value = BTreeSet<SensorFamily>> {
    btree_set(one_of(SensorFamily::ALL), 0..4)
}

pub(crate) fn document() -> impl Strategy<Value = DocumentRef> {
    (line(), date()).prop_map(|(reference, checked_on)| DocumentRef { reference, checked_on })
}

pub(crate) fn selector() -> impl Strategy<Value = TaskSelector> {
    prop_oneof![
        name(TaskId::new).prop_map(TaskSelector::Task),
        one_of(TaskKind::ALL).prop_map(TaskSelector::Kind),
        one_of(SensorFamily::ALL).prop_map(TaskSelector::Sensor),
        Just(TaskSelector::All),
    ]
}

pub(crate) fn after() -> impl Strategy<Value = TaskAfter> {
    (selector(), 0_u32..=14_400).prop_map(|(before, gap_minutes)| TaskAfter { before, gap_minutes })
}

pub(crate) fn undo() -> impl Strategy<Value = UndoTarget> {
    prop_oneof![
        selector().prop_map(UndoTarget::Tasks),
        one_of(PrerequisiteKind::ALL).prop_map(UndoTarget::Prerequisite),
    ]
}

pub(crate) fn cure() -> impl Strategy<Value = CureMinutes> {
    (0_u32..=7_200, 0_u32..=14_400, 0_u32..=7_200).prop_map(|(moved, calibrated, more)| {
        CureMinutes::new(moved, calibrated, moved + more).unwrap()
    })
}
