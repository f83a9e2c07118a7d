//! Table `surveys`: what was measured in the bays. A survey is kept for good and never changes.

use super::{
    StorageError, instant,
    sql::{all, body, execute, one},
};
use baywright_api::v1::Survey;
use chrono::{DateTime, Utc};
use prost::Message as _;
use sea_orm::ConnectionTrait;

/// Records a survey; false means that the bay has a survey of this name already, and nothing was
/// recorded.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn record_survey(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    survey: &Survey,
    now: DateTime<Utc>,
) -> Result<bool, StorageError> {
    let sql = "INSERT INTO surveys
        (shop_id, bay_id, survey_id, taken_on, valid_until, recorded_at, body)
        VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT (shop_id, bay_id, survey_id) DO NOTHING";
    let values = vec![
        shop_id.into(),
        survey.bay_id.as_str().into(),
        survey.survey_id.as_str().into(),
        survey.taken_on.as_str().into(),
        survey.valid_until.as_str().into(),
        instant::at(now),
        survey.encode_to_vec().into(),
    ];
    Ok(execute(conn, sql, values).await? > 0)
}

/// The survey of a bay by name.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn load_survey(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    bay_id: &str,
    survey_id: &str,
) -> Result<Option<Survey>, StorageError> {
    let sql = "SELECT body FROM surveys WHERE shop_id = $1 AND bay_id = $2 AND survey_id = $3";
    let row = one(conn, sql, vec![shop_id.into(), bay_id.into(), survey_id.into()]).await?;
    row.map(|row| body(&row, "surveys")).transpose()
}

/// The survey of a bay that was taken last, whether it counts today or not.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn newest_survey(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    bay_id: &str,
) -> Result<Option<Survey>, StorageError> {
    let sql = "SELECT body FROM surveys WHERE shop_id = $1 AND bay_id = $2
        ORDER BY taken_on DESC, recorded_at DESC, survey_id DESC LIMIT 1";
    let row = one(conn, sql, vec![shop_id.into(), bay_id.into()]).await?;
    row.map(|row| body(&row, "surveys")).transpose()
}

/// When a survey was recorded.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn survey_recorded_at(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    survey: &Survey,
) -> Result<Option<DateTime<Utc>>, StorageError> {
    let sql = "SELECT recorded_at FROM surveys
        WHERE shop_id = $1 AND bay_id = $2 AND survey_id = $3";
    let values =
        vec![shop_id.into(), survey.bay_id.as_str().into(), survey.survey_id.as_str().into()];
    let row = one(conn, sql, values).await?;
    row.map(|row| instant::read_at(&row, "recorded_at")).transpose()
}

/// For each bay the newest survey taken on a local date (`YYYY-MM-DD`) or before, where it counts on
/// that date still. An older one never comes back: the newer one may have shown what has changed.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn surveys_that_count(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    on_date: &str,
) -> Result<Vec<Survey>, StorageError> {
    let sql = "SELECT body FROM (
            SELECT bay_id, body, valid_until, row_number() OVER (PARTITION BY bay_id
                ORDER BY taken_on DESC, recorded_at DESC, survey_id DESC) AS place
            FROM surveys WHERE shop_id = $1 AND taken_on <= $2
        ) AS newest WHERE place = 1 AND valid_until > $2 ORDER BY bay_id";
    let rows = all(conn, sql, vec![shop_id.into(), on_date.into()]).await?;
    rows.iter().map(|row| body(row, "surveys")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::testing::{SHOP, TestDatabase, noon};

    fn survey(bay_id: &str, survey_id: &str, taken_on: &str, valid_until: &str) -> Survey {
        Survey {
            bay_id: bay_id.to_owned(),
            survey_id: survey_id.to_owned(),
            taken_on: taken_on.to_owned(),
            valid_until: valid_until.to_owned(),
            ..Survey::default()
        }
    }

    #[tokio::test]
    async fn the_newest_survey_that_counts_is_found_for_each_bay() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        for survey in [
            survey("bay-1", "winter", "2026-01-10", "2026-07-10"),
            survey("bay-1", "spring", "2026-03-01", "2026-09-01"),
            survey("bay-2", "old", "2025-03-01", "2025-09-01"),
            survey("bay-3", "coming", "2026-04-01", "2026-10-01"),
        ] {
            assert!(record_survey(conn, SHOP, &survey, noon()).await.unwrap());
        }
        let counting = async |date| {
            let surveys = surveys_that_count(conn, SHOP, date).await.unwrap();
            surveys.into_iter().map(|survey| survey.survey_id).collect::<Vec<_>>()
        };

        assert_eq!(counting("2026-02-28").await, ["winter"]);
        assert_eq!(counting("2026-03-01").await, ["spring"], "from the day it was taken");
        assert_eq!(counting("2026-09-01").await, ["coming"], "no longer on the day it expires");
        let newest = newest_survey(conn, SHOP, "bay-2").await.unwrap().unwrap();
        assert_eq!(newest.survey_id, "old", "the newest is shown even when it no longer counts");
    }

    #[tokio::test]
    async fn a_survey_of_the_same_name_is_not_recorded_again() {
        let test = TestDatabase::open().await;
        let conn = test.database.writer();
        let first = survey("bay-1", "spring", "2026-03-01", "2026-09-01");
        let second = survey("bay-1", "spring", "2026-03-02", "2026-09-02");

        assert!(record_survey(conn, SHOP, &first, noon()).await.unwrap());
        assert!(!record_survey(conn, SHOP, &second, noon()).await.unwrap());

        let kept = load_survey(conn, SHOP, "bay-1", "spring").await.unwrap();
        assert_eq!(kept, Some(first));
    }
}
