//! Table `doubts`: bays that a failure has put in doubt for a method, until someone clears it.

use super::{
    StorageError, instant,
    numbered::{name_of, number_of},
    sql::{all, column, count, execute, one},
};
use baywright_api::{time::timestamp, v1::Doubt};
use chrono::{DateTime, Utc};
use sea_orm::{ConnectionTrait, QueryResult, Value};

const NAME_PREFIX: &str = "D-";
const COLUMNS: &str = "shop_id, number, bay_id, procedure_id, method_id, job_id, task_id, note,
    since_at, cleared_at, cleared_by, cleared_reason";

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

/// A failure that raises a doubt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Raised {
    /// What it is about.
    pub about: Doubted,
    /// The job whose task failed.
    pub job_id: String,
    /// The task.
    pub task_id: String,
    /// Since when.
    pub since: DateTime<Utc>,
    /// What was seen.
    pub note: String,
}

/// Who clears a doubt, when and why.
#[derive(Debug, Clone, Copy)]
pub struct Clearing<'a> {
    /// Who.
    pub actor: &'a str,
    /// Why.
    pub reason: &'a str,
    /// When.
    pub at: DateTime<Utc>,
}

/// The number in the name of a doubt; none where it is no such name.
pub fn doubt_number(name: &str) -> Option<u64> {
    number_of(NAME_PREFIX, name)
}

/// Puts a bay and method in doubt; none where the same was raised at that instant already.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn raise_doubt(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    raised: &Raised,
) -> Result<Option<Doubt>, StorageError> {
    // Two failures noted at one instant are one doubt; the first note stays.
    let sql = format!(
        "INSERT INTO doubts
            (shop_id, bay_id, procedure_id, method_id, since_at, note, job_id, task_id, number)
        VALUES ($1, $2, $3, $4, $5, $6, $7, $8,
            (SELECT coalesce(max(number), 0) + 1 FROM doubts WHERE shop_id = $1))
        ON CONFLICT (shop_id, bay_id, procedure_id, method_id, since_at) DO NOTHING
        RETURNING {COLUMNS}"
    );
    let mut values = key(shop_id, &raised.about);
    values.extend([
        instant::at(raised.since),
        raised.note.as_str().into(),
        raised.job_id.as_str().into(),
        raised.task_id.as_str().into(),
    ]);
    one(conn, &sql, values).await?.map(|row| doubt(&row)).transpose()
}

/// Clears a doubt that stands; whether it stood.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn clear_doubt(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    doubt_id: &str,
    clearing: Clearing<'_>,
) -> Result<bool, StorageError> {
    let Some(number) = column_number(doubt_id) else { return Ok(false) };
    let sql = "UPDATE doubts SET cleared_at = $3, cleared_by = $4, cleared_reason = $5
        WHERE shop_id = $1 AND number = $2 AND cleared_at IS NULL";
    let values = vec![
        shop_id.into(),
        number.into(),
        instant::at(clearing.at),
        clearing.actor.into(),
        clearing.reason.into(),
    ];
    Ok(execute(conn, sql, values).await? == 1)
}

/// A doubt by its name.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn load_doubt(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    doubt_id: &str,
) -> Result<Option<Doubt>, StorageError> {
    let Some(number) = column_number(doubt_id) else { return Ok(None) };
    let sql = format!("SELECT {COLUMNS} FROM doubts WHERE shop_id = $1 AND number = $2");
    let row = one(conn, &sql, vec![shop_id.into(), number.into()]).await?;
    row.map(|row| doubt(&row)).transpose()
}

/// The doubts that stand in a shop, oldest first.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn standing_doubts(
    conn: &impl ConnectionTrait,
    shop_id: &str,
) -> Result<Vec<Doubt>, StorageError> {
    let sql = format!(
        "SELECT {COLUMNS} FROM doubts WHERE shop_id = $1 AND cleared_at IS NULL ORDER BY number"
    );
    all(conn, &sql, vec![shop_id.into()]).await?.iter().map(doubt).collect()
}

/// Doubts with higher numbers than `after`, the oldest first, at most `limit`; those that were cleared
/// only where they are wanted.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn list_doubts(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    (after, limit): (u64, u32),
    with_cleared: bool,
) -> Result<Vec<Doubt>, StorageError> {
    let sql = format!(
        "SELECT {COLUMNS} FROM doubts
        WHERE shop_id = $1 AND number > $2 AND ($4 OR cleared_at IS NULL)
        ORDER BY number LIMIT $3"
    );
    let after = i64::try_from(after).unwrap_or(i64::MAX);
    let values = vec![shop_id.into(), after.into(), i64::from(limit).into(), with_cleared.into()];
    all(conn, &sql, values).await?.iter().map(doubt).collect()
}

fn column_number(doubt_id: &str) -> Option<i64> {
    i64::try_from(doubt_number(doubt_id)?).ok()
}

fn doubt(row: &QueryResult) -> Result<Doubt, StorageError> {
    let cleared = column::<Option<i64>>(row, "cleared_at")?.is_some();
    let cleared_at = if cleared { Some(instant::read_at(row, "cleared_at")?) } else { None };
    Ok(Doubt {
        shop_id: column(row, "shop_id")?,
        doubt_id: name_of(NAME_PREFIX, count(row, "number")?),
        bay_id: column(row, "bay_id")?,
        procedure_id: column(row, "procedure_id")?,
        method_id: column(row, "method_id")?,
        job_id: column(row, "job_id")?,
        task_id: column(row, "task_id")?,
        note: column(row, "note")?,
        since_time: Some(timestamp(instant::read_at(row, "since_at")?)),
        cleared_time: cleared_at.map(timestamp),
        cleared_by: column(row, "cleared_by")?,
        cleared_reason: column(row, "cleared_reason")?,
    })
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

    fn raised(method_id: &str) -> Raised {
        Raised {
            about: Doubted {
                bay_id: "bay-1".to_owned(),
                procedure_id: "front-camera".to_owned(),
                method_id: method_id.to_owned(),
            },
            job_id: "J-1".to_owned(),
            task_id: "camera".to_owned(),
            since: noon(),
            note: "glare on the target".to_owned(),
        }
    }

    #[tokio::test]
    async fn a_doubt_stands_until_someone_clears_it_and_then_tells_who() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        let first = raise_doubt(conn, SHOP, &raised("static")).await.unwrap().unwrap();
        assert_eq!(raise_doubt(conn, SHOP, &raised("static")).await.unwrap(), None);
        let second = raise_doubt(conn, SHOP, &raised("dynamic")).await.unwrap().unwrap();
        let elsewhere = raise_doubt(conn, "other-shop", &raised("static")).await.unwrap().unwrap();
        assert_eq!([&first.doubt_id, &second.doubt_id, &elsewhere.doubt_id], ["D-1", "D-2", "D-1"]);
        let standing = async || standing_doubts(conn, SHOP).await.unwrap();
        assert_eq!(standing().await, [first.clone(), second.clone()]);

        let clearing = Clearing { actor: "ruth", reason: "the lamp is new", at: noon() };
        assert!(clear_doubt(conn, SHOP, "D-1", clearing).await.unwrap());
        assert!(!clear_doubt(conn, SHOP, "D-1", clearing).await.unwrap(), "it is cleared once");
        assert!(!clear_doubt(conn, SHOP, "first", clearing).await.unwrap());

        assert_eq!(standing().await, std::slice::from_ref(&second));
        let cleared = load_doubt(conn, SHOP, "D-1").await.unwrap().unwrap();
        assert_eq!(
            (cleared.cleared_by.as_str(), cleared.cleared_reason.as_str()),
            ("ruth", "the lamp is new")
        );
        assert_eq!(cleared.cleared_time, Some(timestamp(noon())));
        assert_eq!(standing_doubts(conn, "other-shop").await.unwrap(), [elsewhere]);
        let list = async |after, all| list_doubts(conn, SHOP, (after, 1), all).await.unwrap();
        assert_eq!(list(0, true).await, [cleared]);
        assert_eq!(list(0, false).await, std::slice::from_ref(&second));
        assert_eq!(list(1, true).await, [second]);
        assert_eq!(list(2, true).await, []);
    }
}
