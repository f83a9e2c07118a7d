//! Table `audit`: every change with actor, instant, before and after. Rows are only ever added; the
//! database refuses to change or delete one.

use super::{
    Call, StorageError, instant,
    sql::{all, column, execute, integer},
};
use chrono::{DateTime, Utc};
use sea_orm::ConnectionTrait;

/// One thing that a call changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AuditEntry {
    /// What it is: `job`, `holding`, `bay`.
    pub kind: &'static str,
    /// Its name within the shop.
    pub thing_id: String,
    /// The encoded message before; absent where it is new.
    pub before: Option<Vec<u8>>,
    /// The encoded message after; absent where it is gone from use.
    pub after: Option<Vec<u8>>,
}

/// One row of the audit trail.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AuditRow {
    /// Number of the row; rises with time.
    pub id: i64,
    /// When.
    pub at: DateTime<Utc>,
    /// Who.
    pub actor: String,
    /// By which method.
    pub method: String,
    /// With which request.
    pub request_id: String,
    /// The encoded message before.
    pub before: Option<Vec<u8>>,
    /// The encoded message after.
    pub after: Option<Vec<u8>>,
}

/// Adds what a call changed to the trail.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn append(
    conn: &impl ConnectionTrait,
    call: &Call,
    entries: &[AuditEntry],
) -> Result<(), StorageError> {
    let sql = "INSERT INTO audit
        (shop_id, at, actor, method, kind, thing_id, before, after, request_id)
        VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)";
    for entry in entries {
        let values = vec![
            call.shop_id.as_str().into(),
            instant::at(call.at),
            call.actor.as_str().into(),
            call.method.into(),
            entry.kind.into(),
            entry.thing_id.as_str().into(),
            entry.before.clone().into(),
            entry.after.clone().into(),
            call.request_id.to_string().into(),
        ];
        execute(conn, sql, values).await?;
    }
    Ok(())
}

/// What happened to one thing, oldest first: at most `limit` rows after the row `after_id`, 0 for
/// the beginning.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn audit_of(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    (kind, thing_id): (&str, &str),
    after_id: i64,
    limit: u32,
) -> Result<Vec<AuditRow>, StorageError> {
    let sql = "SELECT id, at, actor, method, request_id, before, after FROM audit
        WHERE shop_id = $1 AND kind = $2 AND thing_id = $3 AND id > $4 ORDER BY id LIMIT $5";
    let limit = integer(limit, "limit")?;
    let values = vec![shop_id.into(), kind.into(), thing_id.into(), after_id.into(), limit];
    let rows = all(conn, sql, values).await?;
    rows.iter()
        .map(|row| {
            Ok(AuditRow {
                id: column(row, "id")?,
                at: instant::read_at(row, "at")?,
                actor: column(row, "actor")?,
                method: column(row, "method")?,
                request_id: column(row, "request_id")?,
                before: column(row, "before")?,
                after: column(row, "after")?,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::testing::{TestDatabase, call};

    #[tokio::test]
    async fn the_database_refuses_to_change_or_delete_a_row() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        let entry =
            AuditEntry { kind: "job", thing_id: "J-1".to_owned(), before: None, after: None };
        let call = call("0195563c-8f5c-7c1b-8f53-0f6b6f0d6a01", &());
        append(conn, &call, &[entry]).await.unwrap();

        for sql in ["UPDATE audit SET actor = 'nobody'", "DELETE FROM audit"] {
            let refused = conn.execute_unprepared(sql).await.unwrap_err().to_string();
            assert!(refused.contains("an audit row"), "{refused}");
        }
    }
}
