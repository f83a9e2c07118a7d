//! The front of cost against changes: one line for each multiple of the price of a change.

use crate::table::Table;
use baywright_core::planner::FrontPoint;
use serde_json::json;

/// The table.
pub(crate) fn table(points: &[FrontPoint]) -> String {
    let mut table = Table::new(&[
        "change price",
        "cost",
        "less changes",
        "changed steps",
        "minutes moved",
        "technician",
        "bay",
        "left out",
    ]);
    for point in points {
        let steady = point.steadiness;
        table.row([
            format!("x{}", point.factor),
            point.plan.cost.map_or_else(String::new, |cost| cost.to_string()),
            point.cost_less_changes.to_string(),
            format!("{} of {} ({:.1} %)", steady.changed, steady.open, steady.changed_percent()),
            steady.shift_minutes.to_string(),
            steady.technician_changes.to_string(),
            steady.bay_changes.to_string(),
            point.plan.jobs.iter().filter(|job| job.left_out).count().to_string(),
        ]);
    }
    table.text()
}

/// The same as JSON, with each plan whole.
pub(crate) fn json(points: &[FrontPoint]) -> String {
    let points = points.iter().map(|point| {
        let steady = point.steadiness;
        json!({
            "change_factor": point.factor,
            "cost": point.plan.cost,
            "cost_less_changes": point.cost_less_changes,
            "steps": steady.steps,
            "open_steps": steady.open,
            "changed_steps": steady.changed,
            "shift_minutes": steady.shift_minutes,
            "technician_changes": steady.technician_changes,
            "bay_changes": steady.bay_changes,
            "plan": point.plan,
        })
    });
    let front = json!({"format": "planning-front/1", "points": points.collect::<Vec<_>>()});
    // Plain values with text keys always serialise.
    serde_json::to_string_pretty(&front).unwrap_or_default()
}
