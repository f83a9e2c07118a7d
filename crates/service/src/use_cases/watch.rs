//! Watching a shop: its audit trail as a stream, from a resume token on.
//!
//! The trail itself is the truth: a watch reads the rows behind the last one that it has sent, so
//! nothing can be lost or come twice. That something was committed only wakes it, and it looks by
//! itself every few seconds. Rows are read when the caller takes them, a page at a time: a slow
//! caller holds up nobody and loses nothing.

mod change;

#[cfg(test)]
mod tests;

use super::known_shop::shop_exists;
use crate::{
    app::App,
    error::{ServiceError, WatchEnd},
    limits::{WATCH_AHEAD_MAX, WATCH_LIFE_MAX, WATCH_PAUSE, WATCH_POLL, WATCHERS_MAX},
    storage::audit::{AuditFilter, AuditOrder, list_audit, newest_audit_id},
};
use baywright_api::v1;
use baywright_core::fault::Fault;
use change::change_of_row;
use futures_util::{Stream, stream};
use std::{collections::VecDeque, sync::Arc, time::Duration};
use tokio::{
    sync::{OwnedSemaphorePermit, watch},
    time::{Instant, sleep, sleep_until},
};

/// What a watch sends.
pub type WatchItem = Result<v1::WatchChangesResponse, ServiceError>;

/// Watches a shop from a resume token on; `deadline` is the caller's, if it has one.
///
/// # Errors
/// No such shop; a resume token that this service never gave; too many watches. The stream ends with
/// [`ServiceError::WatchEnded`] or [`ServiceError::DeadlineExceeded`].
pub async fn watch_changes(
    app: &App,
    request: v1::WatchChangesRequest,
    deadline: Option<Duration>,
) -> Result<impl Stream<Item = WatchItem> + Send + use<>, ServiceError> {
    watch_for(app, request, deadline, WATCH_LIFE_MAX).await
}

async fn watch_for(
    app: &App,
    request: v1::WatchChangesRequest,
    deadline: Option<Duration>,
    life: Duration,
) -> Result<impl Stream<Item = WatchItem> + Send + use<>, ServiceError> {
    let opened = Instant::now();
    shop_exists(app, &request.shop_id).await?;
    let permit = Arc::clone(&app.watchers).try_acquire_owned();
    let permit =
        permit.map_err(|_none_left| ServiceError::TooManyWatchers { most: WATCHERS_MAX })?;
    let commits = app.database.commits();
    let last = begin_at(app, &request).await?;
    let watch = Watch {
        app: app.clone(),
        shop_id: request.shop_id,
        commits,
        read: last,
        sent: last,
        ready: VecDeque::from([token_only(last)]),
        phase: Phase::Running,
        deadline: deadline.map(|deadline| opened + deadline),
        life: opened + life,
        _permit: permit,
    };
    Ok(stream::unfold(watch, Watch::next))
}

/// Number of the last change that the caller knows.
async fn begin_at(app: &App, request: &v1::WatchChangesRequest) -> Result<i64, ServiceError> {
    let newest = app
        .database
        .read(request.shop_id.clone(), |tx, shop_id| {
            Box::pin(async move { Ok(newest_audit_id(tx, shop_id).await?) })
        })
        .await?;
    let token = request.resume_token.as_str();
    if token.is_empty() {
        return Ok(newest);
    }
    let number = token.parse::<i64>().ok().filter(|number| (0..=newest).contains(number));
    number.ok_or_else(|| {
        Fault::new(
            "resume_token",
            format!("\"{token}\""),
            format!("be one that this service gave, at most \"{newest}\", or \"0\", or empty"),
            "read the shop anew and watch from now on, with an empty token",
        )
        .into()
    })
}

fn token_only(number: i64) -> v1::WatchChangesResponse {
    v1::WatchChangesResponse { change: None, resume_token: number.to_string() }
}

/// One open watch.
#[derive(Debug)]
struct Watch {
    app: App,
    shop_id: String,
    commits: watch::Receiver<()>,
    /// Number of the last change that was read.
    read: i64,
    /// Number of the last change that the caller was given.
    sent: i64,
    ready: VecDeque<v1::WatchChangesResponse>,
    phase: Phase,
    deadline: Option<Instant>,
    life: Instant,
    _permit: OwnedSemaphorePermit,
}

#[derive(Debug)]
enum Phase {
    Running,
    /// The last item was given; this comes behind it.
    Ending(ServiceError),
    Over,
}

impl Watch {
    async fn next(mut self) -> Option<(WatchItem, Self)> {
        loop {
            match std::mem::replace(&mut self.phase, Phase::Over) {
                Phase::Running => {}
                Phase::Ending(why) => return Some((Err(why), self)),
                Phase::Over => return None,
            }
            if let Some(why) = self.reason_to_end() {
                self.phase = Phase::Ending(why);
                return Some((Ok(token_only(self.sent)), self));
            }
            if let Some(item) = self.ready.pop_front() {
                if let Some(change) = &item.change {
                    self.sent = i64::try_from(change.number).unwrap_or(i64::MAX);
                }
                self.phase = Phase::Running;
                return Some((Ok(item), self));
            }
            if let Err(trouble) = self.read_on().await {
                return Some((Err(trouble), self));
            }
            if self.ready.is_empty() {
                self.wait().await;
            }
            self.phase = Phase::Running;
        }
    }

    fn reason_to_end(&self) -> Option<ServiceError> {
        let now = Instant::now();
        let cause = if self.app.stopping.is_cancelled() {
            WatchEnd::Stopping
        } else if self.deadline.is_some_and(|deadline| deadline <= now) {
            return Some(ServiceError::DeadlineExceeded);
        } else if self.life <= now {
            WatchEnd::Life
        } else {
            return None;
        };
        Some(ServiceError::WatchEnded { cause, resume_token: self.sent.to_string() })
    }

    /// Reads the next changes, if there are any.
    async fn read_on(&mut self) -> Result<(), ServiceError> {
        // Marked as seen before the read: what is committed from here on wakes the next wait.
        self.commits.borrow_and_update();
        let rows = self
            .app
            .database
            .read((self.shop_id.clone(), self.read), |tx, (shop_id, read)| {
                Box::pin(async move {
                    let all = AuditFilter::default();
                    let order = AuditOrder::OldestFirst(*read);
                    Ok(list_audit(tx, shop_id, &all, order, WATCH_AHEAD_MAX).await?)
                })
            })
            .await?;
        for row in &rows {
            let change = Some(change_of_row(row)?);
            let resume_token = row.id.to_string();
            self.ready.push_back(v1::WatchChangesResponse { change, resume_token });
            self.read = row.id;
        }
        Ok(())
    }

    /// Waits until there may be changes, or the watch has to end.
    async fn wait(&mut self) {
        let woken = async {
            if self.commits.changed().await.is_err() {
                std::future::pending::<()>().await;
            }
            sleep(WATCH_PAUSE).await;
        };
        let end = self.deadline.map_or(self.life, |deadline| deadline.min(self.life));
        tokio::select! {
            () = woken => {}
            () = sleep(WATCH_POLL) => {}
            () = sleep_until(end) => {}
            () = self.app.stopping.cancelled() => {}
        }
    }
}
