//! The day: what comes, what runs out, who is at work and what each takes next, whom to chase.

use super::{
    counted, day_and_time,
    lines::{table, wrap},
    local,
};
use crate::demo::show::Seen;
use baywright_api::v1::{Assignment, Chase, Holding, Job, JobState};

/// Vehicles that are expected today, how the shop stands, and what runs out soon.
pub(super) fn text(seen: &Seen) -> String {
    let today = &seen.today;
    let on_site = seen.jobs.iter().filter(|job| job.state() == JobState::OnSite).count();
    let words = format!(
        "Open: {}. Here: {}. Expected today: {} ({}). Not planned whole: {}. Late or past the promise: \
         {}.",
        counted(seen.jobs.len(), "job"),
        counted(on_site, "vehicle"),
        counted(today.expected_job_ids.len(), "vehicle"),
        today.expected_job_ids.join(", "),
        counted(today.waiting.len(), "job"),
        counted(today.late.len(), "job"),
    );
    let mut text = wrap(&words, "  ", "  ");
    for one in &today.expiring {
        text.push_str(&wrap(&one.sentence, "  ", "  "));
    }
    text
}

/// What each technician has in hand, and takes next by the plan.
pub(super) fn next(seen: &Seen) -> String {
    let heading = ["technician", "now", "next, by the plan"].map(str::to_uppercase);
    let row = |technician: &String| {
        let held = seen.holdings.iter().find(|one| one.technician_ids.contains(technician));
        let now = held.map_or_else(|| "-".to_owned(), |held| in_hand(&seen.jobs, held));
        let own = seen.plan.assignments.iter().filter(|one| {
            !one.fixed && one.technician_ids.contains(technician) && is_later(one, held)
        });
        let first = own.min_by_key(|one| one.start_time.as_ref().map(|at| at.seconds));
        let next = first.map_or_else(|| "-".to_owned(), |one| assignment(seen, one));
        [technician.clone(), now, next]
    };
    let rows: Vec<_> = std::iter::once(heading).chain(seen.technicians.iter().map(row)).collect();
    table(&rows)
}

fn is_later(one: &Assignment, held: Option<&Holding>) -> bool {
    held.is_none_or(|held| (&held.job_id, &held.task_id) != (&one.job_id, &one.task_id))
}

fn in_hand(jobs: &[Job], held: &Holding) -> String {
    let job = jobs.iter().find(|job| job.job_id == held.job_id);
    let task = job.and_then(|job| job.tasks.iter().find(|task| task.task_id == held.task_id));
    let state = task.map_or(String::new(), |task| {
        let name = task.state().as_str_name();
        name.strip_prefix("TASK_STATE_").unwrap_or(name).to_lowercase()
    });
    format!("{}/{}, {state}", held.job_id, held.task_id)
}

fn assignment(seen: &Seen, one: &Assignment) -> String {
    let start = day_and_time(seen.zone, one.start_time.as_ref());
    let place = one.place.as_ref().map_or_else(String::new, |at| format!(" in {}", at.bay_id));
    format!("{start} {}/{}{place}", one.job_id, one.task_id)
}

/// Whom to chase, and for what. Vehicles that are to come later are no cause to call anybody.
pub(super) fn chases(seen: &Seen) -> String {
    let text: String = seen.chases.iter().filter_map(|chase| party(seen, chase)).collect();
    if text.is_empty() { "Nobody.".to_owned() } else { text }
}

fn party(seen: &Seen, chase: &Chase) -> Option<String> {
    let name = if chase.party.is_empty() { "whoever knows" } else { &chase.party };
    let mut text = wrap(name, "", "  ");
    let rows: Vec<_> = chase
        .items
        .iter()
        .filter(|item| item.key != "vehicle" || item.overdue)
        .map(|item| {
            let expected = local(seen.zone, item.expected_time.as_ref());
            let expected = expected
                .map_or_else(String::new, |at| format!(" (expected {})", at.format("%a %H:%M")));
            [item.job_id.clone(), format!("{}{expected}", item.sentence)]
        })
        .collect();
    text.push_str(&table(&rows));
    (!rows.is_empty()).then_some(text)
}
