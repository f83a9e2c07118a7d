//! The chain of the conditions records of a shop: each carries the hash of the one before.
//!
//! The hash is SHA-256 over the hash before, the number and the stored body, as the contract says
//! beside `RecordService`. The columns by which a record is found mirror its body, so they are
//! compared with it. What nobody can see from the rows alone, records cut off at the end, shows in
//! the audit trail, which tells of every record that was ever kept.

use super::{
    StorageError,
    instant::micros,
    sql::{all, column, count, integer, one},
};
use baywright_api::v1::{ConditionsRecord, RecordMisfit};
use prost::Message as _;
use sea_orm::{ConnectionTrait, QueryResult};
use sha2::{Digest as _, Sha256};

/// Bytes of a hash.
const HASH_BYTES: usize = 32;

/// The columns by which a record is found, as its body tells them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct RecordKey {
    pub(super) job_id: String,
    pub(super) task_id: String,
    pub(super) attempt: i64,
    pub(super) recorded_at: i64,
    pub(super) corrects_number: Option<i64>,
}

impl RecordKey {
    /// What the columns of a record hold.
    pub(super) fn of(record: &ConditionsRecord) -> Result<Self, StorageError> {
        let task = record.task.as_ref();
        let task = task.ok_or(StorageError::Unstorable { field: "conditions_record.task" })?;
        let correction = record.correction.as_ref();
        let recorded =
            correction.map_or(record.ended_time.as_ref(), |one| one.corrected_time.as_ref());
        let field = "conditions_record.correction.corrects_number";
        let corrects_number = correction
            .map(|one| i64::try_from(one.corrects_number).ok())
            .map(|number| number.ok_or(StorageError::Unstorable { field }))
            .transpose()?;
        Ok(Self {
            job_id: record.job_id.clone(),
            task_id: task.task_id.clone(),
            attempt: record.attempt.into(),
            recorded_at: micros(recorded, "conditions_record.ended_time")?,
            corrects_number,
        })
    }

    fn stored(row: &QueryResult) -> Result<Self, StorageError> {
        Ok(Self {
            job_id: column(row, "job_id")?,
            task_id: column(row, "task_id")?,
            attempt: column(row, "attempt")?,
            recorded_at: column(row, "recorded_at")?,
            corrects_number: column(row, "corrects_number")?,
        })
    }
}

/// The hash of a record.
pub(crate) fn record_hash(previous: &[u8], number: u64, body: &[u8]) -> Vec<u8> {
    let mut hasher = Sha256::new();
    hasher.update(previous);
    hasher.update(number.to_be_bytes());
    hasher.update(body);
    hasher.finalize().to_vec()
}

/// The hash that the record of this number carries of the one before: zeros for the first; none
/// where there is no record before it.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn hash_before(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    number: u64,
) -> Result<Option<Vec<u8>>, StorageError> {
    if number <= 1 {
        return Ok(Some(vec![0; HASH_BYTES]));
    }
    let sql = "SELECT hash FROM conditions_records WHERE shop_id = $1 AND number = $2";
    let row = one(conn, sql, vec![shop_id.into(), integer(number - 1, "number")?]).await?;
    row.map(|row| column(&row, "hash")).transpose()
}

/// A record as it is stored, with what proves it.
#[derive(Debug, Clone)]
pub struct StoredRecord {
    /// Its number.
    pub number: u64,
    /// The hash of it that is stored.
    pub hash: Vec<u8>,
    previous_hash: Vec<u8>,
    body: Vec<u8>,
    key: RecordKey,
    shop_id: String,
}

impl StoredRecord {
    /// How it does not fit behind a record of this hash; none where it fits.
    pub fn misfit(&self, previous: &[u8]) -> Option<RecordMisfit> {
        if self.previous_hash != previous {
            return Some(RecordMisfit::Link);
        }
        if record_hash(&self.previous_hash, self.number, &self.body) != self.hash {
            return Some(RecordMisfit::Content);
        }
        let told = ConditionsRecord::decode(self.body.as_slice()).ok();
        let same = told.is_some_and(|record| {
            record.shop_id == self.shop_id
                && record.number == self.number
                && RecordKey::of(&record).ok().as_ref() == Some(&self.key)
        });
        (!same).then_some(RecordMisfit::Key)
    }
}

/// Records of a shop by number, with what proves them: at most `limit`, from `from` to `to`.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn stored_records(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    (from, to): (u64, u64),
    limit: u32,
) -> Result<Vec<StoredRecord>, StorageError> {
    let sql = "SELECT number, job_id, task_id, attempt, recorded_at, corrects_number, body,
            previous_hash, hash
        FROM conditions_records WHERE shop_id = $1 AND number BETWEEN $2 AND $3
        ORDER BY number LIMIT $4";
    let values = vec![
        shop_id.into(),
        integer(from, "number")?,
        integer(to, "number")?,
        integer(limit, "limit")?,
    ];
    let rows = all(conn, sql, values).await?;
    rows.iter()
        .map(|row| {
            Ok(StoredRecord {
                number: count(row, "number")?,
                hash: column(row, "hash")?,
                previous_hash: column(row, "previous_hash")?,
                body: column(row, "body")?,
                key: RecordKey::stored(row)?,
                shop_id: shop_id.to_owned(),
            })
        })
        .collect()
}

/// The highest number of a record that the audit trail of a shop tells of; 0 where it tells of none.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn last_record_told(
    conn: &impl ConnectionTrait,
    shop_id: &str,
) -> Result<u64, StorageError> {
    let sql = "SELECT coalesce(max(CAST(thing_id AS INTEGER)), 0) AS last FROM audit
        WHERE shop_id = $1 AND kind = 'record'";
    let row = one(conn, sql, vec![shop_id.into()]).await?;
    row.map_or(Ok(0), |row| count(&row, "last"))
}
