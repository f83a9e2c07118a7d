//! Table `turned_away`: work that was asked for and did not come to the shop. It only grows.

use super::{
    StorageError, instant,
    offers::offer_number,
    sql::{all, body, count, execute, integer, one},
};
use baywright_api::v1::TurnedAway;
use prost::Message as _;
use sea_orm::ConnectionTrait;

/// Appends an entry under the next number; the entry as it was kept.
///
/// # Errors
/// [`StorageError`] of the database, also when the offer stands in the log already.
pub async fn append_turned_away(
    conn: &impl ConnectionTrait,
    entry: TurnedAway,
) -> Result<TurnedAway, StorageError> {
    let sql = "SELECT coalesce(max(number), 0) + 1 AS next FROM turned_away WHERE shop_id = $1";
    let row = one(conn, sql, vec![entry.shop_id.as_str().into()]).await?;
    let number = row.map_or(Ok(1), |row| count(&row, "next"))?;
    let entry = TurnedAway { number, ..entry };
    let field = "turned_away.offer_id";
    let offer = offer_number(&entry.offer_id).ok_or(StorageError::Unstorable { field })?;
    let sql = "INSERT INTO turned_away (shop_id, number, offer_number, turned_away_at, body)
        VALUES ($1, $2, $3, $4, $5)";
    let time = entry.turned_away_time.as_ref();
    let values = vec![
        entry.shop_id.as_str().into(),
        integer(number, "turned_away.number")?,
        integer(offer, field)?,
        instant::at_time(time, "turned_away.turned_away_time")?,
        entry.encode_to_vec().into(),
    ];
    execute(conn, sql, values).await?;
    Ok(entry)
}

/// Entries with lower numbers than `before`, the newest first, at most `limit`.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn list_turned_away(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    before: Option<u64>,
    limit: u32,
) -> Result<Vec<TurnedAway>, StorageError> {
    let sql = "SELECT body FROM turned_away WHERE shop_id = $1 AND number < $2
        ORDER BY number DESC LIMIT $3";
    let before = before.and_then(|number| i64::try_from(number).ok()).unwrap_or(i64::MAX);
    let values = vec![shop_id.into(), before.into(), i64::from(limit).into()];
    all(conn, sql, values).await?.iter().map(|row| body(row, "turned_away")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::{
        offers::{insert_offer, offer_name},
        testing::{SHOP, TestDatabase, noon_time},
    };
    use baywright_api::v1::{Offer, OfferState};

    #[tokio::test]
    async fn the_log_is_numbered_and_never_changes() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        for number in 1..=3 {
            let offer_id = offer_name(number);
            let offer = Offer {
                shop_id: SHOP.to_owned(),
                offer_id: offer_id.clone(),
                made_time: Some(noon_time()),
                lapse_time: Some(noon_time()),
                state: OfferState::Refused.into(),
                ..Offer::default()
            };
            insert_offer(conn, &offer).await.unwrap();
            let entry = TurnedAway {
                shop_id: SHOP.to_owned(),
                offer_id,
                turned_away_time: Some(noon_time()),
                ..TurnedAway::default()
            };
            let kept = append_turned_away(conn, entry.clone()).await.unwrap();
            assert_eq!(kept.number, number);
            append_turned_away(conn, entry).await.unwrap_err();
        }
        let numbers = async |before, limit| -> Vec<u64> {
            let listed = list_turned_away(conn, SHOP, before, limit).await.unwrap();
            listed.iter().map(|entry| entry.number).collect()
        };
        assert_eq!(numbers(None, 2).await, [3, 2]);
        assert_eq!(numbers(Some(2), 2).await, [1]);
        assert!(list_turned_away(conn, "other-shop", None, 2).await.unwrap().is_empty());
        for sql in ["UPDATE turned_away SET body = x'00'", "DELETE FROM turned_away"] {
            conn.execute_unprepared(sql).await.unwrap_err();
        }
    }
}
