//! A row of the audit trail as a watch tells it: which thing, which job, and where job and tasks
//! stand now.

use crate::{error::ServiceError, storage::AuditRow, things, use_cases::audit::change_of};
use baywright_api::{time::timestamp, v1};
use prost::Message as _;

/// The change that a row tells.
pub(super) fn change_of_row(row: &AuditRow) -> Result<v1::Change, ServiceError> {
    let body = row.after.as_ref().or(row.before.as_ref());
    let of = body.map(|body| things::job_and_task(&row.kind, body)).transpose()?;
    let (job_id, task_id) = of.unwrap_or_default();
    let mut change = v1::Change {
        number: u64::try_from(row.id).unwrap_or_default(),
        time: Some(timestamp(row.at)),
        kind: row.kind.clone(),
        thing_id: row.thing_id.clone(),
        change: change_of(row).into(),
        method: row.method.clone(),
        actor: row.actor.clone(),
        job_id,
        task_id,
        ..v1::Change::default()
    };
    if row.kind == "job" {
        let before = job_of(row.before.as_deref())?;
        let after = job_of(row.after.as_deref())?;
        change.job_state = after.state;
        change.tasks = changed_tasks(&before, &after);
    }
    Ok(change)
}

fn job_of(body: Option<&[u8]>) -> Result<v1::Job, ServiceError> {
    let job = body.map(v1::Job::decode).transpose().map_err(ServiceError::internal)?;
    Ok(job.unwrap_or_default())
}

/// Tasks that are new or in another state than before, then those that are gone.
fn changed_tasks(before: &v1::Job, after: &v1::Job) -> Vec<v1::ChangedTask> {
    let state_in = |job: &v1::Job, id: &str| {
        job.tasks.iter().find(|task| task.task_id == id).map(|task| task.state)
    };
    let changed = after
        .tasks
        .iter()
        .filter(|task| state_in(before, &task.task_id) != Some(task.state))
        .map(|task| v1::ChangedTask { task_id: task.task_id.clone(), state: task.state });
    let gone = before
        .tasks
        .iter()
        .filter(|task| state_in(after, &task.task_id).is_none())
        .map(|task| v1::ChangedTask { task_id: task.task_id.clone(), state: 0 });
    changed.chain(gone).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::testing::{job, noon, task};
    use baywright_api::v1::{JobState, TaskState, ThingChange};

    #[test]
    fn a_job_tells_its_state_and_the_tasks_that_changed() {
        let before = v1::Job { tasks: vec![task("a"), task("b"), task("gone")], ..job("J-1", 60) };
        let held = v1::Task { state: TaskState::Held.into(), ..task("b") };
        let after = v1::Job { tasks: vec![task("a"), held, task("new")], ..before.clone() };
        let row = AuditRow {
            id: 7,
            at: noon(),
            actor: "ada".to_owned(),
            method: "PullTask".to_owned(),
            request_id: String::new(),
            kind: "job".to_owned(),
            thing_id: "J-1".to_owned(),
            before: Some(before.encode_to_vec()),
            after: Some(after.encode_to_vec()),
        };

        let change = change_of_row(&row).unwrap();

        assert_eq!((change.number, change.job_id.as_str()), (7, "J-1"));
        assert_eq!(change.job_state(), JobState::OnSite);
        assert_eq!(change.change(), ThingChange::Changed);
        let tasks: Vec<_> =
            change.tasks.iter().map(|task| (task.task_id.as_str(), task.state())).collect();
        assert_eq!(
            tasks,
            [("b", TaskState::Held), ("new", TaskState::Open), ("gone", TaskState::Unspecified)]
        );
    }
}
