//! What a manager says of the roads.

use crate::reading::{Reading as _, plain};
use crate::time::required_instant;
use crate::v1;
use baywright_core::calendar::Window;
use baywright_core::fault::Faults;
use baywright_core::run_times::RoadEntry;
use chrono::TimeDelta;

/// The longest time that one entry holds, days.
pub const ROAD_ENTRY_DAYS_MAX: i64 = 31;

impl TryFrom<&v1::RoadEntry> for RoadEntry {
    type Error = Faults;

    fn try_from(message: &v1::RoadEntry) -> Result<Self, Faults> {
        plain(|faults| {
            let usable = match message.condition() {
                v1::RoadCondition::Usable => true,
                v1::RoadCondition::Unusable => false,
                v1::RoadCondition::Unspecified => {
                    let limit = "be ROAD_CONDITION_USABLE or ROAD_CONDITION_UNUSABLE";
                    faults.note("condition", "not stated", limit, "say what is known of the roads");
                    false
                }
            };
            let reason = faults.line("reason", &message.reason);
            let from = required_instant(faults, "from_time", message.from_time.as_ref());
            let until = required_instant(faults, "until_time", message.until_time.as_ref());
            let (from, until) = (from?, until?);
            let window = faults.leaf("until_time", Window::new(from..until));
            if until - from > TimeDelta::days(ROAD_ENTRY_DAYS_MAX) {
                let limit = format!("lie at most {ROAD_ENTRY_DAYS_MAX} days after from_time");
                let remedy = "record a shorter time, and another entry when it goes on";
                faults.note("until_time", until.to_rfc3339(), &limit, remedy);
            }
            Some(Self { window: window?, usable, reason })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use prost_types::Timestamp;
    use rstest::rstest;

    fn entry() -> v1::RoadEntry {
        v1::RoadEntry {
            condition: v1::RoadCondition::Unusable.into(),
            from_time: Some(Timestamp { seconds: 1_772_438_400, nanos: 0 }),
            until_time: Some(Timestamp { seconds: 1_772_452_800, nanos: 0 }),
            reason: "ice".to_owned(),
            ..v1::RoadEntry::default()
        }
    }

    #[test]
    fn an_entry_is_read() {
        let read = RoadEntry::try_from(&entry()).unwrap();
        assert!(!read.usable);
        assert_eq!(read.window.duration(), TimeDelta::hours(4));
        assert_eq!(read.reason, "ice");
    }

    #[rstest]
    #[case::says_nothing(v1::RoadEntry { condition: 0, ..entry() }, &["condition"])]
    #[case::unknown_condition(v1::RoadEntry { condition: 9, ..entry() }, &["condition"])]
    #[case::no_reason(v1::RoadEntry { reason: " ".to_owned(), ..entry() }, &["reason"])]
    #[case::reversed(v1::RoadEntry { until_time: entry().from_time, ..entry() }, &["until_time"])]
    #[case::too_long(v1::RoadEntry {
        until_time: Some(Timestamp { seconds: 1_772_438_400 + 32 * 86_400, nanos: 0 }), ..entry() },
        &["until_time"])]
    #[case::empty(v1::RoadEntry::default(), &["condition", "reason", "from_time", "until_time"])]
    fn every_fault_of_an_entry_is_named(#[case] entry: v1::RoadEntry, #[case] fields: &[&str]) {
        let faults = RoadEntry::try_from(&entry).unwrap_err();
        let found: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
        assert_eq!(found, fields);
    }
}
