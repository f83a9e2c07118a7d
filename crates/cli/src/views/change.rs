//! A change as a watch tells it, on one line.

use crate::clock::ShopClock;
use baywright_api::v1::{Change, JobState, TaskState, ThingChange};
use baywright_files::words::Word as _;

/// `17  2026-05-05 07:30 WEST  job J-1001 changed: on-site; pre-scan held  (PullTask by ines)`.
pub(crate) fn line(change: &Change, clock: ShopClock) -> String {
    let mut told = Vec::new();
    if change.job_state != 0 {
        told.push(JobState::word_of(change.job_state));
    }
    for task in &change.tasks {
        let state = match task.state {
            0 => "no more".to_owned(),
            state => TaskState::word_of(state),
        };
        told.push(format!("{} {state}", task.task_id));
    }
    if !change.task_id.is_empty() {
        told.push(format!("job {}, task {}", change.job_id, change.task_id));
    }
    let colon = if told.is_empty() { "" } else { ": " };
    format!(
        "{}  {}  {} {} {}{colon}{}  ({} by {})",
        change.number,
        clock.show(change.time.as_ref()),
        change.kind,
        change.thing_id,
        ThingChange::word_of(change.change),
        told.join("; "),
        change.method,
        change.actor
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_api::v1::ChangedTask;
    use prost_types::Timestamp;

    #[test]
    fn a_change_is_one_line_with_its_number_first() {
        let clock = ShopClock::new("Europe/Lisbon").unwrap();
        let task = |task_id: &str, state| ChangedTask { task_id: task_id.to_owned(), state };
        let job = Change {
            number: 17,
            time: Some(Timestamp { seconds: 1_777_962_600, nanos: 0 }),
            kind: "job".to_owned(),
            thing_id: "J-1001".to_owned(),
            change: ThingChange::Changed.into(),
            method: "PullTask".to_owned(),
            actor: "ines".to_owned(),
            job_id: "J-1001".to_owned(),
            job_state: JobState::OnSite.into(),
            tasks: vec![task("pre-scan", TaskState::Held.into()), task("glass", 0)],
            ..Change::default()
        };
        assert_eq!(
            line(&job, clock),
            "17  2026-05-05 07:30 WEST  job J-1001 changed: on-site; pre-scan held; glass no more  \
             (PullTask by ines)"
        );
        let holding = Change {
            kind: "holding".to_owned(),
            thing_id: "5".to_owned(),
            change: ThingChange::Added.into(),
            task_id: "pre-scan".to_owned(),
            job_state: 0,
            tasks: Vec::new(),
            ..job
        };
        assert_eq!(
            line(&holding, clock),
            "17  2026-05-05 07:30 WEST  holding 5 added: job J-1001, task pre-scan  (PullTask by ines)"
        );
    }
}
