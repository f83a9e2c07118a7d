//! A failed task may be tried again.

use crate::{
    app::App,
    error::ServiceError,
    storage::doubts::{Doubted, clear_doubts, standing_doubts},
    use_cases::change_job::{Change, JobCall},
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
                let task =
                    job.task_mut(id).ok_or_else(|| ServiceError::not_found("task", id.as_str()))?;
                task.step(TaskEvent::Redo)
                    .map_err(|refused| ServiceError::illegal_step(id.as_str(), refused))?;
                task.decision = Some(Decision {
                    actor: change.actor.to_owned(),
                    at: change.now,
                    reason: reason.clone(),
                });
                let procedure = task.procedure.to_string();
                if *clear {
                    clear_doubts_of(change, shop_id, &procedure).await?;
                }
                Ok(())
            })
        },
        |job| v1::RedoTaskResponse { job: Some(job) },
    )
    .await
}

async fn clear_doubts_of(
    change: &Change<'_>,
    shop_id: &str,
    procedure: &str,
) -> Result<(), ServiceError> {
    for doubt in standing_doubts(change.tx, shop_id).await? {
        if doubt.about.procedure_id == procedure {
            let Doubted { bay_id, procedure_id, method_id } = doubt.about;
            let about = Doubted { bay_id, procedure_id, method_id };
            clear_doubts(change.tx, shop_id, &about, change.now).await?;
        }
    }
    Ok(())
}
