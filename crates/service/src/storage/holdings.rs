//! Tables `holdings` and `holding_claims`: who holds what.
//!
//! A holding is an open-ended row: no lease, no rescue by age. Its number, the fence, rises with
//! every pull. What it holds alone is claimed in rows that are unique while active, so that the
//! database itself refuses to give a task, a vehicle, a technician or a unit twice.

#[cfg(test)]
mod tests;

use super::{
    StorageError, instant,
    sql::{all, body, column, count, execute, integer, one},
};
use baywright_api::v1::Holding;
use chrono::{DateTime, Utc};
use prost::Message as _;
use sea_orm::{ConnectionTrait, Value};
use std::collections::{BTreeMap, BTreeSet};

/// Begins a holding with everything that it claims; its fence, which is also set in the holding.
///
/// # Errors
/// [`StorageError::Claimed`] when somebody holds one of the claims: the transaction must then be
/// given up, because a part of the claims is written.
pub async fn insert_holding(
    conn: &impl ConnectionTrait,
    holding: &mut Holding,
) -> Result<u64, StorageError> {
    let sql = "INSERT INTO holdings
        (shop_id, job_id, task_id, attempt, technician_id, active, pulled_at, body)
        VALUES ($1, $2, $3, $4, $5, 1, $6, $7) RETURNING fence";
    let values = vec![
        holding.shop_id.as_str().into(),
        holding.job_id.as_str().into(),
        holding.task_id.as_str().into(),
        integer(holding.attempt, "holding.attempt")?,
        holding.technician_id.as_str().into(),
        instant::at_time(holding.pulled_time.as_ref(), "holding.pulled_time")?,
        holding.encode_to_vec().into(),
    ];
    let row = one(conn, sql, values).await?;
    let row = row.ok_or(StorageError::Unstorable { field: "holding.fence" })?;
    holding.fence = count(&row, "fence")?;
    // The body names its own fence, which the database has only now given.
    save_holding(conn, holding).await?;

    let sql = "INSERT INTO holding_claims (fence, shop_id, claim, active)
        VALUES ($1, $2, $3, 1) ON CONFLICT DO NOTHING";
    for claim in claims_of(holding) {
        let fence = integer(holding.fence, "holding.fence")?;
        let values = vec![fence, holding.shop_id.as_str().into(), claim.as_str().into()];
        if execute(conn, sql, values).await? == 0 {
            return Err(StorageError::Claimed { claim });
        }
    }
    Ok(holding.fence)
}

/// Keeps a changed active holding. What it claims stays as it was at the pull.
///
/// # Errors
/// [`StorageError::FenceLost`] when no active holding has this fence.
pub async fn save_holding(
    conn: &impl ConnectionTrait,
    holding: &Holding,
) -> Result<(), StorageError> {
    let sql = "UPDATE holdings SET body = $1 WHERE fence = $2 AND shop_id = $3 AND active = 1";
    let values = vec![
        holding.encode_to_vec().into(),
        integer(holding.fence, "holding.fence")?,
        holding.shop_id.as_str().into(),
    ];
    changed_one(execute(conn, sql, values).await?, holding.fence)
}

/// Ends an active holding as it stands now and frees everything that it claimed.
///
/// # Errors
/// [`StorageError::FenceLost`] when no active holding has this fence.
pub async fn end_holding(
    conn: &impl ConnectionTrait,
    holding: &Holding,
    now: DateTime<Utc>,
) -> Result<(), StorageError> {
    let sql = "UPDATE holdings SET active = 0, ended_at = $1, body = $2
        WHERE fence = $3 AND shop_id = $4 AND active = 1";
    let fence = integer(holding.fence, "holding.fence")?;
    let values = vec![
        instant::at(now),
        holding.encode_to_vec().into(),
        fence.clone(),
        holding.shop_id.as_str().into(),
    ];
    changed_one(execute(conn, sql, values).await?, holding.fence)?;
    let sql = "UPDATE holding_claims SET active = 0 WHERE fence = $1 AND active = 1";
    execute(conn, sql, vec![fence]).await?;
    Ok(())
}

/// The active holding that a technician has pulled.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn active_holding_of_technician(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    technician_id: &str,
) -> Result<Option<Holding>, StorageError> {
    let sql = "SELECT body FROM holdings WHERE shop_id = $1 AND technician_id = $2 AND active = 1";
    first(conn, sql, vec![shop_id.into(), technician_id.into()]).await
}

/// The active holding of a task.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn active_holding_of_task(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    job_id: &str,
    task_id: &str,
) -> Result<Option<Holding>, StorageError> {
    let sql = "SELECT body FROM holdings
        WHERE shop_id = $1 AND job_id = $2 AND task_id = $3 AND active = 1";
    first(conn, sql, vec![shop_id.into(), job_id.into(), task_id.into()]).await
}

/// Everything that is held now, by fence.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn active_holdings(
    conn: &impl ConnectionTrait,
    shop_id: &str,
) -> Result<Vec<Holding>, StorageError> {
    let sql = "SELECT body FROM holdings WHERE shop_id = $1 AND active = 1 ORDER BY fence";
    let rows = all(conn, sql, vec![shop_id.into()]).await?;
    rows.iter().map(|row| body(row, "holdings")).collect()
}

/// Every active claim with the fence of its holding.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn active_claims(
    conn: &impl ConnectionTrait,
    shop_id: &str,
) -> Result<BTreeMap<String, u64>, StorageError> {
    let sql = "SELECT claim, fence FROM holding_claims WHERE shop_id = $1 AND active = 1";
    let rows = all(conn, sql, vec![shop_id.into()]).await?;
    rows.iter().map(|row| Ok((column(row, "claim")?, count(row, "fence")?))).collect()
}

/// Number of the next attempt at a task, from 1; what was done outside counts by its record.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn next_attempt(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    job_id: &str,
    task_id: &str,
) -> Result<u32, StorageError> {
    let sql = "SELECT coalesce(max(attempt), 0) + 1 AS next FROM (
        SELECT attempt FROM holdings WHERE shop_id = $1 AND job_id = $2 AND task_id = $3
        UNION ALL
        SELECT attempt FROM conditions_records
            WHERE shop_id = $1 AND job_id = $2 AND task_id = $3) AS attempts";
    let row = one(conn, sql, vec![shop_id.into(), job_id.into(), task_id.into()]).await?;
    row.map_or(Ok(1), |row| count(&row, "next"))
}

/// What a holding holds alone: its task, its vehicle, each technician and each unit.
pub fn claims_of(holding: &Holding) -> BTreeSet<String> {
    let Holding { job_id, task_id, technician_id, technician_ids, unit_ids, .. } = holding;
    let mut claims = BTreeSet::from([
        format!("task:{job_id}/{task_id}"),
        format!("vehicle:{job_id}"),
        format!("technician:{technician_id}"),
    ]);
    claims.extend(technician_ids.iter().map(|id| format!("technician:{id}")));
    claims.extend(unit_ids.iter().map(|id| format!("unit:{id}")));
    claims
}

async fn first(
    conn: &impl ConnectionTrait,
    sql: &str,
    values: Vec<Value>,
) -> Result<Option<Holding>, StorageError> {
    one(conn, sql, values).await?.map(|row| body(&row, "holdings")).transpose()
}

const fn changed_one(rows: u64, fence: u64) -> Result<(), StorageError> {
    if rows == 0 { Err(StorageError::FenceLost { fence }) } else { Ok(()) }
}
