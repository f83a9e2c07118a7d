//! A running task has failed.

use super::end_attempt;
use crate::{
    app::App,
    error::ServiceError,
    storage::doubts::{Doubted, Raised, raise_doubt},
    use_cases::{
        record_evidence::Ending,
        told::{codes_told, only_scans_find_codes, stated_note},
        work_holding::{HolderCall, held},
    },
};
use baywright_api::v1;
use baywright_core::{
    fault::{Fault, FaultList},
    ids::{PrerequisiteId, TaskId},
    readiness::{note_failure, reopen_prerequisite},
    work::{FoundCode, Job, TaskEvent},
};
use chrono::{DateTime, Utc};
use sea_orm::DatabaseTransaction;

/// Ends a running task as failed. A preparation that was not met is open again with what rests on
/// it; an environment that was not right puts bay and method in doubt.
///
/// # Errors
/// A caller who does not hold the task; a task that is not running; no cause or note; a preparation
/// without its prerequisite.
pub async fn fail_task(
    app: &App,
    request: v1::FailTaskRequest,
) -> Result<v1::FailTaskResponse, ServiceError> {
    let holder = HolderCall::new(&request, app.clock.now())?;
    let cause = request.cause();
    let mut faults = FaultList::new();
    stated_note(&mut faults, &request.note);
    if cause == v1::FailureCause::Unspecified {
        let limit = "be environment, preparation, vehicle, equipment or procedure";
        faults.push(Fault::new("cause", "not stated", limit, "say why it failed"));
    }
    let prerequisite = if cause == v1::FailureCause::Preparation {
        faults.take("", PrerequisiteId::new(&request.prerequisite_id))
    } else {
        None
    };
    let codes = codes_told(&mut faults, &request.codes);
    faults.finish(())?;
    let call = holder.call.clone();
    app.exactly_once_on_shop(
        call,
        (holder, cause, prerequisite, codes, request.note),
        |tx, shop, (holder, cause, prerequisite, codes, note)| {
            let ending = Ending::failed(*cause, note, codes);
            let now = holder.call.at();
            Box::pin(async move {
                let doubt = match cause {
                    v1::FailureCause::Environment => doubt(tx, holder, note).await?,
                    _ => None,
                };
                let effect =
                    |job: &mut Job, id: &TaskId| fail(job, id, prerequisite.as_ref(), codes, now);
                let step = (TaskEvent::Fail, &ending);
                let reply = |record| v1::FailTaskResponse { record: Some(record) };
                let done = end_attempt(tx, shop, holder, step, &effect, reply).await?;
                Ok(match doubt {
                    Some(doubt) => done.changed("doubt", &doubt.doubt_id, None, Some(&doubt)),
                    None => done,
                })
            })
        },
    )
    .await
}

fn fail(
    job: &mut Job,
    id: &TaskId,
    prerequisite: Option<&PrerequisiteId>,
    codes: &[FoundCode],
    now: DateTime<Utc>,
) -> Result<(), ServiceError> {
    let task = job.task(id).ok_or_else(|| ServiceError::not_found("task", id.as_str()))?;
    only_scans_find_codes(task.kind, codes)?;
    let Some(name) = prerequisite else {
        note_failure(job, id, codes);
        return Ok(());
    };
    if !job.prerequisites.iter().any(|known| known.id == *name && known.gates(task)) {
        return Err(Fault::new(
            "prerequisite_id",
            name,
            format!("name a prerequisite of task {id}"),
            "look at the job for the ones that it has",
        )
        .into());
    }
    note_failure(job, id, codes);
    reopen_prerequisite(job, name, &format!("the failed preparation {name} of task {id}"), now);
    Ok(())
}

async fn doubt(
    tx: &DatabaseTransaction,
    holder: &HolderCall,
    note: &str,
) -> Result<Option<v1::Doubt>, ServiceError> {
    let held = held(tx, holder).await?;
    let Some(place) = &held.holding.place else { return Ok(None) };
    let about = Doubted {
        bay_id: place.bay_id.clone(),
        procedure_id: held.task()?.procedure.to_string(),
        method_id: held.holding.method_id.clone(),
    };
    let raised = Raised {
        about,
        job_id: held.holding.job_id.clone(),
        task_id: held.holding.task_id.clone(),
        since: holder.call.at(),
        note: note.to_owned(),
    };
    Ok(raise_doubt(tx, holder.call.shop_id().as_str(), &raised).await?)
}
