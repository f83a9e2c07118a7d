//! Plans shops anew when something that their plans rest on has changed.
//!
//! One shop at a time, the one whose change is oldest first. A change is left to settle: several in a
//! short time become one search. A change that comes while the search is under way ends it, and it begins
//! anew, until changes have put the plan off for as long as they may. The search runs on threads of its own,
//! one fewer than there are cores and behind those that answer, and no transaction is open meanwhile; a stop of the service ends it
//! with nothing kept. What was planned on is the audit trail's to tell: a wake-up that is lost does no
//! harm, and after a restart nothing is forgotten.

use crate::{
    app::App,
    error::{ServiceError, chain},
    limits::{REPLAN_LOOK, REPLAN_PUT_OFF_MAX, WATCH_POLL},
    off_thread::{Abandoned, giving_way},
    use_cases::plans::{Replanned, Replanning, known_by_plans, plans_rest_on},
};
use std::{collections::VecDeque, sync::Arc, time::Duration};
use tokio::time::{Instant, sleep};
use tokio_util::sync::CancellationToken;

/// When the service plans anew by itself.
#[derive(Debug, Clone)]
pub struct ReplanOptions {
    /// How long there must be no further change.
    pub after: Duration,
    /// Nothing is planned anew before this is cancelled.
    pub from: CancellationToken,
}

impl ReplanOptions {
    /// From the start of the service on.
    pub fn at_once(after: Duration) -> Self {
        let from = CancellationToken::new();
        from.cancel();
        Self { after, from }
    }
}

/// Plans anew until the service stops.
pub(super) async fn keep_planned(app: App, options: ReplanOptions) {
    let stopping = app.stopping.clone();
    let work = async {
        options.from.cancelled().await;
        let mut replanner = Replanner::new(app, options.after).await;
        loop {
            if let Err(trouble) = replanner.turn().await {
                tracing::warn!(trouble = chain(&trouble), "no new plan");
                sleep(WATCH_POLL).await;
            }
        }
    };
    tokio::select! {
        () = work => {}
        () = stopping.cancelled() => {}
    }
}

struct Replanner {
    app: App,
    after: Duration,
    /// Shops that wait for a new plan, each with its newest change.
    due: VecDeque<(String, i64)>,
    /// Number of the last change that was looked at.
    looked: i64,
    /// Per shop, the last change for which it was planned, or found not to need it.
    done: Vec<(String, i64)>,
}

/// How a search ended.
enum Ended {
    /// By itself.
    Found(Replanned),
    /// A change has come meanwhile.
    Outdated,
}

impl Replanner {
    async fn new(app: App, after: Duration) -> Self {
        let known = match known_by_plans(&app).await {
            Ok(known) => known,
            Err(trouble) => {
                tracing::warn!(trouble = chain(&trouble), "plans are looked at from now on only");
                Vec::new()
            }
        };
        let looked = known.iter().map(|(_, change)| *change).min().unwrap_or(0);
        Self { app, after, due: VecDeque::new(), looked, done: known }
    }

    /// Plans the next shop that is due, or waits for a change.
    async fn turn(&mut self) -> Result<(), ServiceError> {
        let mut commits = self.app.database.commits();
        // Marked as seen before the look: what is committed from here on wakes the wait.
        commits.borrow_and_update();
        self.look().await?;
        let Some((shop_id, _)) = self.due.front().cloned() else {
            tokio::select! {
                Ok(()) = commits.changed() => {}
                () = sleep(WATCH_POLL) => {}
            }
            return Ok(());
        };
        let known = self.plan(&shop_id).await?;
        self.due.retain(|(other, change)| *other != shop_id || *change > known);
        self.done.retain(|(other, _)| *other != shop_id);
        self.done.push((shop_id, known));
        Ok(())
    }

    /// Reads which shops have changed since the last look.
    async fn look(&mut self) -> Result<(), ServiceError> {
        for (shop_id, change) in plans_rest_on(&self.app, self.looked).await? {
            self.looked = self.looked.max(change);
            if self.done.iter().any(|(done, known)| *done == shop_id && *known >= change) {
                continue;
            }
            match self.due.iter_mut().find(|(due, _)| *due == shop_id) {
                Some((_, newest)) => *newest = change,
                None => self.due.push_back((shop_id, change)),
            }
        }
        Ok(())
    }

    /// The newest change of a shop that is due.
    fn newest(&self, shop_id: &str) -> i64 {
        self.due.iter().find(|(due, _)| due == shop_id).map_or(0, |(_, change)| *change)
    }

    /// Plans a shop anew once its changes have settled; the last change that is known then.
    async fn plan(&mut self, shop_id: &str) -> Result<i64, ServiceError> {
        let has_plan = |(shop, _): &(String, i64)| shop == shop_id;
        if !known_by_plans(&self.app).await?.iter().any(has_plan) {
            return Ok(self.newest(shop_id));
        }
        let latest = Instant::now() + REPLAN_PUT_OFF_MAX;
        loop {
            self.settle(shop_id, latest).await?;
            let due = self.newest(shop_id);
            let Some(replanning) = Replanning::begin(&self.app, shop_id).await? else {
                return Ok(due);
            };
            let known = replanning.known_change();
            match self.search(shop_id, replanning, latest).await? {
                Ended::Found(Replanned::Kept { revision }) => {
                    tracing::info!(shop_id, revision, "planned anew");
                    return Ok(known);
                }
                Ended::Found(Replanned::Stands | Replanned::Overtaken) => return Ok(known),
                Ended::Outdated => {}
            }
        }
    }

    /// Waits until no further change of the shop has come for a while, or for as long as may be.
    async fn settle(&mut self, shop_id: &str, latest: Instant) -> Result<(), ServiceError> {
        loop {
            let before = self.newest(shop_id);
            sleep(self.after).await;
            self.look().await?;
            if self.newest(shop_id) == before || Instant::now() >= latest {
                return Ok(());
            }
        }
    }

    /// Searches, and keeps what is found; a further change of the shop ends the search.
    async fn search(
        &mut self,
        shop_id: &str,
        replanning: Replanning,
        latest: Instant,
    ) -> Result<Ended, ServiceError> {
        let replanning = Arc::new(replanning);
        let known = replanning.known_change();
        let stop = EndsWithUs(Abandoned::default());
        let (searching, told) = (Arc::clone(&replanning), stop.0.clone());
        let mut search =
            tokio::task::spawn_blocking(move || giving_way(|| searching.search(&told)));
        let mut commits = self.app.database.commits();
        let planned = loop {
            tokio::select! {
                ended = &mut search => break ended.map_err(ServiceError::internal)??,
                Ok(()) = commits.changed() => {
                    self.look().await?;
                    if self.newest(shop_id) > known && Instant::now() < latest {
                        stop.0.now();
                        // Its threads are free before the next search begins.
                        drop(search.await);
                        return Ok(Ended::Outdated);
                    }
                    sleep(REPLAN_LOOK).await;
                }
            }
        };
        let replanning = Arc::into_inner(replanning);
        let replanning = replanning
            .ok_or_else(|| ServiceError::internal("the search still has what it was given"))?;
        Ok(Ended::Found(replanning.end(&self.app, planned).await?))
    }
}

/// Ends the search when nobody waits for it any more, as when the service stops.
struct EndsWithUs(Abandoned);

impl Drop for EndsWithUs {
    fn drop(&mut self) {
        self.0.now();
    }
}
