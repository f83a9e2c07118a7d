//! A holding: what a technician has in hand, where, with what, and what to check first.

use super::{caution, place};
use crate::clock::ShopClock;
use crate::table::Table;
use baywright_api::v1::{Holding, Pause, PhaseTime, WorkPhase};

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
    lines.extend(holding.phases.iter().map(|phase| phase_words(phase, clock)));
    lines.extend(holding.pauses.iter().map(|pause| pause_words(pause, clock)));
    lines.extend(holding.hand_overs.iter().map(|one| {
        let when = clock.show(one.handed_over_time.as_ref());
        format!("Handed over by {} {when}: {}", one.from_technician_id, one.note)
    }));
    if !holding.findings.is_empty() {
        lines.push("Why this place fits:".to_owned());
        lines.extend(holding.findings.iter().map(|finding| format!("  {}", finding.sentence)));
    }
    if let Some(sun) = &holding.sun {
        lines.push(format!("Sun:    {}", sun.sentence));
        lines.extend(sun.assumptions.iter().map(|one| format!("  {one}")));
    }
    lines.extend(holding.road_notes.iter().map(|note| format!("Road:   {note}")));
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

fn started_words(holding: &Holding, clock: ShopClock) -> String {
    let started = clock.show(holding.started_time.as_ref());
    let paused = holding.pauses.last().is_some_and(|pause| pause.until_time.is_none());
    if paused { format!("{started} (paused)") } else { started }
}

fn phase_words(phase: &PhaseTime, clock: ShopClock) -> String {
    let name = match phase.phase() {
        WorkPhase::SetUp => "Set-up",
        WorkPhase::Run => "Run",
        WorkPhase::TearDown => "Tear-down",
        WorkPhase::Unspecified => "Work",
    };
    let from = clock.show(phase.from_time.as_ref());
    match phase.until_time.as_ref() {
        Some(until) => format!("{name}: {from} to {}", clock.show(Some(until))),
        None => format!("{name}: since {from}"),
    }
}

fn pause_words(pause: &Pause, clock: ShopClock) -> String {
    let from = clock.show(pause.from_time.as_ref());
    match pause.until_time.as_ref() {
        Some(until) => format!("Paused: {from} to {}: {}", clock.show(Some(until)), pause.note),
        None => format!("Paused: since {from}: {}", pause.note),
    }
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
            started_words(holding, clock),
            holding.fence.to_string(),
        ]);
    }
    if table.is_empty() { "Nothing is held.".to_owned() } else { table.text() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_api::v1::{AskedCheck, Finding, HandOver, Place};
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

    #[test]
    fn pauses_and_hand_overs_are_shown_with_their_reasons() {
        let mut holding = holding();
        let at = |minutes: i64| Some(Timestamp { seconds: 1_777_962_600 + minutes * 60, nanos: 0 });
        holding.started_time = at(0);
        let pause = |from, until, note: &str| Pause {
            from_time: at(from),
            until_time: until,
            note: note.to_owned(),
        };
        holding.pauses = vec![pause(5, at(10), "telephone"), pause(20, None, "sun")];
        holding.hand_overs = vec![HandOver {
            from_technician_id: "rui".to_owned(),
            to_technician_id: "ines".to_owned(),
            handed_over_time: at(15),
            note: "target stands".to_owned(),
        }];
        let clock = ShopClock::new("Europe/Lisbon").unwrap();
        let expected = "\
Paused: 2026-05-05 07:35 WEST to 2026-05-05 07:40 WEST: telephone
Paused: since 2026-05-05 07:50 WEST: sun
Handed over by rui 2026-05-05 07:45 WEST: target stands
";
        assert!(text(&holding, clock).contains(expected), "{}", text(&holding, clock));
        assert!(list(&[holding], clock).contains("2026-05-05 07:30 WEST (paused)"));
    }
}
