//! What the service removes by itself: answers of writes that nobody can ask for again.

use crate::{
    app::App,
    error::ServiceError,
    limits::{PRUNED_AT_ONCE, REPLIES_KEPT},
    storage::requests::prune_replies,
};

/// Removes stored answers that are older than they are kept; how many were removed.
///
/// # Errors
/// Trouble of storage; what was removed before stays removed.
pub async fn prune_stored_replies(app: &App) -> Result<u64, ServiceError> {
    let before = app.clock.now() - REPLIES_KEPT;
    let mut removed = 0;
    loop {
        let some = app
            .database
            .write(before, |tx, before| {
                Box::pin(async move { Ok(prune_replies(tx, *before, PRUNED_AT_ONCE).await?) })
            })
            .await?;
        removed += some;
        if some < u64::from(PRUNED_AT_ONCE) || app.stopping.is_cancelled() {
            return Ok(removed);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        clock::Clock,
        storage::{
            Done,
            testing::{TestDatabase, call, noon},
        },
    };
    use baywright_api::v1::GetJobResponse;
    use chrono::TimeDelta;
    use rstest::rstest;

    const REQUEST: &str = "0195563c-8f5c-7c1b-8f53-0f6b6f0d6a01";

    #[rstest]
    #[case::a_day_later(TimeDelta::days(1), 0)]
    #[case::just_within(TimeDelta::days(30) - TimeDelta::minutes(1), 0)]
    #[case::just_over(TimeDelta::days(30) + TimeDelta::seconds(1), 1)]
    #[tokio::test]
    async fn answers_are_kept_for_thirty_days(#[case] later: TimeDelta, #[case] removed: u64) {
        let test = TestDatabase::open().await;
        let answered = test.database.exactly_once(call(REQUEST, &()), (), |_, ()| {
            Box::pin(async { Ok(Done::new(GetJobResponse::default())) })
        });
        answered.await.unwrap();

        let app = App::new(test.database.clone(), Clock::beginning_at(noon() + later));
        assert_eq!(prune_stored_replies(&app).await.unwrap(), removed);

        // Another body under the same request id is refused as long as the answer is kept.
        let again = test.database.exactly_once(call(REQUEST, &1_u32), (), |_, ()| {
            Box::pin(async { Ok(Done::new(GetJobResponse::default())) })
        });
        assert_eq!(again.await.is_ok(), removed == 1);
    }
}
