//! Instants as columns keep them: UTC microseconds since 1970.

use super::StorageError;
use chrono::{DateTime, Utc};
use prost_types::Timestamp;
use sea_orm::{QueryResult, Value};

const MICROS_PER_SECOND: i64 = 1_000_000;
const NANOS_PER_MICRO: i64 = 1_000;

/// An instant as a column's value.
pub(super) fn at(instant: DateTime<Utc>) -> Value {
    Value::from(instant.timestamp_micros())
}

/// An instant of a message as a column's value.
pub(super) fn at_time(
    time: Option<&Timestamp>,
    field: &'static str,
) -> Result<Value, StorageError> {
    micros(time, field).map(Value::from)
}

/// An instant of a message in whole microseconds since 1970.
pub(super) fn micros(time: Option<&Timestamp>, field: &'static str) -> Result<i64, StorageError> {
    let unstorable = StorageError::Unstorable { field };
    let Some(time) = time else { return Err(unstorable) };
    time.seconds
        .checked_mul(MICROS_PER_SECOND)
        .and_then(|micros| micros.checked_add(i64::from(time.nanos) / NANOS_PER_MICRO))
        .ok_or(unstorable)
}

/// The instant in a column.
pub(super) fn read_at(
    row: &QueryResult,
    name: &'static str,
) -> Result<DateTime<Utc>, StorageError> {
    let micros: i64 = super::sql::column(row, name)?;
    DateTime::from_timestamp_micros(micros).ok_or(StorageError::Unstorable { field: name })
}
