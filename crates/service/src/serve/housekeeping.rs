//! What the running service does by itself: at its start, once a minute and once a day.

use crate::{
    app::App,
    error::{ServiceError, chain},
    limits::{LAPSE_INTERVAL, PRUNE_INTERVAL},
    use_cases::{housekeeping::prune_stored_replies, offers::note_lapsed_offers},
};
use std::time::Duration;

/// Keeps house until the service stops.
pub(super) async fn keep_house(app: App) {
    let prune = |app: App| async move { prune_stored_replies(&app).await };
    let lapse = |app: App| async move { note_lapsed_offers(&app).await };
    tokio::join!(
        every(app.clone(), PRUNE_INTERVAL, "old answers removed", prune),
        every(app, LAPSE_INTERVAL, "lapsed offers noted", lapse),
    );
}

/// Does something again and again; `done` says what the count that comes of it counts.
async fn every<F>(app: App, interval: Duration, done: &'static str, work: impl Fn(App) -> F)
where
    F: Future<Output = Result<u64, ServiceError>>,
{
    loop {
        match work(app.clone()).await {
            Ok(0) => {}
            Ok(count) => tracing::info!(count, "{done}"),
            Err(trouble) => {
                tracing::warn!(trouble = chain(&trouble), "no {done}");
            }
        }
        tokio::select! {
            () = tokio::time::sleep(interval) => {}
            () = app.stopping.cancelled() => return,
        }
    }
}
