//! Giving up a task, or a whole job whose vehicle will not come.

use super::{
    change_job::{Change, JobCall},
    told::stated,
};
use crate::{app::App, error::ServiceError};
use baywright_api::v1;
use baywright_core::{
    fault::FaultList,
    ids::TaskId,
    work::{Decision, Job, JobEvent, Task, TaskEvent},
};

/// Gives up a task. What was called for stays visible: a cancelled calibration bars the hand-back
/// until a manager records an exception.
///
/// # Errors
/// No such task, or one that cannot be cancelled; a job that has ended; no reason.
pub async fn cancel_task(
    app: &App,
    request: v1::CancelTaskRequest,
) -> Result<v1::CancelTaskResponse, ServiceError> {
    let call = JobCall::new(&request, app.clock.now())?;
    let mut faults = FaultList::new();
    let task = faults.take("", TaskId::new(&request.task_id));
    stated(&mut faults, "reason", &request.reason, "say why it is not to be done");
    faults.finish(())?;
    app.change_job(
        call,
        (task, request.reason),
        |change, job, (id, reason)| {
            Box::pin(async move {
                let Some(id) = id else { return Ok(()) };
                let decision = decision(change, reason);
                let task = task_of_open_job(job, id)?;
                task.step(TaskEvent::Cancel)
                    .map_err(|refused| ServiceError::illegal_step(id.as_str(), refused))?;
                task.decision = Some(decision);
                Ok(())
            })
        },
        |job| v1::CancelTaskResponse { job: Some(job) },
    )
    .await
}

/// Cancels a job whose vehicle has yet to come.
///
/// # Errors
/// A job that is not expected; no reason.
pub async fn cancel_job(
    app: &App,
    request: v1::CancelJobRequest,
) -> Result<v1::CancelJobResponse, ServiceError> {
    let call = JobCall::new(&request, app.clock.now())?;
    let mut faults = FaultList::new();
    stated(&mut faults, "reason", &request.reason, "say why the vehicle will not come");
    faults.finish(())?;
    app.change_job(
        call,
        request.reason,
        |change, job, reason| {
            Box::pin(async move {
                job.step(JobEvent::Cancel)
                    .map_err(|refused| ServiceError::illegal_job_step(job, refused))?;
                job.cancellation = Some(decision(change, reason));
                Ok(())
            })
        },
        |job| v1::CancelJobResponse { job: Some(job) },
    )
    .await
}

fn decision(change: &Change<'_>, reason: &str) -> Decision {
    Decision { actor: change.actor.to_owned(), at: change.now, reason: reason.to_owned() }
}

/// Of a job that has ended nothing changes any more.
pub(super) fn not_ended(job: &Job) -> Result<(), ServiceError> {
    if !job.state.has_ended() {
        return Ok(());
    }
    Err(ServiceError::IllegalTransition {
        kind: "job",
        id: job.id.to_string(),
        state: job.state.as_str().to_owned(),
        wanted: "changed".to_owned(),
    })
}

/// A task whose job has not ended, to be changed.
pub(super) fn task_of_open_job<'a>(
    job: &'a mut Job,
    id: &TaskId,
) -> Result<&'a mut Task, ServiceError> {
    not_ended(job)?;
    job.task_mut(id).ok_or_else(|| ServiceError::not_found("task", id.as_str()))
}
