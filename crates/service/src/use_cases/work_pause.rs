//! Interrupting running work and going on with it. Everything stays held meanwhile; the spans are kept
//! with the holding and so stand in the conditions record.

use super::{
    change_job::save_job,
    told::stated_note,
    work_holding::{Held, HolderCall, held},
    work_start::{run_keeps_out, still_holds},
};
use crate::{
    app::App,
    error::ServiceError,
    storage::{Done, holdings::save_holding},
};
use baywright_api::{time::timestamp, v1};
use baywright_core::{
    fault::FaultList,
    work::{AskedWhen, Prerequisite, TaskEvent},
};
use chrono::{DateTime, Utc};
use prost::Message;
use sea_orm::DatabaseTransaction;

/// Interrupts a running task.
///
/// # Errors
/// A caller who does not hold the task; a task that is not running; no note.
pub async fn pause_task(
    app: &App,
    request: v1::PauseTaskRequest,
) -> Result<v1::PauseTaskResponse, ServiceError> {
    let holder = HolderCall::new(&request, app.clock.now())?;
    let mut faults = FaultList::new();
    stated_note(&mut faults, &request.note);
    faults.finish(())?;
    let call = holder.call.clone();
    app.database
        .exactly_once(call, (holder, request.note), |tx, (holder, note)| {
            Box::pin(async move {
                let begin = |holding: &mut v1::Holding| {
                    holding.pauses.push(v1::Pause {
                        from_time: Some(timestamp(holder.call.at())),
                        until_time: None,
                        note: note.clone(),
                    });
                };
                step(tx, holder, TaskEvent::Pause, &begin, |holding| v1::PauseTaskResponse {
                    holding: Some(holding),
                })
                .await
            })
        })
        .await
}

/// Goes on with a paused task, where everything that its start needed holds still.
///
/// # Errors
/// A caller who does not hold the task; a task that is not paused; a condition that no longer holds.
pub async fn resume_task(
    app: &App,
    request: v1::ResumeTaskRequest,
) -> Result<v1::ResumeTaskResponse, ServiceError> {
    let holder = HolderCall::new(&request, app.clock.now())?;
    let call = holder.call.clone();
    app.exactly_once_on_shop(call, holder, |tx, shop, holder| {
        Box::pin(async move {
            let held = held(tx, holder).await?;
            held.task()?
                .state
                .after(TaskEvent::Resume)
                .map_err(|refused| ServiceError::illegal_step(held.task.as_str(), refused))?;
            still_holds(tx, shop, holder, &held).await?;
            signed_off_still(&held, holder.call.at())?;
            let known = run_keeps_out(tx, shop, holder, &held).await?;
            let end = |holding: &mut v1::Holding| {
                end_pause(holding, holder.call.at());
                holding.sun.clone_from(&known.sun);
                holding.road_notes.clone_from(&known.road_notes);
                holding.road_entries.clone_from(&known.road_entries);
            };
            step(tx, holder, TaskEvent::Resume, &end, |holding| v1::ResumeTaskResponse {
                holding: Some(holding),
            })
            .await
        })
    })
    .await
}

/// What was answered at the start may have lapsed meanwhile: a tyre pressure, a full tank, a clean glass.
fn signed_off_still(held: &Held, now: DateTime<Utc>) -> Result<(), ServiceError> {
    let task = held.task()?;
    let lapsed = |one: &&Prerequisite| {
        one.asked == AskedWhen::AtStart && one.gates(task) && !one.is_met(now)
    };
    let mut sentences: Vec<String> = held
        .loaded
        .job
        .prerequisites
        .iter()
        .filter(lapsed)
        .map(|one| format!("{} was signed off at the start and no longer counts.", one.title))
        .collect();
    if sentences.is_empty() {
        return Ok(());
    }
    sentences.push("Put the task back and pull again, so that it is asked anew.".to_owned());
    Err(ServiceError::NotReady { sentences })
}

/// Ends the interruption that lasts, where one does.
pub(super) fn end_pause(holding: &mut v1::Holding, now: DateTime<Utc>) {
    if let Some(last) = holding.pauses.last_mut() {
        last.until_time.get_or_insert(timestamp(now));
    }
}

/// Lets the task step by `event` and its holding change with it.
async fn step<T: Message + Default>(
    tx: &DatabaseTransaction,
    holder: &HolderCall,
    event: TaskEvent,
    change: &(dyn Fn(&mut v1::Holding) + Send + Sync),
    reply: fn(v1::Holding) -> T,
) -> Result<Done<T>, ServiceError> {
    let Held { holding: before, loaded, task: id } = held(tx, holder).await?;
    let mut job = loaded.job;
    let task = job.task_mut(&id).ok_or_else(|| ServiceError::not_found("task", id.as_str()))?;
    task.step(event).map_err(|refused| ServiceError::illegal_step(id.as_str(), refused))?;
    let mut holding = before.clone();
    change(&mut holding);
    save_holding(tx, &holding).await?;
    let after = save_job(tx, holder.call.shop_id(), &job, Some(&loaded.message)).await?;
    Ok(Done::new(reply(holding.clone()))
        .changed("job", job.id.as_str(), Some(&loaded.message), Some(&after))
        .changed("holding", holding.fence.to_string(), Some(&before), Some(&holding)))
}
