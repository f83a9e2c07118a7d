//! Table `shops`: each shop as it is now. What it was before stands in the audit trail.

use super::{
    StorageError,
    definitions::Put,
    instant,
    sql::{body, column, count, execute, integer, one},
};
use baywright_api::v1::Shop;
use chrono::{DateTime, Utc};
use prost::Message as _;
use sea_orm::ConnectionTrait;

/// The shop of this name, with its revision.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn load_shop(
    conn: &impl ConnectionTrait,
    shop_id: &str,
) -> Result<Option<(Shop, u32)>, StorageError> {
    let sql = "SELECT body, revision FROM shops WHERE shop_id = $1";
    let row = one(conn, sql, vec![shop_id.into()]).await?;
    row.map(|row| Ok((body(&row, "shops")?, count(&row, "revision")?))).transpose()
}

/// Keeps a shop: as new, as its next revision, or not at all where nothing differs.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn put_shop(
    conn: &impl ConnectionTrait,
    shop: &Shop,
    now: DateTime<Utc>,
) -> Result<Put, StorageError> {
    let new_body = shop.encode_to_vec();
    let sql = "SELECT body, revision FROM shops WHERE shop_id = $1";
    let put = match one(conn, sql, vec![shop.shop_id.as_str().into()]).await? {
        None => Put::Added { revision: 1 },
        Some(row) => {
            let revision: u32 = count(&row, "revision")?;
            if column::<Vec<u8>>(&row, "body")? == new_body {
                return Ok(Put::Unchanged { revision });
            }
            Put::Replaced { revision: revision + 1 }
        }
    };
    let sql = "INSERT INTO shops (shop_id, revision, body, changed_at) VALUES ($1, $2, $3, $4)
        ON CONFLICT (shop_id) DO UPDATE SET
            revision = excluded.revision, body = excluded.body, changed_at = excluded.changed_at";
    let values = vec![
        shop.shop_id.as_str().into(),
        integer(put.revision(), "revision")?,
        new_body.into(),
        instant::at(now),
    ];
    execute(conn, sql, values).await?;
    Ok(put)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::testing::{SHOP, TestDatabase, noon};

    #[tokio::test]
    async fn a_shop_has_a_new_revision_only_when_it_differs() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        let same = Shop { shop_id: SHOP.to_owned(), ..Shop::default() };
        let other = Shop { title: "Test shop".to_owned(), ..same.clone() };

        let unchanged = put_shop(conn, &same, noon()).await.unwrap();
        assert_eq!(unchanged, Put::Unchanged { revision: 1 });
        let replaced = put_shop(conn, &other, noon()).await.unwrap();
        assert_eq!(replaced, Put::Replaced { revision: 2 });

        assert_eq!(load_shop(conn, SHOP).await.unwrap(), Some((other, 2)));
        assert_eq!(load_shop(conn, "other-shop").await.unwrap(), None);
    }
}
