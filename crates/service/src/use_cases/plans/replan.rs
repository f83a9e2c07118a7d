//! Planning anew by the service itself, because something that a plan rests on has changed.
//!
//! Only a shop that has a plan is planned anew: somebody has decided to work by plans, for so many days
//! and with this seed. The standing revision stays where what it rests on is the same, where the new plan
//! says nothing that it does not say, and where somebody else has planned meanwhile.

use super::search::{Basis, Effort, Planned};
use crate::{
    app::App,
    error::ServiceError,
    limits::{PLAN_DAYS_USUAL, REPLAN_EPOCHS, REPLAN_THREADS_MAX},
    off_thread::Abandoned,
    storage::{Call, CallParts, Done, audit::newest_grounds_of_plans, plans as table},
};
use baywright_api::v1;
use baywright_core::{
    ids::JobId,
    planner::SolveOptions,
    shop_day::{Assignment, StandingPlan, Unplanned, has_news},
    work::TaskState,
};
use chrono::{DateTime, Utc};
use std::{collections::BTreeSet, num::NonZero, thread::available_parallelism};
use uuid::Uuid;

/// Who acts where nobody does.
const ACTOR: &str = "baywright";

/// The shops that have a plan, each with the number of the last change that its plan knows.
///
/// # Errors
/// Trouble of storage.
pub async fn known_by_plans(app: &App) -> Result<Vec<(String, i64)>, ServiceError> {
    let plans = app
        .database
        .read((), |tx, ()| Box::pin(async move { Ok(table::newest_plans(tx).await?) }))
        .await?;
    let known = |plan: v1::Plan| {
        let number = i64::try_from(plan.known_change).unwrap_or(i64::MAX);
        (plan.shop_id, number)
    };
    Ok(plans.into_iter().map(known).collect())
}

/// The newest change after the row `after_id` of the audit trail that a plan may rest on, by shop.
///
/// # Errors
/// Trouble of storage.
pub async fn plans_rest_on(app: &App, after_id: i64) -> Result<Vec<(String, i64)>, ServiceError> {
    app.database
        .read(after_id, |tx, after_id| {
            Box::pin(async move { Ok(newest_grounds_of_plans(tx, *after_id).await?) })
        })
        .await
}

/// A shop that may have to be planned anew.
#[derive(Debug)]
pub struct Replanning {
    standing: v1::Plan,
    basis: Basis,
}

/// What came of planning anew.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Replanned {
    /// The standing revision stays: there is nothing new to say.
    Stands,
    /// Somebody else has planned meanwhile.
    Overtaken,
    /// There is a new revision.
    Kept {
        /// Its number.
        revision: u32,
    },
}

impl Replanning {
    /// Reads the shop; none where it has no plan, or nothing that its plan rests on has changed.
    ///
    /// # Errors
    /// Trouble of storage.
    pub async fn begin(app: &App, shop_id: &str) -> Result<Option<Self>, ServiceError> {
        let standing = app
            .database
            .read(shop_id.to_owned(), |tx, shop_id| {
                Box::pin(async move { Ok(table::newest_plan(tx, shop_id).await?) })
            })
            .await?;
        let Some(standing) = standing else { return Ok(None) };
        let basis = Basis::read(app, shop_id, app.clock.now()).await?;
        let begun = Self { standing, basis };
        let same = begun.standing.basis_hash == begun.basis.hash() && !begun.is_behind()?;
        Ok((!same).then_some(begun))
    }

    /// Number of the last change that is surely known.
    pub const fn known_change(&self) -> i64 {
        self.basis.known_change
    }

    /// Whether something that is open still should have begun by now by the standing plan.
    fn is_behind(&self) -> Result<bool, ServiceError> {
        let jobs = &self.basis.today.jobs;
        let open = |one: &Assignment| {
            let task =
                jobs.iter().find(|job| job.id == one.job).and_then(|job| job.task(&one.task));
            task.is_some_and(|task| task.state == TaskState::Open)
        };
        Ok(self.assignments()?.iter().any(|one| one.start < self.basis.now && open(one)))
    }

    fn assignments(&self) -> Result<Vec<Assignment>, ServiceError> {
        let all = self.standing.assignments.iter().chain(&self.standing.reserved);
        all.map(Assignment::try_from).collect::<Result<_, _>>().map_err(ServiceError::internal)
    }

    /// Searches, on all cores but one, until it is done or told to stop. Takes long.
    pub(crate) fn search(&self, stop: &Abandoned) -> Result<Planned, ServiceError> {
        let cores = available_parallelism().map_or(1, NonZero::get);
        let threads = (cores - 1).clamp(1, REPLAN_THREADS_MAX);
        let (seed, epochs) = (self.standing.seed, Some(REPLAN_EPOCHS));
        let threads = u32::try_from(threads).unwrap_or(1);
        let days = match self.standing.days {
            0 => PLAN_DAYS_USUAL,
            days => days,
        };
        let effort = Effort { days, options: SolveOptions { seed, threads, epochs } };
        self.basis.search(effort, &mut |_| stop.is_so())
    }

    /// Keeps what was found as the next revision, if there is anything new in it.
    pub(crate) async fn end(self, app: &App, planned: Planned) -> Result<Replanned, ServiceError> {
        if !self.is_news(&planned)? {
            return Ok(Replanned::Stands);
        }
        let request_id = Uuid::new_v4().to_string();
        let Self { standing, basis } = self;
        let parts = CallParts {
            shop_id: &standing.shop_id,
            method: "Replan",
            request_id: &request_id,
            actor: ACTOR,
            at: basis.now,
        };
        let call = Call::new(parts, &standing)?;
        let input = (call.clone(), planned, standing.revision);
        let reply: v1::MakePlanResponse = app
            .database
            .exactly_once(call, input, |tx, (call, planned, standing)| {
                Box::pin(async move {
                    let shop_id = call.shop_id().as_str();
                    if table::next_plan_revision(tx, shop_id).await? != standing + 1 {
                        return Ok(Done::new(v1::MakePlanResponse::default()));
                    }
                    let plan = planned.keep(tx, call).await?;
                    let name = plan.revision.to_string();
                    let reply = v1::MakePlanResponse { plan: Some(plan.clone()) };
                    Ok(Done::new(reply).changed("plan", name, None, Some(&plan)))
                })
            })
            .await?;
        let kept = |plan: v1::Plan| Replanned::Kept { revision: plan.revision };
        Ok(reply.plan.map_or(Replanned::Overtaken, kept))
    }

    fn is_news(&self, planned: &Planned) -> Result<bool, ServiceError> {
        let assignments = self.assignments()?;
        let unplanned = self.standing.unplanned.iter().map(Unplanned::try_from);
        let unplanned: Vec<_> =
            unplanned.collect::<Result<_, _>>().map_err(ServiceError::internal)?;
        let late = self.standing.late_jobs.iter().map(|late| JobId::new(late.job_id.clone()));
        let late: BTreeSet<_> = late.collect::<Result<_, _>>().map_err(ServiceError::internal)?;
        let standing =
            StandingPlan { assignments: &assignments, unplanned: &unplanned, late: &late };
        let now: DateTime<Utc> = self.basis.now;
        Ok(has_news(standing, &planned.day, &planned.jobs, now))
    }
}
