//! Table `requests`: the answers of writes, by shop, method and request id.
//!
//! Only answers of calls that took effect are kept: a refused call may be sent again. Rows older
//! than [`crate::limits::REPLIES_KEPT`] are removed.

use super::{
    Call, StorageError, instant,
    sql::{column, execute, integer, one},
};
use chrono::{DateTime, Utc};
use sea_orm::ConnectionTrait;

/// An answer that was given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredReply {
    /// SHA-256 of the request's body.
    pub body_hash: Vec<u8>,
    /// The encoded answer.
    pub reply: Vec<u8>,
}

/// The answer given to a call with this request id, if one was.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn stored_reply(
    conn: &impl ConnectionTrait,
    call: &Call,
) -> Result<Option<StoredReply>, StorageError> {
    let sql = "SELECT body_hash, reply FROM requests
        WHERE shop_id = $1 AND method = $2 AND request_id = $3";
    let row = one(conn, sql, key(call)).await?;
    row.map(|row| {
        Ok(StoredReply { body_hash: column(&row, "body_hash")?, reply: column(&row, "reply")? })
    })
    .transpose()
}

/// Keeps the answer to a call.
///
/// # Errors
/// [`StorageError`] of the database, also when an answer is kept already.
pub async fn store_reply(
    conn: &impl ConnectionTrait,
    call: &Call,
    reply: Vec<u8>,
) -> Result<(), StorageError> {
    let sql = "INSERT INTO requests (shop_id, method, request_id, body_hash, reply, stored_at)
        VALUES ($1, $2, $3, $4, $5, $6)";
    let mut values = key(call);
    values.extend([call.body_hash.to_vec().into(), reply.into(), instant::at(call.at)]);
    execute(conn, sql, values).await?;
    Ok(())
}

/// Removes answers given before an instant, at most `limit`; how many were removed.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn prune_replies(
    conn: &impl ConnectionTrait,
    before: DateTime<Utc>,
    limit: u32,
) -> Result<u64, StorageError> {
    let sql = "DELETE FROM requests WHERE (shop_id, method, request_id) IN (
            SELECT shop_id, method, request_id FROM requests WHERE stored_at < $1
            ORDER BY stored_at LIMIT $2)";
    execute(conn, sql, vec![instant::at(before), integer(limit, "limit")?]).await
}

fn key(call: &Call) -> Vec<sea_orm::Value> {
    vec![call.shop_id.as_str().into(), call.method.into(), call.request_id.to_string().into()]
}
