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
