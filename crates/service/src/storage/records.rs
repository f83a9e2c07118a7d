//! Table `conditions_records`: the evidence of every attempt.
//!
//! A record never changes; the database refuses it, and the chain of hashes ([`super::record_chain`]) shows it where somebody went past
//! the database.

use super::{
    StorageError,
    record_chain::{RecordKey, hash_before, record_hash},
    sql::{all, body, count, execute, integer, one},
};
use baywright_api::v1::ConditionsRecord;
use prost::Message as _;
use sea_orm::{ConnectionTrait, Value};

/// Number of the shop's next record: from 1, without gaps.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn next_number(conn: &impl ConnectionTrait, shop_id: &str) -> Result<u64, StorageError> {
    let sql = "SELECT coalesce(max(number), 0) + 1 AS next FROM conditions_records
        WHERE shop_id = $1";
    let row = one(conn, sql, vec![shop_id.into()]).await?;
    row.map_or(Ok(1), |row| count(&row, "next"))
}

/// Keeps a record, chained to the one before it.
///
/// # Errors
/// [`StorageError`] of the database, also when the number or the attempt has a record already;
/// [`StorageError::Unstorable`] when task or end are absent, or there is no record before it.
pub async fn insert_record(
    conn: &impl ConnectionTrait,
    record: &ConditionsRecord,
) -> Result<(), StorageError> {
    let previous = hash_before(conn, &record.shop_id, record.number).await?;
    let previous =
        previous.ok_or(StorageError::Unstorable { field: "conditions_record.number" })?;
    let body = record.encode_to_vec();
    let hash = record_hash(&previous, record.number, &body);
    let key = RecordKey::of(record)?;
    let sql = "INSERT INTO conditions_records
        (shop_id, number, job_id, task_id, attempt, recorded_at, corrects_number, body,
            previous_hash, hash)
        VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)";
    let values = vec![
        record.shop_id.as_str().into(),
        integer(record.number, "conditions_record.number")?,
        key.job_id.into(),
        key.task_id.into(),
        key.attempt.into(),
        key.recorded_at.into(),
        key.corrects_number.into(),
        body.into(),
        previous.into(),
        hash.into(),
    ];
    execute(conn, sql, values).await?;
    Ok(())
}

/// The record of this number.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn load_record(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    number: u64,
) -> Result<Option<ConditionsRecord>, StorageError> {
    let sql = "SELECT body FROM conditions_records WHERE shop_id = $1 AND number = $2";
    let row = one(conn, sql, vec![shop_id.into(), integer(number, "number")?]).await?;
    row.map(|row| body(&row, "conditions_records")).transpose()
}

/// The newest records of attempts of a shop, the newest first, without those that were corrected.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn newest_records(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    limit: u32,
) -> Result<Vec<ConditionsRecord>, StorageError> {
    let sql = "SELECT body FROM conditions_records AS one
        WHERE shop_id = $1 AND corrects_number IS NULL AND NOT EXISTS
            (SELECT 1 FROM conditions_records AS later
             WHERE later.shop_id = one.shop_id AND later.corrects_number = one.number)
        ORDER BY number DESC LIMIT $2";
    let rows = all(conn, sql, vec![shop_id.into(), i64::from(limit).into()]).await?;
    rows.iter().map(|row| body(row, "conditions_records")).collect()
}

/// Records of a job, or of one of its tasks, by number: at most `limit` after the number `after`.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn list_records(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    (job_id, task_id): (&str, Option<&str>),
    after: u64,
    limit: u32,
) -> Result<Vec<ConditionsRecord>, StorageError> {
    let mut values: Vec<Value> =
        vec![shop_id.into(), job_id.into(), integer(after, "after")?, i64::from(limit).into()];
    let of_task = task_id.map_or("", |task_id| {
        values.push(task_id.into());
        "AND task_id = $5"
    });
    let sql = format!(
        "SELECT body FROM conditions_records
        WHERE shop_id = $1 AND job_id = $2 AND number > $3 {of_task} ORDER BY number LIMIT $4"
    );
    let rows = all(conn, &sql, values).await?;
    rows.iter().map(|row| body(row, "conditions_records")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::testing::{SHOP, TestDatabase, noon_time, task};
    use baywright_api::v1::Correction;

    fn record(number: u64, task_id: &str, attempt: u32) -> ConditionsRecord {
        ConditionsRecord {
            shop_id: SHOP.to_owned(),
            number,
            job_id: "J-1".to_owned(),
            task: Some(task(task_id)),
            attempt,
            ended_time: Some(noon_time()),
            ..ConditionsRecord::default()
        }
    }

    #[tokio::test]
    async fn records_are_numbered_without_gaps_and_listed_in_pages() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        for (task_id, attempt) in [("front-camera", 1), ("post-scan", 1), ("front-camera", 2)] {
            let number = next_number(conn, SHOP).await.unwrap();
            insert_record(conn, &record(number, task_id, attempt)).await.unwrap();
        }

        let list = async |task_id, after, limit| {
            let listed = list_records(conn, SHOP, ("J-1", task_id), after, limit).await.unwrap();
            listed.into_iter().map(|record| record.number).collect::<Vec<_>>()
        };
        assert_eq!(list(None, 0, 2).await, [1, 2]);
        assert_eq!(list(None, 2, 2).await, [3]);
        assert_eq!(list(Some("front-camera"), 0, 9).await, [1, 3]);
        let second = load_record(conn, SHOP, 2).await.unwrap();
        assert_eq!(second, Some(record(2, "post-scan", 1)));
    }

    #[tokio::test]
    async fn an_attempt_has_one_record() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        insert_record(conn, &record(1, "front-camera", 1)).await.unwrap();
        insert_record(conn, &record(2, "front-camera", 1)).await.unwrap_err();
    }

    #[tokio::test]
    async fn an_attempt_may_have_corrections_beside_its_record() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        insert_record(conn, &record(1, "front-camera", 1)).await.unwrap();
        let corrected_time = Some(noon_time());
        for number in [2, 3] {
            let correction =
                Correction { corrects_number: 1, corrected_time, ..Correction::default() };
            let correction = ConditionsRecord {
                correction: Some(correction),
                ..record(number, "front-camera", 1)
            };
            insert_record(conn, &correction).await.unwrap();
        }
        assert_eq!(list_records(conn, SHOP, ("J-1", None), 0, 9).await.unwrap().len(), 3);
    }

    #[tokio::test]
    async fn a_record_without_the_one_before_it_is_not_kept() {
        let test = TestDatabase::open().await;
        insert_record(test.database.writer(), &record(2, "front-camera", 1)).await.unwrap_err();
    }

    #[tokio::test]
    async fn the_database_refuses_to_change_or_delete_a_record() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        insert_record(conn, &record(1, "front-camera", 1)).await.unwrap();
        for sql in ["UPDATE conditions_records SET body = x'00'", "DELETE FROM conditions_records"]
        {
            let refused = conn.execute_unprepared(sql).await.unwrap_err().to_string();
            assert!(refused.contains("a conditions record"), "{refused}");
        }
        assert!(load_record(conn, SHOP, 1).await.unwrap().is_some());
    }
}
