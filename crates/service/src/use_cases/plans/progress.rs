//! Planning with progress: a stream that tells how the search stands, and ends with the plan.
//!
//! The search runs on a thread of its own and says after each epoch how it stands; only the newest word is
//! kept for the caller, so that a slow one holds up nothing. A caller who goes away ends the search
//! with its epoch, and nothing is kept. When the service stops, the search ends likewise and what it has
//! found is kept: the caller gets a whole plan.

use super::{
    PlanAsked,
    search::{Basis, Planned},
};
use crate::{
    app::App,
    error::ServiceError,
    off_thread::{Abandoned, giving_way},
    storage::Call,
};
use baywright_api::v1::{
    self,
    make_plan_with_progress_response::Item::{Plan, Progress},
};
use baywright_core::planner::EpochReport;
use futures_util::{Stream, stream};
use std::time::Duration;
use tokio::{
    sync::watch,
    task::{JoinError, JoinHandle},
    time::{Instant, sleep_until},
};

/// What the stream sends.
pub type PlanItem = Result<v1::MakePlanWithProgressResponse, ServiceError>;

/// Plans the shop and tells how the search stands; `deadline` is the caller's, if it has one.
///
/// # Errors
/// Days, epochs or seconds out of range; no plan that keeps every rule, which may end the stream too.
pub async fn make_plan_with_progress(
    app: &App,
    request: v1::MakePlanWithProgressRequest,
    deadline: Option<Duration>,
) -> Result<impl Stream<Item = PlanItem> + Send + use<>, ServiceError> {
    let begun = Instant::now();
    let now = app.clock.now();
    let call = App::call(&request, now)?;
    let asked = PlanAsked {
        days: request.days,
        seed: request.seed,
        epochs: request.epochs,
        seconds: request.seconds,
    };
    let effort = asked.effort()?;
    let phase = if let Some(answer) = app.database.answered(&call).await? {
        Phase::Kept(Box::new(answer))
    } else {
        let basis = Basis::read(app, call.shop_id().as_str(), now).await?;
        let seconds = Duration::from_secs(request.seconds.into());
        let until = (request.seconds > 0).then(|| begun + seconds);
        let epochs_max = effort.options.epochs.unwrap_or_default();
        let (told, progress) = watch::channel(v1::PlanProgress::default());
        let searching = Searching { abandoned: Abandoned::default(), progress };
        let (abandoned, stopping) = (searching.abandoned.clone(), app.stopping.clone());
        let search = tokio::task::spawn_blocking(move || {
            let mut stop = |report: &EpochReport| {
                told.send_replace(progress_message(report, epochs_max, begun.elapsed()));
                let over = until.is_some_and(|until| Instant::now() >= until);
                over || abandoned.is_so() || stopping.is_cancelled()
            };
            giving_way(|| basis.search(effort, &mut stop))
        });
        Phase::Searching(searching, search)
    };
    let planning =
        Planning { app: app.clone(), call, phase, deadline: deadline.map(|time| begun + time) };
    Ok(stream::unfold(planning, Planning::next))
}

fn progress_message(report: &EpochReport, epochs_max: u64, elapsed: Duration) -> v1::PlanProgress {
    v1::PlanProgress {
        epochs: report.epochs,
        epochs_max,
        cost: report.cost,
        bound: report.bound,
        missing_jobs: u32::try_from(report.missing).unwrap_or(u32::MAX),
        elapsed_ms: u32::try_from(elapsed.as_millis()).unwrap_or(u32::MAX),
    }
}

/// A search under way; once it is dropped the search is told to end.
#[derive(Debug)]
struct Searching {
    abandoned: Abandoned,
    progress: watch::Receiver<v1::PlanProgress>,
}

impl Drop for Searching {
    fn drop(&mut self) {
        self.abandoned.now();
    }
}

#[derive(Debug)]
enum Phase {
    Searching(Searching, JoinHandle<Result<Planned, ServiceError>>),
    /// The answer was given to an earlier call.
    Kept(Box<v1::MakePlanWithProgressResponse>),
    Over,
}

/// One open stream.
struct Planning {
    app: App,
    call: Call,
    phase: Phase,
    deadline: Option<Instant>,
}

/// What a search came to next.
enum Next {
    Word(v1::PlanProgress),
    Ended(Box<Result<Result<Planned, ServiceError>, JoinError>>),
    TooLate,
}

impl Planning {
    async fn next(mut self) -> Option<(PlanItem, Self)> {
        let phase = std::mem::replace(&mut self.phase, Phase::Over);
        let (mut searching, mut search) = match phase {
            Phase::Over => return None,
            Phase::Kept(answer) => return Some((Ok(*answer), self)),
            Phase::Searching(searching, search) => (searching, search),
        };
        let deadline = self.deadline;
        let too_late = async move {
            match deadline {
                Some(deadline) => sleep_until(deadline).await,
                None => std::future::pending().await,
            }
        };
        let next = tokio::select! {
            biased;
            () = too_late => Next::TooLate,
            ended = &mut search => Next::Ended(Box::new(ended)),
            // The sender lives as long as the search, whose end is heard first.
            Ok(()) = searching.progress.changed() => {
                Next::Word(*searching.progress.borrow_and_update())
            }
        };
        match next {
            Next::Word(progress) => {
                let item = v1::MakePlanWithProgressResponse { item: Some(Progress(progress)) };
                self.phase = Phase::Searching(searching, search);
                Some((Ok(item), self))
            }
            Next::TooLate => Some((Err(ServiceError::DeadlineExceeded), self)),
            Next::Ended(ended) => match *ended {
                Ok(Ok(planned)) => Some((self.keep(planned).await, self)),
                Ok(Err(refused)) => Some((Err(refused), self)),
                Err(panicked) => Some((Err(ServiceError::internal(panicked)), self)),
            },
        }
    }

    async fn keep(&self, planned: Planned) -> PlanItem {
        let input = (self.call.clone(), planned);
        self.app
            .database
            .exactly_once(self.call.clone(), input, |tx, (call, planned)| {
                Box::pin(async move {
                    let reply = |plan| v1::MakePlanWithProgressResponse { item: Some(Plan(plan)) };
                    planned.keep(tx, call, reply).await
                })
            })
            .await
    }
}
