//! What every change of a single job shares: load, check the etag, let the core change it, keep it.

use super::{known_shop::not_there, write_request::JobRequest};
use crate::{
    app::App,
    error::ServiceError,
    snapshot::ShopSnapshot,
    storage::{
        Call, Done, Work,
        doubts::{Clearing, clear_doubt, load_doubt},
        etag, jobs,
    },
};
use baywright_api::{job::job_message, v1};
use baywright_core::{ids::ShopId, work::Job};
use chrono::{DateTime, Utc};
use prost::Message;
use sea_orm::DatabaseTransaction;
use std::sync::{Mutex, PoisonError};

/// Which job a call changes.
#[derive(Debug, Clone)]
pub(super) struct JobCall {
    pub(super) call: Call,
    pub(super) job_id: String,
    pub(super) etag: String,
}

/// What a change of a job may read.
#[derive(Debug)]
pub(super) struct Change<'a> {
    pub(super) tx: &'a DatabaseTransaction,
    pub(super) shop: &'a ShopSnapshot,
    pub(super) actor: &'a str,
    pub(super) now: DateTime<Utc>,
    /// Doubts that the change cleared, before and after.
    cleared: Mutex<Vec<(v1::Doubt, v1::Doubt)>>,
}

impl Change<'_> {
    /// Clears a doubt that stands, and notes it for the audit trail.
    pub(super) async fn clear(
        &self,
        shop_id: &str,
        doubt: v1::Doubt,
        clearing: Clearing<'_>,
    ) -> Result<(), ServiceError> {
        clear_doubt(self.tx, shop_id, &doubt.doubt_id, clearing).await?;
        let after = load_doubt(self.tx, shop_id, &doubt.doubt_id).await?;
        let after = after.ok_or_else(|| ServiceError::not_found("doubt", &doubt.doubt_id))?;
        self.cleared.lock().unwrap_or_else(PoisonError::into_inner).push((doubt, after));
        Ok(())
    }
}

/// A job as it was loaded: its message, and what the core makes of it.
#[derive(Debug, Clone)]
pub(super) struct LoadedJob {
    pub(super) message: v1::Job,
    pub(super) job: Job,
}

impl JobCall {
    /// The call of a request that changes a job, at `at`.
    pub(super) fn new<R: JobRequest>(request: &R, at: DateTime<Utc>) -> Result<Self, ServiceError> {
        let (job_id, etag) = request.job();
        let (job_id, etag) = (job_id.to_owned(), etag.to_owned());
        Ok(Self { call: App::call(request, at)?, job_id, etag })
    }
}

impl App {
    /// Lets `change` change a job, and keeps it; the job as it is kept.
    pub(super) async fn change_job<I, T, F>(
        &self,
        job_call: JobCall,
        input: I,
        change: F,
        reply: fn(v1::Job) -> T,
    ) -> Result<T, ServiceError>
    where
        I: Send + Sync + 'static,
        T: Message + Default + 'static,
        F: for<'t> Fn(&'t Change<'t>, &'t mut Job, &'t I) -> Work<'t, ()> + Send + Sync + 'static,
    {
        let call = job_call.call.clone();
        self.exactly_once_on_shop(call, (job_call, input, change), move |tx, shop, lent| {
            let (job_call, input, change) = lent;
            Box::pin(async move {
                let shop_id = job_call.call.shop_id();
                let LoadedJob { message: before, mut job } =
                    load_job(tx, shop_id.as_str(), &job_call.job_id).await?;
                check_etag(&before, &job_call.etag)?;
                let actor = job_call.call.actor();
                let (now, cleared) = (job_call.call.at(), Mutex::default());
                let context = Change { tx, shop, actor, now, cleared };
                change(&context, &mut job, input).await?;
                let after = save_job(tx, shop_id, &job, Some(&before)).await?;
                let reply = reply(after.clone());
                let cleared = context.cleared.into_inner().unwrap_or_else(PoisonError::into_inner);
                let done =
                    Done::new(reply).changed("job", &job_call.job_id, Some(&before), Some(&after));
                Ok(cleared.iter().fold(done, |done, (before, after)| {
                    done.changed("doubt", &after.doubt_id, Some(before), Some(after))
                }))
            })
        })
        .await
    }
}

/// A job, or that there is none.
pub(super) async fn load_job(
    tx: &DatabaseTransaction,
    shop_id: &str,
    job_id: &str,
) -> Result<LoadedJob, ServiceError> {
    let message = jobs::load_job(tx, shop_id, job_id).await?;
    let Some(message) = message else {
        return Err(not_there(tx, shop_id, "job", job_id).await);
    };
    let job = Job::try_from(&message).map_err(ServiceError::internal)?;
    Ok(LoadedJob { message, job })
}

/// Keeps a job as its next version; the message that was kept.
pub(super) async fn save_job(
    tx: &DatabaseTransaction,
    shop_id: &ShopId,
    job: &Job,
    before: Option<&v1::Job>,
) -> Result<v1::Job, ServiceError> {
    let version = before.and_then(|before| etag::version_of(&before.etag));
    let mut message = job_message(job, shop_id, "");
    jobs::save_job(tx, &mut message, version).await?;
    Ok(message)
}

/// Refuses a change of a job that the caller has not read as it is.
pub(super) fn check_etag(before: &v1::Job, etag: &str) -> Result<(), ServiceError> {
    if etag.is_empty() || etag == before.etag {
        return Ok(());
    }
    Err(ServiceError::EtagMismatch {
        kind: "job",
        id: before.job_id.clone(),
        etag: before.etag.clone(),
    })
}
