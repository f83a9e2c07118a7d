//! A running task has passed.

use super::end_attempt;
use crate::{
    app::App,
    error::ServiceError,
    use_cases::{
        estimates::inside,
        record_evidence::Ending,
        told::{
            check_adhesive, codes_told, not_undone_meanwhile, only_scans_find_codes,
            own_glass_has_adhesive,
        },
        work_holding::HolderCall,
    },
};
use baywright_api::{adhesive::adhesive_told, v1};
use baywright_core::{
    fault::FaultList,
    ids::TaskId,
    readiness::{TaskEnd, note_pass},
    work::{Job, TaskEvent},
};

/// Finishes a running task as passed: signs off what it provides and keeps its record.
///
/// # Errors
/// A caller who does not hold the task; a task that is not running; glass without its adhesive's
/// record; codes from a task that is no scan.
pub async fn finish_task(
    app: &App,
    request: v1::FinishTaskRequest,
) -> Result<v1::FinishTaskResponse, ServiceError> {
    let holder = HolderCall::new(&request, app.clock.now())?;
    let task = TaskId::new(&holder.key.task_id)?;
    let mut faults = FaultList::new();
    let codes = codes_told(&mut faults, &request.codes);
    faults.finish(())?;
    let adhesive =
        request.adhesive.as_ref().map(|message| adhesive_told(message, Some(task.clone())));
    let adhesive = adhesive.transpose().map_err(|faults| inside("adhesive", faults))?;
    let call = holder.call.clone();
    app.exactly_once_on_shop(
        call,
        (holder, codes, adhesive, request.note),
        |tx, shop, (holder, codes, adhesive, note)| {
            let (actor, at) = (holder.call.actor(), holder.call.at());
            let ending = Ending::passed(note, codes, adhesive.as_ref());
            Box::pin(async move {
                let end = TaskEnd { actor, at, codes, adhesive: adhesive.as_ref() };
                let effect = |job: &mut Job, id: &TaskId| pass(job, id, &end);
                let step = (TaskEvent::Pass, &ending);
                end_attempt(tx, shop, holder, step, &effect, |record| v1::FinishTaskResponse {
                    record: Some(record),
                })
                .await
            })
        },
    )
    .await
}

fn pass(job: &mut Job, id: &TaskId, end: &TaskEnd<'_>) -> Result<(), ServiceError> {
    let task = job.task(id).ok_or_else(|| ServiceError::not_found("task", id.as_str()))?;
    not_undone_meanwhile(task)?;
    only_scans_find_codes(task.kind, end.codes)?;
    own_glass_has_adhesive(task.kind, end.adhesive)?;
    check_adhesive(task.kind, end.adhesive, end.at)?;
    note_pass(job, id, end, &format!("task {id} passed"));
    Ok(())
}
