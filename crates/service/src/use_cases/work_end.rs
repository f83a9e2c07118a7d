//! Ending an attempt: passed, failed, or put back; and allowing a new one.
//!
//! However it ends, the conditions record is kept in the same transaction that frees what was held.
//! The vehicle stays where it stands until it is moved.

mod fail;
mod finish;
mod put_back;
mod redo;

pub use fail::fail_task;
pub use finish::finish_task;
pub use put_back::put_back_task;
pub use redo::redo_task;

use super::{
    change_job::save_job,
    record_evidence::{Ending, record_of},
    work_holding::{Held, HolderCall, held},
    work_pause::end_pause,
    work_phase::end_phase,
};
use crate::{
    error::ServiceError,
    snapshot::ShopSnapshot,
    storage::{
        Done,
        holdings::end_holding,
        records::{insert_record, next_number},
    },
};
use baywright_api::v1;
use baywright_core::{
    ids::TaskId,
    work::{Job, TaskEvent},
};
use prost::Message;
use sea_orm::DatabaseTransaction;

/// How a task's step, and what follows from it, changes its job.
type Effect<'a> = dyn Fn(&mut Job, &TaskId) -> Result<(), ServiceError> + Send + Sync + 'a;

/// Ends the attempt that `holder` means: the task steps by `event`, `effect` changes the job, the
/// record is kept, and everything that was held is free.
async fn end_attempt<T: Message + Default>(
    tx: &DatabaseTransaction,
    shop: &ShopSnapshot,
    holder: &HolderCall,
    (event, ending): (TaskEvent, &Ending),
    effect: &Effect<'_>,
    reply: fn(v1::ConditionsRecord) -> T,
) -> Result<Done<T>, ServiceError> {
    let now = holder.call.at();
    let Held { mut holding, loaded, task: id } = held(tx, holder).await?;
    let mut job = loaded.job;
    let task = job.task_mut(&id).ok_or_else(|| ServiceError::not_found("task", id.as_str()))?;
    task.step(event).map_err(|refused| ServiceError::illegal_step(id.as_str(), refused))?;
    effect(&mut job, &id)?;
    end_pause(&mut holding, now);
    end_phase(&mut holding, now);
    let shop_id = holder.call.shop_id();
    let task = job.task(&id).ok_or_else(|| ServiceError::not_found("task", id.as_str()))?;
    let mut record = record_of(shop, &holding, task, ending, now);
    record.number = next_number(tx, shop_id.as_str()).await?;
    insert_record(tx, &record).await?;
    end_holding(tx, &holding, now).await?;
    let after = save_job(tx, shop_id, &job, Some(&loaded.message)).await?;
    Ok(Done::new(reply(record.clone()))
        .changed("job", job.id.as_str(), Some(&loaded.message), Some(&after))
        .changed("holding", holding.fence.to_string(), Some(&holding), None)
        .changed("record", record.number.to_string(), None, Some(&record)))
}
