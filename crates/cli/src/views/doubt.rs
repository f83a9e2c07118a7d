//! Doubts about bays, for a person.

use crate::clock::ShopClock;
use crate::table::Table;
use baywright_api::v1::Doubt;

/// Doubts as a table.
pub(crate) fn list(doubts: &[Doubt], clock: ShopClock) -> String {
    if doubts.is_empty() {
        return "No bay is in doubt.".to_owned();
    }
    let mut table = Table::new(&[
        "doubt",
        "bay",
        "procedure",
        "method",
        "since",
        "by the failure of",
        "what was seen",
        "cleared",
    ]);
    for doubt in doubts {
        table.row([
            doubt.doubt_id.clone(),
            doubt.bay_id.clone(),
            doubt.procedure_id.clone(),
            doubt.method_id.clone(),
            clock.show(doubt.since_time.as_ref()),
            failed(doubt),
            doubt.note.clone(),
            cleared(doubt, clock),
        ]);
    }
    table.text()
}

fn failed(doubt: &Doubt) -> String {
    if doubt.job_id.is_empty() {
        return "not known".to_owned();
    }
    format!("{}/{}", doubt.job_id, doubt.task_id)
}

fn cleared(doubt: &Doubt, clock: ShopClock) -> String {
    let Some(time) = &doubt.cleared_time else { return "no, it stands".to_owned() };
    let (by, why) = (&doubt.cleared_by, &doubt.cleared_reason);
    format!("{} by {by}: {why}", clock.show(Some(time)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use prost_types::Timestamp;

    #[test]
    fn a_doubt_tells_its_failure_and_who_cleared_it() {
        let clock = ShopClock::new("Etc/UTC").unwrap();
        assert_eq!(list(&[], clock), "No bay is in doubt.");
        let stands = Doubt {
            doubt_id: "D-1".to_owned(),
            job_id: "J-1".to_owned(),
            task_id: "front-camera".to_owned(),
            note: "glare".to_owned(),
            ..Doubt::default()
        };
        let text = list(std::slice::from_ref(&stands), clock);
        for part in ["D-1", "J-1/front-camera", "glare", "it stands"] {
            assert!(text.contains(part), "{part}: {text}");
        }
        let cleared = Doubt {
            job_id: String::new(),
            cleared_time: Some(Timestamp { seconds: 1_777_982_400, nanos: 0 }),
            cleared_by: "ruth".to_owned(),
            cleared_reason: "the blind is fixed".to_owned(),
            ..stands
        };
        let text = list(&[cleared], clock);
        assert!(text.contains("2026-05-05 12:00 UTC by ruth: the blind is fixed"), "{text}");
        assert!(text.contains("not known"), "{text}");
    }
}
