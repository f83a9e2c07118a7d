//! A failed task may be tried again.

use crate::{
    app::App,
    error::ServiceError,
    storage::{
        doubts::{Clearing, standing_doubts},
        records::list_records,
    },
    use_cases::{
        cancelling::task_of_open_job,
        change_job::{Change, JobCall},
    },
};
use baywright_api::v1;
use baywright_core::{
    fault::{Fault, FaultList},
    ids::TaskId,
    work::{Decision, TaskEvent},
};

/// Opens a failed task for a new attempt, and clears the doubt that it left where asked to.
///
/// # Errors
/// No such task, or one that has not failed; no reason.
pub async fn redo_task(
    app: &App,
    request: v1::RedoTaskRequest,
) -> Result<v1::RedoTaskResponse, ServiceError> {
    let call = JobCall::new(&request, app.clock.now())?;
    let mut faults = FaultList::new();
    let task = faults.take("", TaskId::new(&request.task_id));
    if request.reason.trim().is_empty() {
        faults.push(Fault::new("reason", "empty", "be stated", "say why a new try is right"));
    }
    faults.finish(())?;
    app.change_job(
        call,
        (request.shop_id, task, request.reason, request.clear_doubt),
        |change, job, (shop_id, id, reason, clear)| {
            Box::pin(async move {
                let Some(id) = id else { return Ok(()) };
                let task = task_of_open_job(job, id)?;
                task.step(TaskEvent::Redo)
                    .map_err(|refused| ServiceError::illegal_step(id.as_str(), refused))?;
                task.decision = Some(Decision {
                    actor: change.actor.to_owned(),
                    at: change.now,
                    reason: reason.clone(),
                });
                let procedure = task.procedure.to_string();
                let job_id = job.id.to_string();
                if *clear {
                    let task = (job_id.as_str(), id.as_str(), procedure.as_str());
                    clear_doubts_of(change, shop_id, task, reason).await?;
                }
                Ok(())
            })
        },
        |job| v1::RedoTaskResponse { job: Some(job) },
    )
    .await
}

/// Clears the doubts about the bay and method in which the task failed last.
async fn clear_doubts_of(
    change: &Change<'_>,
    shop_id: &str,
    (job_id, task_id, procedure_id): (&str, &str, &str),
    reason: &str,
) -> Result<(), ServiceError> {
    let records = list_records(change.tx, shop_id, (job_id, Some(task_id)), 0, u32::MAX).await?;
    let failed = records.iter().rev().find(|record| record.outcome() == v1::Outcome::Failed);
    let holding = failed.and_then(|record| record.holding.as_ref());
    let Some(v1::Holding { place: Some(place), method_id, .. }) = holding else { return Ok(()) };
    let clearing = Clearing { actor: change.actor, reason, at: change.now };
    for doubt in standing_doubts(change.tx, shop_id).await? {
        let about = (doubt.bay_id.as_str(), doubt.procedure_id.as_str(), doubt.method_id.as_str());
        if about == (place.bay_id.as_str(), procedure_id, method_id.as_str()) {
            change.clear(shop_id, doubt, clearing).await?;
        }
    }
    Ok(())
}
