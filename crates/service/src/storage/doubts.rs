//! Table `doubts`: bays that a failure has put in doubt for a method, until someone clears it.

use super::{
    StorageError, instant,
    sql::{all, column, execute},
};
use chrono::{DateTime, Utc};
use sea_orm::{ConnectionTrait, Value};

/// What a doubt is about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Doubted {
    /// The bay.
    pub bay_id: String,
    /// The procedure.
    pub procedure_id: String,
    /// The method.
    pub method_id: String,
}

/// A doubt that stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Doubt {
    /// What it is about.
    pub about: Doubted,
    /// Since when.
    pub since: DateTime<Utc>,
    /// What was seen.
    pub note: String,
}

/// Puts a bay and method in doubt.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn raise_doubt(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    doubt: &Doubt,
) -> Result<(), StorageError> {
    // Two failures noted at one instant are one doubt; the first note stays.
    let sql = "INSERT INTO doubts (shop_id, bay_id, procedure_id, method_id, since_at, note)
        VALUES ($1, $2, $3, $4, $5, $6) ON CONFLICT DO NOTHING";
    let mut values = key(shop_id, &doubt.about);
    values.extend([instant::at(doubt.since), doubt.note.as_str().into()]);
    execute(conn, sql, values).await?;
    Ok(())
}

/// Clears every doubt about a bay and method; how many there were.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn clear_doubts(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    about: &Doubted,
    now: DateTime<Utc>,
) -> Result<u64, StorageError> {
    let sql = "UPDATE doubts SET cleared_at = $5 WHERE shop_id = $1 AND bay_id = $2
        AND procedure_id = $3 AND method_id = $4 AND cleared_at IS NULL";
    let mut values = key(shop_id, about);
    values.push(instant::at(now));
    execute(conn, sql, values).await
}

/// The doubts that stand in a shop, oldest first.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn standing_doubts(
    conn: &impl ConnectionTrait,
    shop_id: &str,
) -> Result<Vec<Doubt>, StorageError> {
    let sql = "SELECT bay_id, procedure_id, method_id, since_at, note FROM doubts
        WHERE shop_id = $1 AND cleared_at IS NULL
        ORDER BY since_at, bay_id, procedure_id, method_id";
    let rows = all(conn, sql, vec![shop_id.into()]).await?;
    rows.iter()
        .map(|row| {
            Ok(Doubt {
                about: Doubted {
                    bay_id: column(row, "bay_id")?,
                    procedure_id: column(row, "procedure_id")?,
                    method_id: column(row, "method_id")?,
                },
                since: instant::read_at(row, "since_at")?,
                note: column(row, "note")?,
            })
        })
        .collect()
}

fn key(shop_id: &str, about: &Doubted) -> Vec<Value> {
    let Doubted { bay_id, procedure_id, method_id } = about;
    vec![
        shop_id.into(),
        bay_id.as_str().into(),
        procedure_id.as_str().into(),
        method_id.as_str().into(),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::testing::{SHOP, TestDatabase, noon};

    fn doubt(method_id: &str) -> Doubt {
        let about = Doubted {
            bay_id: "bay-1".to_owned(),
            procedure_id: "front-camera".to_owned(),
            method_id: method_id.to_owned(),
        };
        Doubt { about, since: noon(), note: "glare on the target".to_owned() }
    }

    #[tokio::test]
    async fn a_doubt_stands_until_someone_clears_it() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        for doubt in [doubt("static"), doubt("static"), doubt("dynamic")] {
            raise_doubt(conn, SHOP, &doubt).await.unwrap();
        }
        let standing = async || standing_doubts(conn, SHOP).await.unwrap();
        assert_eq!(standing().await, [doubt("dynamic"), doubt("static")]);

        let cleared = clear_doubts(conn, SHOP, &doubt("static").about, noon()).await.unwrap();

        assert_eq!(cleared, 1);
        assert_eq!(standing().await, [doubt("dynamic")]);
    }
}
