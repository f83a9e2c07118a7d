//! A person's yes or no: to proposed tasks, and to operations that no rule knows.

use super::{
    cancelling::{not_ended, task_of_open_job},
    change_job::{Change, JobCall},
};
use crate::{app::App, error::ServiceError};
use baywright_api::v1;
use baywright_core::{
    fault::{Fault, FaultList},
    ids::{OperationId, ProcedureId, TaskId},
    readiness::{self, task_of_procedure},
    work::{Decision, Job, TaskEvent, TaskState},
};

/// Accepts or declines proposed tasks.
///
/// # Errors
/// A task that is not there or not proposed; a no without a reason.
pub async fn decide_tasks(
    app: &App,
    request: v1::DecideTasksRequest,
) -> Result<v1::DecideTasksResponse, ServiceError> {
    let call = JobCall::new(&request, app.clock.now())?;
    let mut faults = FaultList::new();
    let accept = names(&mut faults, "accept_task_ids", &request.accept_task_ids);
    let decline = names(&mut faults, "decline_task_ids", &request.decline_task_ids);
    if !decline.is_empty() && request.reason.trim().is_empty() {
        faults.push(Fault::new(
            "reason",
            "empty",
            "be stated to decline a task",
            "say in a few words why it is not done",
        ));
    }
    if accept.is_empty() && decline.is_empty() && !request.accept_all {
        faults.push(Fault::new(
            "accept_task_ids",
            "empty",
            "name a task, unless accept_all is set",
            "name the tasks to accept or decline",
        ));
    }
    faults.finish(())?;
    let input = (accept, decline, request.accept_all, request.reason);
    app.change_job(
        call,
        input,
        |change, job, (accept, decline, accept_all, reason)| {
            Box::pin(async move {
                for id in decline {
                    decide(change, job, id, TaskEvent::Decline, reason)?;
                }
                for id in accept {
                    decide(change, job, id, TaskEvent::Accept, reason)?;
                }
                let rest: Vec<_> = job
                    .tasks
                    .iter()
                    .filter(|task| *accept_all && task.state == TaskState::Proposed)
                    .map(|task| task.id.clone())
                    .collect();
                for id in &rest {
                    decide(change, job, id, TaskEvent::Accept, reason)?;
                }
                Ok(())
            })
        },
        |job| v1::DecideTasksResponse { job: Some(job) },
    )
    .await
}

fn names(faults: &mut FaultList, field: &str, texts: &[String]) -> Vec<TaskId> {
    let mut names = Vec::new();
    for (index, text) in texts.iter().enumerate() {
        names.extend(faults.take(&format!("{field}[{index}]"), TaskId::new(text)));
    }
    names
}

fn decide(
    change: &Change<'_>,
    job: &mut Job,
    id: &TaskId,
    event: TaskEvent,
    reason: &str,
) -> Result<(), ServiceError> {
    let task = task_of_open_job(job, id)?;
    task.step(event).map_err(|refused| ServiceError::illegal_step(id.as_str(), refused))?;
    task.decision = Some(Decision {
        actor: change.actor.to_owned(),
        at: change.now,
        reason: reason.to_owned(),
    });
    Ok(())
}

/// Says what an operation calls for that no rule knows.
///
/// # Errors
/// An operation that is not there or needs no decision; a procedure that the shop does not have; a
/// missing reason.
pub async fn decide_operation(
    app: &App,
    request: v1::DecideOperationRequest,
) -> Result<v1::DecideOperationResponse, ServiceError> {
    let call = JobCall::new(&request, app.clock.now())?;
    let mut faults = FaultList::new();
    let operation = faults.take("", OperationId::new(&request.operation_id));
    if request.reason.trim().is_empty() {
        faults.push(Fault::new("reason", "empty", "be stated", "say why this is right"));
    }
    let mut procedures = Vec::new();
    for (index, text) in request.procedure_ids.iter().enumerate() {
        let field = format!("procedure_ids[{index}]");
        if request.procedure_ids[..index].contains(text) {
            let remedy = "one task follows each procedure; name it once";
            faults.push(Fault::new(&field, text, "be named once", remedy));
        }
        procedures.extend(faults.take(&field, ProcedureId::new(text)));
    }
    faults.finish(())?;
    let input = (operation, procedures, request.reason);
    app.change_job(
        call,
        input,
        |change, job, (operation, procedures, reason)| {
            Box::pin(async move {
                let Some(operation) = operation else { return Ok(()) };
                decide_one(change, job, operation, procedures, reason)
            })
        },
        |job| v1::DecideOperationResponse { job: Some(job) },
    )
    .await
}

fn decide_one(
    change: &Change<'_>,
    job: &mut Job,
    id: &OperationId,
    procedures: &[ProcedureId],
    reason: &str,
) -> Result<(), ServiceError> {
    not_ended(job)?;
    let mut known = Vec::new();
    for (index, procedure) in procedures.iter().enumerate() {
        known.push(change.shop.definition().procedure(procedure).ok_or_else(|| {
            Fault::new(
                format!("procedure_ids[{index}]"),
                procedure,
                "name a procedure of the shop",
                "write the procedure down first, or correct the name",
            )
        })?);
    }
    let operation = job.operation_mut(id);
    let state = operation.ok_or_else(|| ServiceError::not_found("operation", id.as_str()))?.state;
    let definition = change.shop.definition();
    let tasks = known.into_iter().filter_map(|one| task_of_procedure(definition, one)).collect();
    let decision =
        Decision { actor: change.actor.to_owned(), at: change.now, reason: reason.to_owned() };
    if readiness::decide_operation(job, id, tasks, &decision) {
        return Ok(());
    }
    Err(ServiceError::IllegalTransition {
        kind: "operation",
        id: id.to_string(),
        state: format!("{state:?}").to_lowercase(),
        wanted: "decided".to_owned(),
    })
}
