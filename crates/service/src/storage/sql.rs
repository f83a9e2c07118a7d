//! Statements with numbered values, and rows with encoded bodies.
//!
//! Placeholders are `$1`, `$2`, ...: SQLite and PostgreSQL both take them.

use super::StorageError;
use prost::Message;
use sea_orm::{ConnectionTrait, QueryResult, Statement, TryGetable, Value};

fn statement(conn: &impl ConnectionTrait, sql: &str, values: Vec<Value>) -> Statement {
    Statement::from_sql_and_values(conn.get_database_backend(), sql, values)
}

/// Runs a statement; the number of rows that it changed.
pub(super) async fn execute(
    conn: &impl ConnectionTrait,
    sql: &str,
    values: Vec<Value>,
) -> Result<u64, StorageError> {
    Ok(conn.execute_raw(statement(conn, sql, values)).await?.rows_affected())
}

/// The first row, if there is one.
pub(super) async fn one(
    conn: &impl ConnectionTrait,
    sql: &str,
    values: Vec<Value>,
) -> Result<Option<QueryResult>, StorageError> {
    Ok(conn.query_one_raw(statement(conn, sql, values)).await?)
}

/// All rows.
pub(super) async fn all(
    conn: &impl ConnectionTrait,
    sql: &str,
    values: Vec<Value>,
) -> Result<Vec<QueryResult>, StorageError> {
    Ok(conn.query_all_raw(statement(conn, sql, values)).await?)
}

/// The value of a column.
pub(super) fn column<T: TryGetable>(row: &QueryResult, name: &str) -> Result<T, StorageError> {
    Ok(row.try_get("", name)?)
}

/// The message in the column `body`.
pub(super) fn body<M: Message + Default>(
    row: &QueryResult,
    table: &'static str,
) -> Result<M, StorageError> {
    decode(&column::<Vec<u8>>(row, "body")?, table)
}

/// A message out of its stored bytes.
pub(super) fn decode<M: Message + Default>(
    bytes: &[u8],
    table: &'static str,
) -> Result<M, StorageError> {
    M::decode(bytes).map_err(|source| StorageError::Decode { table, source })
}

/// A count as a column's value.
pub(super) fn integer(
    number: impl TryInto<i64>,
    field: &'static str,
) -> Result<Value, StorageError> {
    number.try_into().map(Value::from).ok().ok_or(StorageError::Unstorable { field })
}

/// A column's number as a count.
pub(super) fn count<T: TryFrom<i64>>(
    row: &QueryResult,
    name: &'static str,
) -> Result<T, StorageError> {
    let number: i64 = column(row, name)?;
    T::try_from(number).ok().ok_or(StorageError::Unstorable { field: name })
}

/// The spelling of a value of one of the contract's enumerations in a column: its name without
/// prefix, in small letters with hyphens (`TASK_STATE_OPEN` becomes `open`).
pub(super) fn spelling(name: &str, prefix: &str) -> String {
    name.strip_prefix(prefix).unwrap_or(name).to_ascii_lowercase().replace('_', "-")
}
