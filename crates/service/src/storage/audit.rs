//! Table `audit`: every change with actor, instant, before and after. Rows are only ever added; the
//! database refuses to change or delete one.
//!
//! Numbers rise in the order of the commits: there is one writer at a time, and a number is given
//! within its transaction. So whoever has read all rows up to a number never misses a later one.
//! An engine with several writers has to keep this otherwise.

use super::{
    Call, StorageError, instant,
    sql::{all, column, execute, integer, one},
};
use chrono::{DateTime, Utc};
use sea_orm::{ConnectionTrait, Value};

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
    /// What it is.
    pub kind: String,
    /// Its name within the shop.
    pub thing_id: String,
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

/// Which rows of a shop's trail are wanted; an empty text or no instant means all.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct AuditFilter {
    /// Only things of this kind.
    pub kind: String,
    /// Only the thing of this name.
    pub thing_id: String,
    /// Only what this person or system did.
    pub actor: String,
    /// Only what this method did.
    pub method: String,
    /// First instant.
    pub from: Option<DateTime<Utc>>,
    /// First instant that is not wanted any more.
    pub until: Option<DateTime<Utc>>,
}

/// In which order rows come, and after which row they begin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AuditOrder {
    /// The oldest first, after this row; 0 for the beginning.
    OldestFirst(i64),
    /// The newest first, before this row; [`i64::MAX`] for the end.
    NewestFirst(i64),
}

/// Rows of a shop's trail: at most `limit`.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn list_audit(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    filter: &AuditFilter,
    order: AuditOrder,
    limit: u32,
) -> Result<Vec<AuditRow>, StorageError> {
    let (after, direction) = match order {
        AuditOrder::OldestFirst(id) => (("id >", Value::from(id)), "ASC"),
        AuditOrder::NewestFirst(id) => (("id <", Value::from(id)), "DESC"),
    };
    let mut values: Vec<Value> = vec![shop_id.into(), integer(limit, "limit")?];
    let mut wanted = vec!["shop_id = $1".to_owned()];
    let text = |text: &str| (!text.is_empty()).then(|| Value::from(text));
    let conditions = [
        ("kind =", text(&filter.kind)),
        ("thing_id =", text(&filter.thing_id)),
        ("actor =", text(&filter.actor)),
        ("method =", text(&filter.method)),
        ("at >=", filter.from.map(instant::at)),
        ("at <", filter.until.map(instant::at)),
        (after.0, Some(after.1)),
    ];
    for (condition, value) in conditions {
        if let Some(value) = value {
            values.push(value);
            wanted.push(format!("{condition} ${}", values.len()));
        }
    }
    let wanted = wanted.join(" AND ");
    let sql = format!(
        "SELECT id, at, actor, method, request_id, kind, thing_id, before, after FROM audit
        WHERE {wanted} ORDER BY id {direction} LIMIT $2"
    );
    let rows = all(conn, &sql, values).await?;
    rows.iter()
        .map(|row| {
            Ok(AuditRow {
                id: column(row, "id")?,
                at: instant::read_at(row, "at")?,
                actor: column(row, "actor")?,
                method: column(row, "method")?,
                request_id: column(row, "request_id")?,
                kind: column(row, "kind")?,
                thing_id: column(row, "thing_id")?,
                before: column(row, "before")?,
                after: column(row, "after")?,
            })
        })
        .collect()
}

/// Number of the newest row of a shop; 0 where there is none.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn newest_audit_id(
    conn: &impl ConnectionTrait,
    shop_id: &str,
) -> Result<i64, StorageError> {
    let sql = "SELECT coalesce(max(id), 0) AS newest FROM audit WHERE shop_id = $1";
    let row = one(conn, sql, vec![shop_id.into()]).await?;
    row.map_or(Ok(0), |row| column(&row, "newest"))
}

/// Kinds of things that no plan rests on.
const NO_GROUND_OF_PLANS: &str = "'plan', 'record', 'turned-away'";

/// The newest change after the row `after_id` that a plan may rest on, for each shop that has one.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn newest_grounds_of_plans(
    conn: &impl ConnectionTrait,
    after_id: i64,
) -> Result<Vec<(String, i64)>, StorageError> {
    let sql = format!(
        "SELECT shop_id, max(id) AS newest FROM audit
        WHERE id > $1 AND kind NOT IN ({NO_GROUND_OF_PLANS}) GROUP BY shop_id ORDER BY newest"
    );
    let rows = all(conn, &sql, vec![after_id.into()]).await?;
    rows.iter().map(|row| Ok((column(row, "shop_id")?, column(row, "newest")?))).collect()
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
    let (kind, thing_id) = (kind.to_owned(), thing_id.to_owned());
    let filter = AuditFilter { kind, thing_id, ..AuditFilter::default() };
    list_audit(conn, shop_id, &filter, AuditOrder::OldestFirst(after_id), limit).await
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
