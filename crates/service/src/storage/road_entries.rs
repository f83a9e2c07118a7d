//! Table `road_entries`: what managers say of the roads. An entry is withdrawn, never deleted.

use super::{
    StorageError, instant,
    sql::{all, body, count, execute, integer, one},
};
use baywright_api::v1::RoadEntry;
use chrono::{DateTime, Utc};
use prost::Message as _;
use sea_orm::ConnectionTrait;

/// Keeps an entry under the next number; the entry as it was kept.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn insert_road_entry(
    conn: &impl ConnectionTrait,
    entry: RoadEntry,
) -> Result<RoadEntry, StorageError> {
    let sql = "SELECT coalesce(max(number), 0) + 1 AS next FROM road_entries WHERE shop_id = $1";
    let row = one(conn, sql, vec![entry.shop_id.as_str().into()]).await?;
    let number: u32 = row.map_or(Ok(1), |row| count(&row, "next"))?;
    let entry = RoadEntry { number, ..entry };
    let sql = "INSERT INTO road_entries (shop_id, number, from_at, until_at, body)
        VALUES ($1, $2, $3, $4, $5)";
    let values = vec![
        entry.shop_id.as_str().into(),
        integer(number, "road_entry.number")?,
        instant::at_time(entry.from_time.as_ref(), "road_entry.from_time")?,
        instant::at_time(entry.until_time.as_ref(), "road_entry.until_time")?,
        entry.encode_to_vec().into(),
    ];
    execute(conn, sql, values).await?;
    Ok(entry)
}

/// An entry, withdrawn or not.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn load_road_entry(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    number: u32,
) -> Result<Option<RoadEntry>, StorageError> {
    let sql = "SELECT body FROM road_entries WHERE shop_id = $1 AND number = $2";
    let values = vec![shop_id.into(), integer(number, "road_entry.number")?];
    one(conn, sql, values).await?.map(|row| body(&row, "road_entries")).transpose()
}

/// Keeps that an entry was withdrawn.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn save_withdrawn(
    conn: &impl ConnectionTrait,
    entry: &RoadEntry,
) -> Result<(), StorageError> {
    let sql = "UPDATE road_entries SET withdrawn_at = $3, body = $4
        WHERE shop_id = $1 AND number = $2 AND withdrawn_at IS NULL";
    let values = vec![
        entry.shop_id.as_str().into(),
        integer(entry.number, "road_entry.number")?,
        instant::at_time(entry.withdrawn_time.as_ref(), "road_entry.withdrawn_time")?,
        entry.encode_to_vec().into(),
    ];
    execute(conn, sql, values).await?;
    Ok(())
}

/// The entries that are not withdrawn and end after an instant, by their begin; the `limit` that end
/// last where there are more.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn standing_road_entries(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    after: DateTime<Utc>,
    limit: u32,
) -> Result<Vec<RoadEntry>, StorageError> {
    let sql = "SELECT body FROM (
            SELECT from_at, number, body FROM road_entries
            WHERE shop_id = $1 AND withdrawn_at IS NULL AND until_at > $2
            ORDER BY until_at DESC, number DESC LIMIT $3
        ) AS latest ORDER BY from_at, number";
    let values = vec![shop_id.into(), instant::at(after), i64::from(limit).into()];
    all(conn, sql, values).await?.iter().map(|row| body(row, "road_entries")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::testing::{SHOP, TestDatabase, noon, noon_time};
    use baywright_api::time::timestamp;
    use chrono::TimeDelta;

    fn entry(hours: i64) -> RoadEntry {
        RoadEntry {
            shop_id: SHOP.to_owned(),
            from_time: Some(timestamp(noon() + TimeDelta::hours(hours))),
            until_time: Some(timestamp(noon() + TimeDelta::hours(hours + 2))),
            ..RoadEntry::default()
        }
    }

    #[tokio::test]
    async fn an_entry_stands_until_it_ends_or_is_withdrawn_and_is_never_deleted() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        for hours in [5, -3, 1] {
            insert_road_entry(conn, entry(hours)).await.unwrap();
        }
        let standing = async |shop: &'static str| -> Vec<u32> {
            let listed = standing_road_entries(conn, shop, noon(), 10).await.unwrap();
            listed.iter().map(|entry| entry.number).collect()
        };
        assert_eq!(standing(SHOP).await, [3, 1], "the second has ended; by begin");
        assert!(standing("other-shop").await.is_empty());

        let first = load_road_entry(conn, SHOP, 1).await.unwrap().unwrap();
        let withdrawn = RoadEntry { withdrawn_time: Some(noon_time()), ..first };
        save_withdrawn(conn, &withdrawn).await.unwrap();

        assert_eq!(standing(SHOP).await, [3]);
        assert_eq!(load_road_entry(conn, SHOP, 1).await.unwrap(), Some(withdrawn));
        conn.execute_unprepared("DELETE FROM road_entries").await.unwrap_err();
    }
}
