//! A plan: who does what where when, by start, and what is not in it.

use super::front::changed;
use super::{caution, place};
use crate::clock::ShopClock;
use crate::table::Table;
use baywright_api::v1::Plan;

/// The whole plan.
pub(crate) fn text(plan: &Plan, clock: ShopClock) -> String {
    let proof = if plan.proved_best {
        "proved best".to_owned()
    } else {
        format!("no plan costs less than {}", plan.bound)
    };
    let mut parts = vec![format!(
        "Plan {} of {}, made {}: cost {}, {proof}",
        plan.revision,
        plan.shop_id,
        clock.show(plan.made_time.as_ref()),
        plan.cost,
    )];
    if plan.days > 0 {
        parts.push(format!(
            "Planned {} days ahead by {}: seed {}, {} epochs on {} thread(s), {} ms.",
            plan.days, plan.actor, plan.seed, plan.epochs, plan.threads, plan.search_ms
        ));
    }
    if let Some(steady) = &plan.steadiness {
        parts.push(format!(
            "Against the plan before: {} task(s) stand otherwise, starts moved by {} min in all, {} with other \
             technicians, {} in another bay.",
            changed(steady.changed_tasks, steady.tasks),
            steady.moved_minutes,
            steady.technician_changes,
            steady.bay_changes,
        ));
    }
    parts.push(assignments(plan, clock));
    let notes = notes(plan);
    if !notes.is_empty() {
        parts.push(format!("Sun, daylight and road:\n{}", notes.join("\n")));
    }
    let late: Vec<String> = plan
        .late_jobs
        .iter()
        .map(|job| {
            format!(
                "Late: job {} finishes {}, promised {}, {} min late.",
                job.job_id,
                clock.show(job.finish_time.as_ref()),
                clock.show(job.promise_time.as_ref()),
                job.late_minutes,
            )
        })
        .collect();
    if !late.is_empty() {
        parts.push(late.join("\n"));
    }
    let unplanned = unplanned(plan);
    if !unplanned.is_empty() {
        parts.push(format!("Not in the plan:\n{}", unplanned.join("\n")));
    }
    parts.push(caution(""));
    parts.join("\n\n")
}

fn assignments(plan: &Plan, clock: ShopClock) -> String {
    let mut table =
        Table::new(&["start", "end", "job", "task", "method", "place", "technicians", "units", ""]);
    let mut by_start: Vec<_> = plan.assignments.iter().collect();
    by_start
        .sort_by_key(|assignment| assignment.start_time.as_ref().map(|at| (at.seconds, at.nanos)));
    for assignment in by_start {
        table.row([
            clock.show(assignment.start_time.as_ref()),
            clock.show_time(assignment.end_time.as_ref()),
            assignment.job_id.clone(),
            assignment.task_id.clone(),
            assignment.method_id.clone(),
            assignment.place.as_ref().map(place).unwrap_or_default(),
            assignment.technician_ids.join(", "),
            assignment.unit_ids.join(", "),
            if assignment.fixed { "fixed".to_owned() } else { " ".to_owned() },
        ]);
    }
    if table.is_empty() { "Nothing is planned.".to_owned() } else { table.text() }
}

fn notes(plan: &Plan) -> Vec<String> {
    let noted = plan.assignments.iter().filter(|assignment| !assignment.notes.is_empty());
    noted.map(|one| format!("  {}/{}: {}", one.job_id, one.task_id, one.notes.join(" "))).collect()
}

fn unplanned(plan: &Plan) -> Vec<String> {
    plan.unplanned
        .iter()
        .map(|left| {
            let what = if left.task_id.is_empty() {
                left.job_id.clone()
            } else {
                format!("{}/{}", left.job_id, left.task_id)
            };
            format!("  {what}: {}", left.reasons.join(" "))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_api::v1::{Assignment, LateJob, Place, Unplanned};
    use prost_types::Timestamp;

    #[test]
    fn a_plan_is_a_table_by_start_with_reasons_and_the_caution() {
        let at = |minutes: i64| Some(Timestamp { seconds: 1_777_962_600 + minutes * 60, nanos: 0 });
        let assignment = |task: &str, from: i64, to: i64| Assignment {
            job_id: "J-1".to_owned(),
            task_id: task.to_owned(),
            method_id: "m".to_owned(),
            place: Some(Place { bay_id: "bay-1".to_owned(), station_id: "mark".to_owned() }),
            technician_ids: vec!["ines".to_owned()],
            start_time: at(from),
            end_time: at(to),
            ..Assignment::default()
        };
        let plan = Plan {
            shop_id: "demo".to_owned(),
            revision: 2,
            made_time: at(0),
            cost: 12,
            bound: 10,
            assignments: vec![assignment("pre-scan", 60, 80), assignment("inspection", 0, 15)],
            unplanned: vec![Unplanned {
                job_id: "J-2".to_owned(),
                task_id: "glass".to_owned(),
                reasons: vec!["Parts have no expected time.".to_owned()],
            }],
            late_jobs: vec![LateJob {
                job_id: "J-1".to_owned(),
                finish_time: at(80),
                promise_time: at(60),
                late_minutes: 20,
            }],
            ..Plan::default()
        };
        let text = text(&plan, ShopClock::new("Europe/Lisbon").unwrap());
        let expected = "\
Plan 2 of demo, made 2026-05-05 07:30 WEST: cost 12, no plan costs less than 10

START                  END    JOB  TASK        METHOD  PLACE       TECHNICIANS  UNITS
2026-05-05 07:30 WEST  07:45  J-1  inspection  m       bay-1/mark  ines         -
2026-05-05 08:30 WEST  08:50  J-1  pre-scan    m       bay-1/mark  ines         -

Late: job J-1 finishes 2026-05-05 08:50 WEST, promised 2026-05-05 08:30 WEST, 20 min late.

Not in the plan:
  J-2/glass: Parts have no expected time.

Caution: The vehicle maker's current procedure, local codes and licensed practice decide; a wrong calibration is dangerous.";
        assert_eq!(text, expected);
    }
}
