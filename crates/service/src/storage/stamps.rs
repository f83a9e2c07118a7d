//! The stamp of a shop: a few numbers that differ whenever something written down or surveyed does.
//!
//! Revisions and surveys are only ever added or retired, so their counts never return to an earlier
//! value; a stamp that is the same means that nothing has changed.

use super::{
    StorageError,
    sql::{column, count, one},
};
use sea_orm::ConnectionTrait;

/// What a shop's definition and surveys stood at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    shop_revision: u32,
    definitions: i64,
    retired: i64,
    surveys: i64,
}

/// The stamp of a shop now; none where there is no such shop.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn shop_stamp(
    conn: &impl ConnectionTrait,
    shop_id: &str,
) -> Result<Option<Stamp>, StorageError> {
    let sql = "SELECT revision,
            (SELECT count(*) FROM definitions WHERE shop_id = $1) AS definitions,
            (SELECT count(retired_at) FROM definitions WHERE shop_id = $1) AS retired,
            (SELECT count(*) FROM surveys WHERE shop_id = $1) AS surveys
        FROM shops WHERE shop_id = $1";
    let Some(row) = one(conn, sql, vec![shop_id.into()]).await? else { return Ok(None) };
    Ok(Some(Stamp {
        shop_revision: count(&row, "revision")?,
        definitions: column(&row, "definitions")?,
        retired: column(&row, "retired")?,
        surveys: column(&row, "surveys")?,
    }))
}
