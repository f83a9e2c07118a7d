//! What the running service does by itself, at its start and once a day.

use crate::{
    app::App, error::chain, limits::PRUNE_INTERVAL, use_cases::housekeeping::prune_stored_replies,
};

/// Keeps house until the service stops.
pub(super) async fn keep_house(app: App) {
    let stopping = app.stopping.clone();
    loop {
        match prune_stored_replies(&app).await {
            Ok(0) => {}
            Ok(removed) => tracing::info!(removed, "removed old answers"),
            Err(trouble) => {
                tracing::warn!(trouble = chain(&trouble), "old answers were not removed");
            }
        }
        tokio::select! {
            () = tokio::time::sleep(PRUNE_INTERVAL) => {}
            () = stopping.cancelled() => return,
        }
    }
}
