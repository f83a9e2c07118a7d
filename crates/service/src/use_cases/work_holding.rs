//! Finding the holding that a caller means, and refusing everybody else.

use super::{
    change_job::{LoadedJob, load_job},
    write_request::HolderRequest,
};
use crate::{
    app::App,
    error::ServiceError,
    storage::{Call, holdings::active_holding_of_task},
};
use baywright_api::v1;
use baywright_core::{
    fault::Fault,
    ids::TaskId,
    work::{IllegalJobTransition, IllegalTransition, Job, Task},
};
use chrono::{DateTime, Utc};
use sea_orm::DatabaseTransaction;

/// A call of somebody who holds a task.
#[derive(Debug, Clone)]
pub(super) struct HolderCall {
    pub(super) call: Call,
    pub(super) key: v1::HoldingKey,
}

/// A held task with its job.
#[derive(Debug)]
pub(super) struct Held {
    pub(super) holding: v1::Holding,
    pub(super) loaded: LoadedJob,
    pub(super) task: TaskId,
}

impl Held {
    /// The held task.
    pub(super) fn task(&self) -> Result<&Task, ServiceError> {
        self.loaded
            .job
            .task(&self.task)
            .ok_or_else(|| ServiceError::not_found("task", self.task.as_str()))
    }
}

impl HolderCall {
    /// The call of a request that names a holding, at `at`; the technician is the actor.
    pub(super) fn new<R: HolderRequest>(
        request: &R,
        at: DateTime<Utc>,
    ) -> Result<Self, ServiceError> {
        let key = request.holding().ok_or_else(|| {
            Fault::new("holding", "absent", "be given", "send what the pull answered")
        })?;
        Ok(Self { call: App::call(request, at)?, key: key.clone() })
    }
}

/// The holding that the caller means, with its job.
///
/// # Errors
/// Nobody, or somebody else, holds the task; the fencing number is an old one.
pub(super) async fn held(
    tx: &DatabaseTransaction,
    holder: &HolderCall,
) -> Result<Held, ServiceError> {
    let v1::HoldingKey { job_id, task_id, technician_id, fence } = &holder.key;
    let shop_id = holder.call.shop_id().as_str();
    let loaded = load_job(tx, shop_id, job_id).await?;
    let task = TaskId::new(task_id)?;
    if loaded.job.task(&task).is_none() {
        return Err(ServiceError::not_found("task", format!("{job_id}/{task_id}")));
    }
    let not_holder =
        || ServiceError::NotHolder { job_id: job_id.clone(), task_id: task_id.clone() };
    let Some(holding) = active_holding_of_task(tx, shop_id, job_id, task_id).await? else {
        return Err(not_holder());
    };
    if holding.technician_id != *technician_id {
        return Err(not_holder());
    }
    if holding.fence != *fence {
        return Err(ServiceError::FenceLost { fence: *fence });
    }
    Ok(Held { holding, loaded, task })
}

impl ServiceError {
    /// A task cannot take this step.
    pub(super) fn illegal_step(task_id: &str, refused: IllegalTransition) -> Self {
        Self::IllegalTransition {
            kind: "task",
            id: task_id.to_owned(),
            state: refused.state.to_string(),
            wanted: refused.event.as_participle().to_owned(),
        }
    }

    /// A job cannot take this step.
    pub(super) fn illegal_job_step(job: &Job, refused: IllegalJobTransition) -> Self {
        Self::IllegalTransition {
            kind: "job",
            id: job.id.to_string(),
            state: refused.state.as_str().to_owned(),
            wanted: refused.event.as_participle().to_owned(),
        }
    }
}
