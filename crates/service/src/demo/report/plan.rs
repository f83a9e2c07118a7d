//! The plan in the shop's own time: its first day as a table, a line for each later one.

use super::{
    counted,
    lines::{table, wrap},
    local,
};
use crate::demo::show::Seen;
use baywright_api::v1::{Assignment, Plan};
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

/// A table for the first day, a line for each other, then what the plan is worth and how long it
/// took.
pub(super) fn text(seen: &Seen) -> String {
    let mut days: BTreeMap<NaiveDate, Vec<&Assignment>> = BTreeMap::new();
    for assignment in &seen.plan.assignments {
        if let Some(start) = local(seen.zone, assignment.start_time.as_ref()) {
            days.entry(start.date()).or_default().push(assignment);
        }
    }
    let mut text = String::new();
    let mut days = days.into_iter();
    if let Some((date, mut assignments)) = days.next() {
        assignments.sort_by_key(|one| one.start_time.as_ref().map(|at| at.seconds));
        text.push_str(&date.format("%A %Y-%m-%d\n").to_string());
        let heading =
            ["time", "job", "task", "place", "technicians", "units"].map(str::to_uppercase);
        let rows = assignments.into_iter().map(|one| row(seen, one));
        let rows: Vec<_> = std::iter::once(heading).chain(rows).collect();
        text.push_str(&table(&rows));
    }
    for (date, assignments) in days {
        let jobs: BTreeSet<_> = assignments.iter().map(|one| &one.job_id).collect();
        let tasks = counted(assignments.len(), "task");
        let words =
            format!("{}: {tasks} of {}", date.format("%A %Y-%m-%d"), counted(jobs.len(), "job"));
        text.push_str(&wrap(&words, "", ""));
    }
    if text.is_empty() {
        text.push_str("Nothing is planned.\n");
    }
    text + &wrap(&worth(seen), "", "")
}

fn row(seen: &Seen, one: &Assignment) -> [String; 6] {
    let time = |at| local(seen.zone, at).map(|at| at.format("%H:%M").to_string());
    let time = |at| time(at).unwrap_or_default();
    let place = one.place.as_ref().map(|at| format!("{}/{}", at.bay_id, at.station_id));
    let or_dash = |text: String| if text.is_empty() { "-".to_owned() } else { text };
    [
        format!("{}-{}", time(one.start_time.as_ref()), time(one.end_time.as_ref())),
        one.job_id.clone(),
        one.task_id.clone(),
        or_dash(place.unwrap_or_default()),
        or_dash(one.technician_ids.join(", ")),
        or_dash(one.unit_ids.join(", ")),
    ]
}

fn worth(seen: &Seen) -> String {
    let Plan { cost, bound, proved_best, .. } = seen.plan;
    let proof = if proved_best {
        "proved best".to_owned()
    } else {
        format!("proved: no plan costs less than {bound}")
    };
    format!(
        "{} tasks planned in {} ms (measured here, the call there and back). Cost {cost} in the \
         shop's weights, {proof}.",
        seen.plan.assignments.len(),
        seen.planning.as_millis()
    )
}
