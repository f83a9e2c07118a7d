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
