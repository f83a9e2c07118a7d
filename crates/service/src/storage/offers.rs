//! Table `offers`: promises that were offered, and those that could not be.
//!
//! A held offer lapses by time alone, so its row stays `held`; whoever reads it says at what instant.
//! What is written later is only that the lapse was noted, once.

use super::{
    StorageError, instant,
    numbered::{name_of, number_of},
    sql::{all, body, count, execute, integer, one, spelling},
};
use baywright_api::v1::{Offer, OfferState};
use chrono::{DateTime, Utc};
use prost::Message as _;
use sea_orm::{ConnectionTrait, Value};

const NAME_PREFIX: &str = "O-";

/// The name of an offer by its number.
pub fn offer_name(number: u64) -> String {
    name_of(NAME_PREFIX, number)
}

/// The number in the name of an offer; none where it is no such name.
pub fn offer_number(name: &str) -> Option<u64> {
    number_of(NAME_PREFIX, name)
}

/// Number of the next offer, from 1.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn next_offer_number(
    conn: &impl ConnectionTrait,
    shop_id: &str,
) -> Result<u64, StorageError> {
    let sql = "SELECT coalesce(max(number), 0) + 1 AS next FROM offers WHERE shop_id = $1";
    let row = one(conn, sql, vec![shop_id.into()]).await?;
    row.map_or(Ok(1), |row| count(&row, "next"))
}

/// Keeps a new offer.
///
/// # Errors
/// [`StorageError`] of the database; [`StorageError::Unstorable`] for a name or an instant that is
/// none.
pub async fn insert_offer(conn: &impl ConnectionTrait, offer: &Offer) -> Result<(), StorageError> {
    let sql = "INSERT INTO offers (shop_id, number, job_id, state, made_at, lapses_at, body)
        VALUES ($1, $2, $3, $4, $5, $6, $7)";
    let job_id = offer.estimate.as_ref().map_or("", |estimate| estimate.job_id.as_str());
    let values = vec![
        offer.shop_id.as_str().into(),
        number_value(offer)?,
        job_id.into(),
        state_value(offer),
        instant::at_time(offer.made_time.as_ref(), "offer.made_time")?,
        instant::at_time(offer.lapse_time.as_ref(), "offer.lapse_time")?,
        offer.encode_to_vec().into(),
    ];
    execute(conn, sql, values).await?;
    Ok(())
}

/// Keeps what became of a held offer; whether it was held.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn end_offer(conn: &impl ConnectionTrait, offer: &Offer) -> Result<bool, StorageError> {
    let sql = "UPDATE offers SET state = $3, body = $4
        WHERE shop_id = $1 AND number = $2 AND state = 'held'";
    let values = vec![
        offer.shop_id.as_str().into(),
        number_value(offer)?,
        state_value(offer),
        offer.encode_to_vec().into(),
    ];
    Ok(execute(conn, sql, values).await? == 1)
}

/// An offer by its name.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn load_offer(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    offer_id: &str,
) -> Result<Option<Offer>, StorageError> {
    let Some(number) = offer_number(offer_id) else { return Ok(None) };
    let Ok(number) = i64::try_from(number) else { return Ok(None) };
    let sql = "SELECT body FROM offers WHERE shop_id = $1 AND number = $2";
    let row = one(conn, sql, vec![shop_id.into(), number.into()]).await?;
    row.map(|row| body(&row, "offers")).transpose()
}

/// The offers that are held at `now`, the oldest first, at most `limit`.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn held_offers(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    now: DateTime<Utc>,
    limit: u32,
) -> Result<Vec<Offer>, StorageError> {
    let sql = "SELECT body FROM offers
        WHERE shop_id = $1 AND state = 'held' AND lapse_noted = 0 AND lapses_at > $2
        ORDER BY number LIMIT $3";
    let values = vec![shop_id.into(), instant::at(now), i64::from(limit).into()];
    all(conn, sql, values).await?.iter().map(|row| body(row, "offers")).collect()
}

/// Offers that are in one of `states` at `now`, with lower numbers than `before`, the newest first, at
/// most `limit`. Each is told as it was kept: a held one may have lapsed.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn list_offers(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    (states, now): (&[OfferState], DateTime<Utc>),
    (before, limit): (Option<u64>, u32),
) -> Result<Vec<Offer>, StorageError> {
    let wanted: Vec<String> = states
        .iter()
        .map(|state| format!("'{}'", spelling(state.as_str_name(), "OFFER_STATE_")))
        .collect();
    let sql = format!(
        "SELECT body FROM offers WHERE shop_id = $1 AND number < $2
        AND (CASE WHEN state = 'held' AND lapses_at <= $3 THEN 'lapsed' ELSE state END) IN ({})
        ORDER BY number DESC LIMIT $4",
        wanted.join(", ")
    );
    let before = before.and_then(|number| i64::try_from(number).ok()).unwrap_or(i64::MAX);
    let values = vec![shop_id.into(), before.into(), instant::at(now), i64::from(limit).into()];
    all(conn, &sql, values).await?.iter().map(|row| body(row, "offers")).collect()
}

/// Held offers of any shop that have lapsed at `now` without a note of it, at most `limit`.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn lapsed_unnoted(
    conn: &impl ConnectionTrait,
    now: DateTime<Utc>,
    limit: u32,
) -> Result<Vec<Offer>, StorageError> {
    let sql = "SELECT body FROM offers WHERE state = 'held' AND lapse_noted = 0 AND lapses_at <= $1
        ORDER BY lapses_at, shop_id, number LIMIT $2";
    let values = vec![instant::at(now), i64::from(limit).into()];
    all(conn, sql, values).await?.iter().map(|row| body(row, "offers")).collect()
}

/// Keeps that an offer has lapsed; whether it was held and nobody had noted it.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn note_lapse(conn: &impl ConnectionTrait, offer: &Offer) -> Result<bool, StorageError> {
    let sql = "UPDATE offers SET lapse_noted = 1, body = $3
        WHERE shop_id = $1 AND number = $2 AND state = 'held' AND lapse_noted = 0";
    let values =
        vec![offer.shop_id.as_str().into(), number_value(offer)?, offer.encode_to_vec().into()];
    Ok(execute(conn, sql, values).await? == 1)
}

fn number_value(offer: &Offer) -> Result<Value, StorageError> {
    let field = "offer.offer_id";
    let number = offer_number(&offer.offer_id).ok_or(StorageError::Unstorable { field })?;
    integer(number, field)
}

fn state_value(offer: &Offer) -> Value {
    let state = OfferState::try_from(offer.state).unwrap_or_default();
    spelling(state.as_str_name(), "OFFER_STATE_").into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::testing::{SHOP, TestDatabase, noon, noon_time};
    use baywright_api::time::timestamp;
    use chrono::TimeDelta;
    use rstest::rstest;

    fn offer(number: u64) -> Offer {
        Offer {
            shop_id: SHOP.to_owned(),
            offer_id: offer_name(number),
            made_time: Some(noon_time()),
            lapse_time: Some(timestamp(noon() + TimeDelta::minutes(30))),
            state: OfferState::Held.into(),
            ..Offer::default()
        }
    }

    #[rstest]
    #[case::a_name("O-12", Some(12))]
    #[case::a_bare_number("12", None)]
    #[case::zeros_before_it("O-012", None)]
    #[case::a_sign("O-+1", None)]
    #[case::nothing("", None)]
    fn an_offer_has_one_name(#[case] name: &str, #[case] number: Option<u64>) {
        assert_eq!(offer_number(name), number);
    }

    #[tokio::test]
    async fn an_offer_is_held_until_it_lapses_or_ends() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        for number in 1..=2 {
            assert_eq!(next_offer_number(conn, SHOP).await.unwrap(), number);
            insert_offer(conn, &offer(number)).await.unwrap();
        }
        insert_offer(conn, &offer(2)).await.unwrap_err();
        let held = async |minutes| {
            let at = noon() + TimeDelta::minutes(minutes);
            held_offers(conn, SHOP, at, 10).await.unwrap().len()
        };
        assert_eq!((held(29).await, held(30).await), (2, 0));

        let ended = Offer { state: OfferState::Declined.into(), ..offer(1) };
        assert!(end_offer(conn, &ended).await.unwrap());
        assert!(!end_offer(conn, &ended).await.unwrap(), "it ends once");
        assert_eq!(held(0).await, 1);
        assert_eq!(load_offer(conn, SHOP, "O-1").await.unwrap(), Some(ended));
        assert_eq!(load_offer(conn, "other-shop", "O-1").await.unwrap(), None);
        let listed = async |states: &[OfferState], minutes| -> Vec<String> {
            let at = noon() + TimeDelta::minutes(minutes);
            let offers = list_offers(conn, SHOP, (states, at), (None, 10)).await.unwrap();
            offers.into_iter().map(|offer| offer.offer_id).collect()
        };
        assert_eq!(listed(&[OfferState::Held], 0).await, ["O-2"]);
        assert_eq!(listed(&[OfferState::Held, OfferState::Declined], 0).await, ["O-2", "O-1"]);
        assert_eq!(listed(&[OfferState::Lapsed], 30).await, ["O-2"]);
        let lapsed = lapsed_unnoted(conn, noon() + TimeDelta::minutes(30), 10).await.unwrap();
        assert_eq!(lapsed, [offer(2)]);
        assert_eq!(lapsed_unnoted(conn, noon(), 10).await.unwrap(), []);
        let noted = Offer { state: OfferState::Lapsed.into(), ..offer(2) };
        assert!(note_lapse(conn, &noted).await.unwrap());
        assert!(!note_lapse(conn, &noted).await.unwrap(), "it is noted once");
        assert_eq!(listed(&[OfferState::Lapsed], 30).await, ["O-2"]);
        assert_eq!(load_offer(conn, SHOP, "first").await.unwrap(), None);
    }
}
