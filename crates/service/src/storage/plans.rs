//! Table `plans`: every revision of the plan, as callers read it and as the referee reads it.

use super::{
    StorageError, instant,
    sql::{all, body, column, count, execute, integer, one},
};
use baywright_api::v1::Plan;
use prost::Message as _;
use sea_orm::{ConnectionTrait, Value};

/// The referee's texts of one revision.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanTexts {
    /// The planning problem.
    pub problem: String,
    /// Its plan.
    pub plan: String,
}

/// Number of the next revision, from 1.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn next_plan_revision(
    conn: &impl ConnectionTrait,
    shop_id: &str,
) -> Result<u32, StorageError> {
    let sql = "SELECT coalesce(max(revision), 0) + 1 AS next FROM plans WHERE shop_id = $1";
    let row = one(conn, sql, vec![shop_id.into()]).await?;
    row.map_or(Ok(1), |row| count(&row, "next"))
}

/// Keeps a revision.
///
/// # Errors
/// [`StorageError`] of the database, also when the revision is kept already;
/// [`StorageError::Unstorable`] when the plan does not say when it was made.
pub async fn insert_plan(
    conn: &impl ConnectionTrait,
    plan: &Plan,
    texts: &PlanTexts,
) -> Result<(), StorageError> {
    let sql = "INSERT INTO plans (shop_id, revision, made_at, problem, plan, body)
        VALUES ($1, $2, $3, $4, $5, $6)";
    let values = vec![
        plan.shop_id.as_str().into(),
        integer(plan.revision, "plan.revision")?,
        instant::at_time(plan.made_time.as_ref(), "plan.made_time")?,
        texts.problem.as_str().into(),
        texts.plan.as_str().into(),
        plan.encode_to_vec().into(),
    ];
    execute(conn, sql, values).await?;
    Ok(())
}

/// A revision of the plan.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn load_plan(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    revision: u32,
) -> Result<Option<Plan>, StorageError> {
    let sql = "SELECT body FROM plans WHERE shop_id = $1 AND revision = $2";
    first(conn, sql, vec![shop_id.into(), integer(revision, "revision")?]).await
}

/// The newest revision of the plan.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn newest_plan(
    conn: &impl ConnectionTrait,
    shop_id: &str,
) -> Result<Option<Plan>, StorageError> {
    let sql = "SELECT body FROM plans WHERE shop_id = $1 ORDER BY revision DESC LIMIT 1";
    first(conn, sql, vec![shop_id.into()]).await
}

/// The newest revision of the plan of every shop that has one.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn newest_plans(conn: &impl ConnectionTrait) -> Result<Vec<Plan>, StorageError> {
    let sql = "SELECT body FROM plans AS newest WHERE revision =
            (SELECT max(revision) FROM plans WHERE shop_id = newest.shop_id)
        ORDER BY shop_id";
    all(conn, sql, Vec::new()).await?.iter().map(|row| body(row, "plans")).collect()
}

/// The referee's texts of a revision.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn plan_texts(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    revision: u32,
) -> Result<Option<PlanTexts>, StorageError> {
    let sql = "SELECT problem, plan FROM plans WHERE shop_id = $1 AND revision = $2";
    let row = one(conn, sql, vec![shop_id.into(), integer(revision, "revision")?]).await?;
    row.map(|row| Ok(PlanTexts { problem: column(&row, "problem")?, plan: column(&row, "plan")? }))
        .transpose()
}

async fn first(
    conn: &impl ConnectionTrait,
    sql: &str,
    values: Vec<Value>,
) -> Result<Option<Plan>, StorageError> {
    one(conn, sql, values).await?.map(|row| body(&row, "plans")).transpose()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::testing::{SHOP, TestDatabase, noon_time};

    fn plan(revision: u32) -> Plan {
        Plan { shop_id: SHOP.to_owned(), revision, made_time: Some(noon_time()), ..Plan::default() }
    }

    #[tokio::test]
    async fn every_revision_stays_readable_with_its_texts() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        assert_eq!(newest_plan(conn, SHOP).await.unwrap(), None);
        for revision in 1..=2 {
            assert_eq!(next_plan_revision(conn, SHOP).await.unwrap(), revision);
            let texts = PlanTexts { problem: format!("problem {revision}"), plan: "plan".into() };
            insert_plan(conn, &plan(revision), &texts).await.unwrap();
        }

        assert_eq!(newest_plan(conn, SHOP).await.unwrap(), Some(plan(2)));
        assert_eq!(load_plan(conn, SHOP, 1).await.unwrap(), Some(plan(1)));
        assert_eq!(load_plan(conn, SHOP, 3).await.unwrap(), None);
        assert_eq!(plan_texts(conn, SHOP, 1).await.unwrap().unwrap().problem, "problem 1");
        let again = PlanTexts { problem: String::new(), plan: String::new() };
        insert_plan(conn, &plan(1), &again).await.unwrap_err();
    }
}
