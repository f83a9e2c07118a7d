//! The front of cost against changes: one line for each multiple of the price of a change.

use super::caution;
use crate::table::Table;
use baywright_api::v1::FrontReport;
use baywright_core::planner::FrontPoint;
use serde_json::json;

/// What a service reports.
pub(crate) fn report(report: &FrontReport) -> String {
    let head = format!("over {} day(s)", report.days);
    let mut table = Table::new(&[
        &head,
        "cost",
        "less changes",
        "late jobs",
        "min late",
        "left out",
        "changed tasks",
        "min moved",
        "technician",
        "bay",
    ]);
    for point in &report.points {
        let outcome = point.outcome.unwrap_or_default();
        let steady = point.steadiness.unwrap_or_default();
        table.row([
            match point.change_factor {
                0 => "changes free".to_owned(),
                1 => "changes at their price".to_owned(),
                factor => format!("changes at {factor} times that"),
            },
            point.cost.to_string(),
            outcome.cost_less_changes.to_string(),
            outcome.late_jobs.to_string(),
            outcome.late_minutes.to_string(),
            outcome.left_out_jobs.to_string(),
            changed(steady.changed_tasks, steady.tasks),
            steady.moved_minutes.to_string(),
            steady.technician_changes.to_string(),
            steady.bay_changes.to_string(),
        ]);
    }
    let stood = report.points.iter().any(|point| point.steadiness.is_some());
    let last = if stood {
        "Nothing was kept; small differences may be the search's."
    } else {
        "Nothing of this stood in a plan before, so that nothing can change. Nothing was kept."
    };
    [table.text(), last.to_owned(), caution(&report.caution)].join("\n\n")
}

/// How many of how many, with the share.
pub(super) fn changed(changed: u32, all: u32) -> String {
    let share = if all == 0 { 0.0 } else { 100.0 * f64::from(changed) / f64::from(all) };
    format!("{changed} of {all} ({share:.1} %)")
}

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

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_api::v1::{self, DayOutcome, PlanSteadiness};

    #[test]
    fn the_front_stands_one_price_a_line() {
        let point = |change_factor, cost_less_changes, changed_tasks| v1::FrontPoint {
            change_factor,
            cost: cost_less_changes + 5 * i64::from(changed_tasks),
            outcome: Some(DayOutcome { cost_less_changes, ..DayOutcome::default() }),
            steadiness: Some(PlanSteadiness {
                tasks: 8,
                changed_tasks,
                moved_minutes: 10 * changed_tasks,
                ..PlanSteadiness::default()
            }),
        };
        let points = vec![point(0, 100, 5), point(1, 104, 2), point(4, 130, 0)];
        let found = FrontReport { points, days: 1, caution: "Mind this.".to_owned() };
        let expected = "\
OVER 1 DAY(S)            COST  LESS CHANGES  LATE JOBS  MIN LATE  LEFT OUT  CHANGED TASKS    MIN MOVED  TECHNICIAN  BAY
changes free             125   100           0          0         0         5 of 8 (62.5 %)  50         0           0
changes at their price   114   104           0          0         0         2 of 8 (25.0 %)  20         0           0
changes at 4 times that  130   130           0          0         0         0 of 8 (0.0 %)   0          0           0

Nothing was kept; small differences may be the search's.

Caution: Mind this.";
        assert_eq!(report(&found), expected);
    }
}
