//! The only place where transactions begin.
//!
//! **Work is a function of a transaction and an input.** The input is owned by the transaction's
//! task and lent to each try, so the work may run several times and borrows instead of cloning. It
//! returns a boxed future, because the task moves between threads and the language cannot yet say
//! "an async closure whose future is `Send`" in a bound. A use case is written as an `async fn` and
//! boxed where it is handed over:
//!
//! ```
//! # use baywright_api::v1::{GetJobResponse, Job};
//! # use baywright_service::{error::ServiceError, storage::{Call, Database, Done, etag, jobs}};
//! # use sea_orm::DatabaseTransaction;
//! struct Input { shop_id: String, job_id: String }
//!
//! async fn rename(tx: &DatabaseTransaction, input: &Input)
//!     -> Result<Done<GetJobResponse>, ServiceError>
//! {
//!     let before = jobs::load_job(tx, &input.shop_id, &input.job_id).await?;
//!     let before = before.ok_or_else(|| ServiceError::not_found("job", &input.job_id))?;
//!     let mut job = before.clone();
//!     job.repair_order = "R-7".to_owned();
//!     let version = etag::version_of(&before.etag);
//!     jobs::save_job(tx, &mut job, version).await?;
//!     let reply = GetJobResponse { job: Some(job.clone()), ..GetJobResponse::default() };
//!     Ok(Done::new(reply).changed("job", &input.job_id, Some(&before), Some(&job)))
//! }
//!
//! # async fn call(database: Database, call: Call, input: Input) -> Result<(), ServiceError> {
//! database.exactly_once(call, input, |tx, input| Box::pin(rename(tx, input))).await?;
//! # Ok(())
//! # }
//! ```
//!
//! **A try may be repeated**, so work has no effect outside of its transaction and takes instants
//! and new ids from its input. **Each transaction runs as a task of its own**: a caller that goes
//! away, or whose deadline passes, does not tear it in the middle; shutdown waits for these tasks.

#[cfg(test)]
mod tests;

use super::{Call, Database, Done, StorageError, append, requests, sql::decode};
use crate::{
    error::ServiceError,
    limits::{WRITE_RETRIES_MAX, WRITE_WAIT_MAX},
};
use prost::Message;
use sea_orm::{
    DatabaseConnection, DatabaseTransaction, SqliteTransactionMode, TransactionOptions,
    TransactionTrait as _,
};
use std::{
    pin::Pin,
    time::{Duration, Instant},
};
use uuid::Uuid;

/// The future of one try.
pub type Work<'t, T> = Pin<Box<dyn Future<Output = Result<T, ServiceError>> + Send + 't>>;

/// Longest pause before the first repeat of a write; it doubles with each.
const PAUSE_FIRST_MS: u64 = 5;

/// How a transaction ends when its work succeeded.
#[derive(Debug, Clone, Copy)]
enum End {
    Commit,
    RollBack,
}

impl Database {
    /// Does the work of a call once, however often the call is sent: the first time the work, its
    /// audit entries and its answer are kept in one transaction; a repeat gets the same answer.
    /// Repeats that arrive at the same time wait for each other. A refusal is not kept.
    ///
    /// # Errors
    /// The work's own; [`ServiceError::RequestIdReused`] when the request id came before with
    /// another body; [`ServiceError::Busy`] when the database stayed busy.
    pub async fn exactly_once<I, T, F>(
        &self,
        call: Call,
        input: I,
        work: F,
    ) -> Result<T, ServiceError>
    where
        I: Send + Sync + 'static,
        T: Message + Default + 'static,
        F: for<'t> Fn(&'t DatabaseTransaction, &'t I) -> Work<'t, Done<T>> + Send + Sync + 'static,
    {
        self.write((call, input, work), |tx, (call, input, work)| {
            Box::pin(async move {
                if let Some(stored) = requests::stored_reply(tx, call).await? {
                    if stored.body_hash != call.body_hash {
                        let request_id = call.request_id.to_string();
                        return Err(ServiceError::RequestIdReused { request_id });
                    }
                    return Ok(decode(&stored.reply, "requests")?);
                }
                let Done { reply, audit } = work(tx, input).await?;
                append(tx, call, &audit).await?;
                requests::store_reply(tx, call, reply.encode_to_vec()).await?;
                Ok(reply)
            })
        })
        .await
    }

    /// Does work in a transaction and keeps it. For work that no caller's request stands behind;
    /// calls go through [`Database::exactly_once`].
    ///
    /// # Errors
    /// The work's own; [`ServiceError::Busy`] when the database stayed busy.
    pub async fn write<I, T, F>(&self, input: I, work: F) -> Result<T, ServiceError>
    where
        I: Send + Sync + 'static,
        T: Send + 'static,
        F: for<'t> Fn(&'t DatabaseTransaction, &'t I) -> Work<'t, T> + Send + Sync + 'static,
    {
        self.run(self.writer.clone(), End::Commit, input, work).await
    }

    /// Does work in a transaction and takes it back: the answer says what would have happened.
    ///
    /// # Errors
    /// As [`Database::write`].
    pub async fn rehearse<I, T, F>(&self, input: I, work: F) -> Result<T, ServiceError>
    where
        I: Send + Sync + 'static,
        T: Send + 'static,
        F: for<'t> Fn(&'t DatabaseTransaction, &'t I) -> Work<'t, T> + Send + Sync + 'static,
    {
        self.run(self.writer.clone(), End::RollBack, input, work).await
    }

    /// Reads several things as they stood at one instant.
    ///
    /// # Errors
    /// As [`Database::write`]; a write inside is refused by the database.
    pub async fn read<I, T, F>(&self, input: I, work: F) -> Result<T, ServiceError>
    where
        I: Send + Sync + 'static,
        T: Send + 'static,
        F: for<'t> Fn(&'t DatabaseTransaction, &'t I) -> Work<'t, T> + Send + Sync + 'static,
    {
        let reader = self.reader().clone();
        self.transactions
            .spawn(async move {
                let tx = reader.begin().await.map_err(StorageError::from)?;
                let answer = work(&tx, &input).await;
                tx.rollback().await.map_err(StorageError::from)?;
                answer
            })
            .await
            .map_err(ServiceError::internal)?
    }

    async fn run<I, T, F>(
        &self,
        writer: DatabaseConnection,
        end: End,
        input: I,
        work: F,
    ) -> Result<T, ServiceError>
    where
        I: Send + Sync + 'static,
        T: Send + 'static,
        F: for<'t> Fn(&'t DatabaseTransaction, &'t I) -> Work<'t, T> + Send + Sync + 'static,
    {
        let committed = self.committed.clone();
        self.transactions
            .spawn(async move {
                let begun = Instant::now();
                let mut repeats = 0;
                loop {
                    let answer = attempt(&writer, end, &input, &work).await;
                    let may_repeat =
                        repeats < WRITE_RETRIES_MAX && begun.elapsed() < WRITE_WAIT_MAX;
                    match answer {
                        Err(ServiceError::Busy) if may_repeat => {
                            tokio::time::sleep(pause(repeats)).await;
                            repeats += 1;
                        }
                        ended => {
                            if ended.is_ok() && matches!(end, End::Commit) {
                                committed.send_replace(());
                            }
                            return ended;
                        }
                    }
                }
            })
            .await
            .map_err(ServiceError::internal)?
    }
}

/// One try: begin as a writer at once, so that nothing read can be outdated by another writer
/// before the first write.
async fn attempt<I, T, F>(
    writer: &DatabaseConnection,
    end: End,
    input: &I,
    work: &F,
) -> Result<T, ServiceError>
where
    F: for<'t> Fn(&'t DatabaseTransaction, &'t I) -> Work<'t, T>,
{
    let options = TransactionOptions {
        isolation_level: None,
        access_mode: None,
        sqlite_transaction_mode: Some(SqliteTransactionMode::Immediate),
    };
    let tx = writer.begin_with_options(options).await.map_err(StorageError::from)?;
    let answer = work(&tx, input).await;
    match (&answer, end) {
        (Ok(_), End::Commit) => tx.commit().await,
        (Ok(_), End::RollBack) | (Err(_), End::Commit | End::RollBack) => tx.rollback().await,
    }
    .map_err(StorageError::from)?;
    answer
}

/// How long to wait before a repeat: a random part of 5 ms, 10 ms, 20 ms and so on.
fn pause(repeats: u32) -> Duration {
    let longest_us = (PAUSE_FIRST_MS << repeats.min(WRITE_RETRIES_MAX)) * 1_000;
    // A version 4 UUID is random but for six fixed bits: random enough for a pause.
    let (random, _) = Uuid::new_v4().as_u64_pair();
    Duration::from_micros(longest_us / 2 + random % (longest_us / 2))
}
