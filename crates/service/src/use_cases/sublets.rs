//! Tasks that are sent out: to whom and until when, and how they ended.
//!
//! While a task is out, the vehicle is with whoever does it, so no other task of the job is ready.
//! What somebody else did is known only as it was told, so its record says nothing but that. It undoes
//! what the task undoes when it is recorded, whether it passed or failed.

mod end;
mod record;

pub use end::end_sublet;

use super::{
    cancelling::task_of_open_job, change_job::JobCall, prerequisites::optional_instant,
    told::stated,
};
use crate::{app::App, error::ServiceError};
use baywright_api::v1;
use baywright_core::{
    fault::{Fault, FaultList},
    ids::TaskId,
    readiness::{ReadinessState, readiness},
    work::{Job, Sublet, Task, TaskEvent},
};
use chrono::{DateTime, Utc};
use prost_types::Timestamp;

/// Sends an open task out.
///
/// # Errors
/// No such task, or one that is not open or not ready; a job that has ended; nobody named; an expected
/// time that is absent or not after now.
pub async fn sublet_task(
    app: &App,
    request: v1::SubletTaskRequest,
) -> Result<v1::SubletTaskResponse, ServiceError> {
    let now = app.clock.now();
    let call = JobCall::new(&request, now)?;
    // What lay ahead at the first time may be past at a repeat, which gets the same answer.
    if let Some(answer) = app.database.answered(&call.call).await? {
        return Ok(answer);
    }
    let mut faults = FaultList::new();
    let task = faults.take("", TaskId::new(&request.task_id));
    stated(&mut faults, "party", &request.party, "say who does it");
    let expected_at = expected(&mut faults, request.expected_time.as_ref(), now);
    faults.finish(())?;
    let sublet = Sublet {
        party: request.party,
        sent_at: now,
        expected_at: expected_at.unwrap_or(now),
        actor: call.call.actor().to_owned(),
        note: request.note,
    };
    app.change_job(
        call,
        (task, sublet),
        |_, job, (id, sublet)| {
            Box::pin(async move {
                let Some(id) = id else { return Ok(()) };
                let ready = task_of_open_job(job, id)?.clone();
                ready
                    .state
                    .after(TaskEvent::Sublet)
                    .map_err(|refused| ServiceError::illegal_step(id.as_str(), refused))?;
                may_leave_for(job, &ready, sublet.sent_at)?;
                let task = task_of_open_job(job, id)?;
                task.step(TaskEvent::Sublet)
                    .map_err(|refused| ServiceError::illegal_step(id.as_str(), refused))?;
                task.sublet = Some(sublet.clone());
                task.undone = None;
                Ok(())
            })
        },
        |job| v1::SubletTaskResponse { job: Some(job) },
    )
    .await
}

/// The vehicle goes to somebody else only when the task's turn has come, as for a pull.
fn may_leave_for(job: &Job, task: &Task, now: DateTime<Utc>) -> Result<(), ServiceError> {
    let ready = readiness(job, task, now);
    if ready.state == ReadinessState::Ready {
        return Ok(());
    }
    let mut sentences: Vec<_> = ready.reasons.into_iter().map(|one| one.sentence).collect();
    sentences.push("Send it out when nothing of this stands in its way any more.".to_owned());
    Err(ServiceError::NotReady { sentences })
}

fn expected(
    faults: &mut FaultList,
    time: Option<&Timestamp>,
    now: DateTime<Utc>,
) -> Option<DateTime<Utc>> {
    const FIELD: &str = "expected_time";
    let remedy = "ask when it will be done, and state that";
    if time.is_none() {
        faults.push(Fault::new(FIELD, "absent", "be given", remedy));
    }
    let expected = optional_instant(faults, FIELD, time)?;
    if expected <= now {
        let limit = format!("lie after now, {}", now.to_rfc3339());
        faults.push(Fault::new(FIELD, expected.to_rfc3339(), limit, remedy));
    }
    Some(expected)
}
