//! A holding: what a technician has in hand, where, with what, and what to check first.

use super::{caution, place};
use crate::clock::ShopClock;
use crate::table::Table;
use baywright_api::v1::Holding;

/// One holding in full, with its start checks, what comes next and the caution.
pub(crate) fn text(holding: &Holding, clock: ShopClock) -> String {
    let begun = match holding.started_time.as_ref() {
        Some(started) => format!("started {}", clock.show(Some(started))),
        None => format!("pulled {}", clock.show(holding.pulled_time.as_ref())),
    };
    let mut lines = vec![
        format!(
            "Job {}, task {}: method {}, attempt {}",
            holding.job_id, holding.task_id, holding.method_id, holding.attempt
        ),
        format!(
            "Where:  {}",
            holding.place.as_ref().map_or_else(|| "no place is held".to_owned(), place)
        ),
        format!("Who:    {}", holding.technician_ids.join(", ")),
        format!(
            "With:   {}",
            if holding.unit_ids.is_empty() {
                "no units".to_owned()
            } else {
                holding.unit_ids.join(", ")
            }
        ),
        format!("Time:   {} min as the method's document states; {begun}", holding.minutes),
        format!("Fence:  {}", holding.fence),
    ];
    if !holding.findings.is_empty() {
        lines.push("Why this place fits:".to_owned());
        lines.extend(holding.findings.iter().map(|finding| format!("  {}", finding.sentence)));
    }
    if holding.started_time.is_none() {
        lines.push("Check at the vehicle before the start:".to_owned());
        lines.extend(
            holding
                .start_checks
                .iter()
                .map(|check| format!("  {}: {}", check.check_id, check.question)),
        );
        if holding.start_checks.is_empty() {
            lines.push("  nothing".to_owned());
        }
    }
    lines.push(caution(&holding.caution));
    lines.join("\n")
}

/// One line per holding.
pub(crate) fn list(holdings: &[Holding], clock: ShopClock) -> String {
    let mut table =
        Table::new(&["technicians", "job", "task", "place", "units", "pulled", "started", "fence"]);
    for holding in holdings {
        table.row([
            holding.technician_ids.join(", "),
            holding.job_id.clone(),
            holding.task_id.clone(),
            holding.place.as_ref().map(place).unwrap_or_default(),
            holding.unit_ids.join(", "),
            clock.show(holding.pulled_time.as_ref()),
            clock.show(holding.started_time.as_ref()),
            holding.fence.to_string(),
        ]);
    }
    if table.is_empty() { "Nothing is held.".to_owned() } else { table.text() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_api::v1::{AskedCheck, Finding, Place};
    use prost_types::Timestamp;

    fn holding() -> Holding {
        Holding {
            job_id: "J-1".to_owned(),
            task_id: "front-camera".to_owned(),
            attempt: 1,
            fence: 12,
            technician_ids: vec!["ines".to_owned()],
            unit_ids: vec!["target-frame-1".to_owned(), "scan-unit-1".to_owned()],
            method_id: "target-frame".to_owned(),
            place: Some(Place { bay_id: "bay-1".to_owned(), station_id: "rear-mark".to_owned() }),
            findings: vec![Finding {
                sentence: "Slope 0.06 degrees, at most 0.3.".to_owned(),
                ..Finding::default()
            }],
            start_checks: vec![AskedCheck {
                check_id: "tyres".to_owned(),
                question: "At placard pressure?".to_owned(),
            }],
            pulled_time: Some(Timestamp { seconds: 1_777_962_600, nanos: 0 }),
            minutes: 55,
            ..Holding::default()
        }
    }

    #[test]
    fn a_pulled_task_says_what_where_with_what_and_what_to_check() {
        let expected = "\
Job J-1, task front-camera: method target-frame, attempt 1
Where:  bay-1/rear-mark
Who:    ines
With:   target-frame-1, scan-unit-1
Time:   55 min as the method's document states; pulled 2026-05-05 07:30 WEST
Fence:  12
Why this place fits:
  Slope 0.06 degrees, at most 0.3.
Check at the vehicle before the start:
  tyres: At placard pressure?
Caution: The vehicle maker's current procedure, local codes and licensed practice decide; a wrong calibration is dangerous.";
        assert_eq!(text(&holding(), ShopClock::new("Europe/Lisbon").unwrap()), expected);
    }

    #[test]
    fn a_started_task_no_longer_asks_and_the_services_caution_stands() {
        let mut holding = holding();
        holding.started_time = holding.pulled_time;
        holding.caution = "Keep clear of the target.".to_owned();
        let text = text(&holding, ShopClock::new("Europe/Lisbon").unwrap());
        assert!(!text.contains("Check at the vehicle"), "{text}");
        assert!(text.ends_with("Caution: Keep clear of the target."), "{text}");
    }
}
