//! Table `place_claims`: where vehicles stand.
//!
//! A standing vehicle claims its place and, for every place that clashes with it, a token of the
//! pair. A claim belongs to one job, so two vehicles can neither stand on one place nor on two
//! places that clash. Which claims a place has is for the caller to say: `place:BAY/STATION`.

use super::{
    StorageError,
    sql::{all, column, execute},
};
use sea_orm::ConnectionTrait;
use std::collections::{BTreeMap, BTreeSet};

/// Gives a job's vehicle a place, instead of the one that it had.
///
/// # Errors
/// [`StorageError::Claimed`] when another vehicle is in the way: the transaction must then be given
/// up, because a part of the claims is written.
pub async fn take_place(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    job_id: &str,
    claims: &BTreeSet<String>,
) -> Result<(), StorageError> {
    leave_place(conn, shop_id, job_id).await?;
    let sql = "INSERT INTO place_claims (shop_id, claim, job_id) VALUES ($1, $2, $3)
        ON CONFLICT (shop_id, claim) DO NOTHING";
    for claim in claims {
        let values = vec![shop_id.into(), claim.as_str().into(), job_id.into()];
        if execute(conn, sql, values).await? == 0 {
            return Err(StorageError::Claimed { claim: claim.clone() });
        }
    }
    Ok(())
}

/// Frees the place of a job's vehicle; nothing happens where it has none.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn leave_place(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    job_id: &str,
) -> Result<(), StorageError> {
    let sql = "DELETE FROM place_claims WHERE shop_id = $1 AND job_id = $2";
    execute(conn, sql, vec![shop_id.into(), job_id.into()]).await?;
    Ok(())
}

/// Every claim with the job whose vehicle stands there.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn who_stands(
    conn: &impl ConnectionTrait,
    shop_id: &str,
) -> Result<BTreeMap<String, String>, StorageError> {
    let sql = "SELECT claim, job_id FROM place_claims WHERE shop_id = $1";
    let rows = all(conn, sql, vec![shop_id.into()]).await?;
    rows.iter().map(|row| Ok((column(row, "claim")?, column(row, "job_id")?))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::testing::{SHOP, TestDatabase, job, keep};
    use sea_orm::DatabaseConnection;

    fn claims<const N: usize>(claims: [&str; N]) -> BTreeSet<String> {
        claims.map(str::to_owned).into()
    }

    async fn two_jobs(conn: &DatabaseConnection) {
        for job_id in ["J-1", "J-2"] {
            keep(conn, job(job_id, 60)).await;
        }
    }

    #[tokio::test]
    async fn two_vehicles_stand_neither_on_one_place_nor_on_places_that_clash() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        two_jobs(conn).await;
        let first = claims(["place:bay-1/a", "clash:bay-1/a+bay-2/a"]);
        take_place(conn, SHOP, "J-1", &first).await.unwrap();

        for wanted in
            [claims(["place:bay-1/a"]), claims(["place:bay-2/a", "clash:bay-1/a+bay-2/a"])]
        {
            let refused = take_place(conn, SHOP, "J-2", &wanted).await.unwrap_err();
            assert!(matches!(refused, StorageError::Claimed { claim } if first.contains(&claim)));
        }
        take_place(conn, SHOP, "J-2", &claims(["place:bay-3/a"])).await.unwrap();
    }

    #[tokio::test]
    async fn a_vehicle_that_moves_frees_its_former_place() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        two_jobs(conn).await;
        take_place(conn, SHOP, "J-1", &claims(["place:bay-1/a"])).await.unwrap();

        take_place(conn, SHOP, "J-1", &claims(["place:bay-2/a"])).await.unwrap();
        take_place(conn, SHOP, "J-2", &claims(["place:bay-1/a"])).await.unwrap();
        leave_place(conn, SHOP, "J-1").await.unwrap();

        let standing = BTreeMap::from([("place:bay-1/a".to_owned(), "J-2".to_owned())]);
        assert_eq!(who_stands(conn, SHOP).await.unwrap(), standing);
    }
}
