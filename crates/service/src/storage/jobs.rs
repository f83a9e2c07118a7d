//! Tables `jobs` and `tasks`. A job is one encoded message, its ground state; the other columns and
//! the whole table `tasks` mirror it, for constraints and queries, and are written only here.

#[cfg(test)]
mod tests;

use super::{
    StorageError,
    etag::etag_of,
    instant::{at, at_time},
    sql::{all, body, column, execute, one, spelling},
};
use baywright_api::v1::{Job, JobState, Task, TaskKind, TaskState};
use chrono::{DateTime, Utc};
use prost::Message as _;
use sea_orm::{ConnectionTrait, Value};

/// Where a page of jobs ended: promise and name of its last job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobKey {
    /// The promise.
    pub promise: DateTime<Utc>,
    /// The name.
    pub job_id: String,
}

/// The job of this name. Its etag is that of the stored version.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn load_job(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    job_id: &str,
) -> Result<Option<Job>, StorageError> {
    let sql = "SELECT body FROM jobs WHERE shop_id = $1 AND job_id = $2";
    let row = one(conn, sql, vec![shop_id.into(), job_id.into()]).await?;
    row.map(|row| body(&row, "jobs")).transpose()
}

/// Keeps a job and mirrors its tasks; the new version, which also becomes the job's etag.
///
/// `expected_version` is the version that the change rests on: `etag::version_of` of the job as it
/// was loaded; none for a new job.
///
/// # Errors
/// [`StorageError::Stale`] when the stored version is another, or a new job exists already;
/// [`StorageError::Unstorable`] when state, promise or a task's kind or state are absent.
pub async fn save_job(
    conn: &impl ConnectionTrait,
    job: &mut Job,
    expected_version: Option<i64>,
) -> Result<i64, StorageError> {
    let version = expected_version.unwrap_or(0) + 1;
    let etag_before = std::mem::replace(&mut job.etag, etag_of(version));
    let values = vec![
        job.shop_id.as_str().into(),
        job.job_id.as_str().into(),
        job_state(job.state())?.into(),
        at_time(job.promise_time.as_ref(), "job.promise_time")?,
        version.into(),
        job.encode_to_vec().into(),
    ];
    let sql = if expected_version.is_none() {
        "INSERT INTO jobs (shop_id, job_id, state, promise_at, version, body)
            VALUES ($1, $2, $3, $4, $5, $6) ON CONFLICT (shop_id, job_id) DO NOTHING"
    } else {
        "UPDATE jobs SET state = $3, promise_at = $4, version = $5, body = $6
            WHERE shop_id = $1 AND job_id = $2 AND version = $5 - 1"
    };
    if execute(conn, sql, values).await? == 0 {
        job.etag = etag_before;
        return Err(stale(conn, job).await?);
    }
    mirror_tasks(conn, job).await?;
    Ok(version)
}

/// Jobs in one of these states, by promise, then by name: at most `limit` after the key `after`.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn list_jobs(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    states: &[JobState],
    after: Option<&JobKey>,
    limit: u32,
) -> Result<Vec<Job>, StorageError> {
    let mut values: Vec<Value> = vec![shop_id.into(), i64::from(limit).into()];
    let mut wanted = Vec::with_capacity(states.len());
    for state in states {
        values.push(job_state(*state)?.into());
        wanted.push(format!("${}", values.len()));
    }
    let wanted = wanted.join(", ");
    let after = after.map_or_else(String::new, |JobKey { promise, job_id }| {
        values.extend([at(*promise), job_id.as_str().into()]);
        let (promise, name) = (values.len() - 1, values.len());
        format!("AND (promise_at, job_id) > (${promise}, ${name})")
    });
    let sql = format!(
        "SELECT body FROM jobs WHERE shop_id = $1 AND state IN ({wanted}) {after}
        ORDER BY promise_at, job_id LIMIT $2"
    );
    let rows = all(conn, &sql, values).await?;
    rows.iter().map(|row| body(row, "jobs")).collect()
}

/// Job and task ids of all tasks in a state.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn tasks_in_state(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    state: TaskState,
) -> Result<Vec<(String, String)>, StorageError> {
    let sql = "SELECT job_id, task_id FROM tasks WHERE shop_id = $1 AND state = $2
        ORDER BY job_id, task_id";
    let rows = all(conn, sql, vec![shop_id.into(), task_state(state)?.into()]).await?;
    rows.iter().map(|row| Ok((column(row, "job_id")?, column(row, "task_id")?))).collect()
}

async fn stale(conn: &impl ConnectionTrait, job: &Job) -> Result<StorageError, StorageError> {
    let sql = "SELECT version FROM jobs WHERE shop_id = $1 AND job_id = $2";
    let key = vec![job.shop_id.as_str().into(), job.job_id.as_str().into()];
    let etag = match one(conn, sql, key).await? {
        Some(row) => etag_of(column(&row, "version")?),
        None => String::new(),
    };
    Ok(StorageError::Stale { kind: "job", id: job.job_id.clone(), etag })
}

async fn mirror_tasks(conn: &impl ConnectionTrait, job: &Job) -> Result<(), StorageError> {
    let sql = "INSERT INTO tasks (shop_id, job_id, task_id, kind, state)
        VALUES ($1, $2, $3, $4, $5) ON CONFLICT (shop_id, job_id, task_id)
        DO UPDATE SET kind = excluded.kind, state = excluded.state
        WHERE kind <> excluded.kind OR state <> excluded.state";
    let key: Vec<Value> = vec![job.shop_id.as_str().into(), job.job_id.as_str().into()];
    for task in &job.tasks {
        let mut values = key.clone();
        values.extend([
            task.task_id.as_str().into(),
            task_kind(task)?.into(),
            task_state(task.state())?.into(),
        ]);
        execute(conn, sql, values).await?;
    }
    let stored = "SELECT task_id FROM tasks WHERE shop_id = $1 AND job_id = $2";
    for row in all(conn, stored, key.clone()).await? {
        let task_id: String = column(&row, "task_id")?;
        if !job.tasks.iter().any(|task| task.task_id == task_id) {
            let sql = "DELETE FROM tasks WHERE shop_id = $1 AND job_id = $2 AND task_id = $3";
            execute(conn, sql, [key.clone(), vec![task_id.into()]].concat()).await?;
        }
    }
    Ok(())
}

fn job_state(state: JobState) -> Result<String, StorageError> {
    match state {
        JobState::Unspecified => Err(StorageError::Unstorable { field: "job.state" }),
        state => Ok(spelling(state.as_str_name(), "JOB_STATE_")),
    }
}

fn task_state(state: TaskState) -> Result<String, StorageError> {
    match state {
        TaskState::Unspecified => Err(StorageError::Unstorable { field: "task.state" }),
        state => Ok(spelling(state.as_str_name(), "TASK_STATE_")),
    }
}

fn task_kind(task: &Task) -> Result<String, StorageError> {
    match task.kind() {
        TaskKind::Unspecified => Err(StorageError::Unstorable { field: "task.kind" }),
        kind => Ok(spelling(kind.as_str_name(), "TASK_KIND_")),
    }
}
