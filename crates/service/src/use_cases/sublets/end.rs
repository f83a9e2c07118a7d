//! A task that was sent out has ended.

use super::record::{Told, record_of};
use crate::{
    app::App,
    error::ServiceError,
    snapshot::ShopSnapshot,
    storage::{
        Done,
        holdings::next_attempt,
        records::{insert_record, next_number},
    },
    use_cases::{
        cancelling::task_of_open_job,
        change_job::{JobCall, LoadedJob, check_etag, load_job, save_job},
        estimates::inside,
        told::{
            check_adhesive, codes_told, not_undone_meanwhile, only_scans_find_codes,
            own_glass_has_adhesive, stated,
        },
    },
};
use baywright_api::{adhesive::adhesive_told, v1};
use baywright_core::{
    fault::{Fault, FaultList},
    ids::TaskId,
    readiness::{TaskEnd, note_failure, note_pass, undo_by_outside_work},
    work::{IllegalTransition, Job, TaskEvent, TaskState},
};
use sea_orm::DatabaseTransaction;

/// Notes how a task ended that was sent out, undoes what it undoes, signs off what it provides where it
/// passed, and keeps a record of what was told.
///
/// # Errors
/// No such task, or one that is not sent out; a job that has ended; an end that is neither passed nor
/// failed; no evidence; faults of codes and adhesive.
pub async fn end_sublet(
    app: &App,
    request: v1::EndSubletRequest,
) -> Result<v1::EndSubletResponse, ServiceError> {
    let call = JobCall::new(&request, app.clock.now())?;
    let mut faults = FaultList::new();
    let task = faults.take("", TaskId::new(&request.task_id));
    let passed = match request.outcome() {
        v1::Outcome::Passed => true,
        v1::Outcome::Failed => false,
        other @ (v1::Outcome::Unspecified | v1::Outcome::PutBack) => {
            let remedy = "say how it ended; cancel the task where it was not done at all";
            faults.push(Fault::new("outcome", other.as_str_name(), "be passed or failed", remedy));
            false
        }
    };
    let remedy = "say what shows it: an invoice, a printout, who said so";
    stated(&mut faults, "evidence", &request.evidence, remedy);
    let codes = codes_told(&mut faults, &request.codes);
    if !passed && request.adhesive.is_some() {
        let limit = "be absent for what failed";
        faults.push(Fault::new("adhesive", "given", limit, "record it when the glass is good"));
    }
    faults.finish(())?;
    let adhesive = request.adhesive.as_ref().map(|message| adhesive_told(message, task.clone()));
    let adhesive = adhesive.transpose().map_err(|faults| inside("adhesive", faults))?;
    let told = Told { passed, evidence: request.evidence, codes, adhesive };
    let input = (call.clone(), task, told);
    app.exactly_once_on_shop(call.call, input, |tx, shop, (call, task, told)| {
        Box::pin(async move {
            match task {
                Some(task) => end(tx, shop, call, task, told).await,
                None => Err(ServiceError::internal("a checked task has a name")),
            }
        })
    })
    .await
}

async fn end(
    tx: &DatabaseTransaction,
    shop: &ShopSnapshot,
    call: &JobCall,
    id: &TaskId,
    told: &Told,
) -> Result<Done<v1::EndSubletResponse>, ServiceError> {
    let shop_id = call.call.shop_id();
    let LoadedJob { message: before, mut job } =
        load_job(tx, shop_id.as_str(), &call.job_id).await?;
    check_etag(&before, &call.etag)?;
    change(&mut job, call, id, told)?;
    let task = job.task(id).ok_or_else(|| ServiceError::not_found("task", id.as_str()))?;
    let mut record = record_of(shop, call, task, told);
    record.attempt = next_attempt(tx, shop_id.as_str(), &call.job_id, id.as_str()).await?;
    record.number = next_number(tx, shop_id.as_str()).await?;
    insert_record(tx, &record).await?;
    let after = save_job(tx, shop_id, &job, Some(&before)).await?;
    let reply = v1::EndSubletResponse { job: Some(after.clone()), record: Some(record.clone()) };
    Ok(Done::new(reply).changed("job", job.id.as_str(), Some(&before), Some(&after)).changed(
        "record",
        record.number.to_string(),
        None,
        Some(&record),
    ))
}

fn change(job: &mut Job, call: &JobCall, id: &TaskId, told: &Told) -> Result<(), ServiceError> {
    let (actor, at) = (call.call.actor(), call.call.at());
    let event = if told.passed { TaskEvent::Pass } else { TaskEvent::Fail };
    let task = task_of_open_job(job, id)?;
    // Own work that runs can pass and fail as well; here only what is sent out may.
    if task.state != TaskState::Sublet {
        let refused = IllegalTransition { state: task.state, event };
        return Err(ServiceError::illegal_step(id.as_str(), refused));
    }
    task.step(event).map_err(|refused| ServiceError::illegal_step(id.as_str(), refused))?;
    only_scans_find_codes(task.kind, &told.codes)?;
    if told.passed {
        not_undone_meanwhile(task)?;
        own_glass_has_adhesive(task.kind, told.adhesive.as_ref())?;
    }
    check_adhesive(task.kind, told.adhesive.as_ref(), at)?;
    let party = task.sublet.as_ref().map_or("somebody else", |sublet| &sublet.party);
    let evidence = format!("task {id}, done by {party}, passed: {}", told.evidence);
    undo_by_outside_work(job, id, at);
    if told.passed {
        let end = TaskEnd { actor, at, codes: &told.codes, adhesive: told.adhesive.as_ref() };
        note_pass(job, id, &end, &evidence);
    } else {
        note_failure(job, id, &told.codes);
    }
    Ok(())
}
