//! Planning the shop, and reading plans.
//!
//! The search for a plan takes place outside of any transaction and off the threads that answer;
//! the plan is then kept as the next revision. What changes meanwhile does not matter: a pull checks
//! everything again at its own instant.

mod front;
mod progress;
mod replan;
mod search;
mod what_if;

pub use front::report_front;
pub use progress::{PlanItem, make_plan_with_progress};
pub use replan::{Replanned, Replanning, known_by_plans, plans_rest_on};
pub(super) use search::{Basis, Effort};
pub use what_if::report_what_if;

use super::known_shop::not_there;
use crate::{
    app::App,
    error::ServiceError,
    limits::{
        JOBS_PLANNED_MAX, PLAN_DAYS_USUAL, PLAN_EPOCHS_MAX, PLAN_EPOCHS_USUAL, PLAN_SECONDS_MAX,
        ROAD_ENTRIES_MAX,
    },
    off_thread::search_off_thread,
    storage::{
        doubts::standing_doubts, holdings::active_holdings, jobs::list_jobs, plans as table,
        road_entries::standing_road_entries,
    },
};
use baywright_api::v1;
use baywright_core::{
    fault::{Fault, FaultList},
    ids::{BayId, MethodId, ProcedureId, VehicleClassId},
    planner::SolveOptions,
    run_times::RoadEntry,
    shop_day::{Assignment, DAYS_MAX, DayError, Hold},
    work::Job,
};
use chrono::{DateTime, Utc};
use sea_orm::DatabaseTransaction;
use std::collections::BTreeSet;

/// What a plan is made from, besides the shop itself.
#[derive(Debug, PartialEq)]
pub(super) struct Today {
    pub(super) jobs: Vec<Job>,
    pub(super) holds: Vec<Hold>,
    /// Assignments of the plan that the shop works from, and what it reserves.
    pub(super) previous: Vec<Assignment>,
    pub(super) doubts: BTreeSet<(ProcedureId, MethodId, BayId)>,
    pub(super) road: Vec<RoadEntry>,
}

impl Today {
    /// The classes of the jobs' vehicles.
    pub(super) fn classes(&self) -> BTreeSet<VehicleClassId> {
        self.jobs.iter().map(|job| job.vehicle.class.clone()).collect()
    }
}

/// Plans the shop from now on and keeps the plan as its next revision.
///
/// # Errors
/// Days or epochs out of range; no plan that keeps every rule.
pub async fn make_plan(
    app: &App,
    request: v1::MakePlanRequest,
) -> Result<v1::MakePlanResponse, ServiceError> {
    let now = app.clock.now();
    let call = App::call(&request, now)?;
    let v1::MakePlanRequest { days, seed, epochs, .. } = request;
    let effort = PlanAsked { days, seed, epochs, seconds: 0 }.effort()?;
    // A repeat gets the stored plan without another search.
    if let Some(answer) = app.database.answered(&call).await? {
        return Ok(answer);
    }
    let basis = Basis::read(app, &request.shop_id, now).await?;
    let planned =
        search_off_thread(move |abandoned| basis.search(effort, &mut |_| abandoned.is_so()))
            .await??;
    app.database
        .exactly_once(call.clone(), (call, planned), |tx, (call, planned)| {
            Box::pin(async move {
                planned.keep(tx, call, |plan| v1::MakePlanResponse { plan: Some(plan) }).await
            })
        })
        .await
}

/// What a caller asks of a search; 0 means the usual.
#[derive(Debug, Clone, Copy)]
struct PlanAsked {
    days: u32,
    seed: u64,
    epochs: u64,
    seconds: u32,
}

impl PlanAsked {
    /// How far the search goes; its seconds are watched by whoever runs it.
    fn effort(self) -> Result<Effort, ServiceError> {
        let mut faults = FaultList::new();
        faults.number_within("days", self.days.into(), 0.0, DAYS_MAX.into(), "days");
        if self.epochs > PLAN_EPOCHS_MAX {
            let limit = format!("be 0 to {PLAN_EPOCHS_MAX}");
            faults.push(Fault::new("epochs", self.epochs, limit, "search for less long"));
        }
        if self.seconds > PLAN_SECONDS_MAX {
            let limit = format!("be 0 to {PLAN_SECONDS_MAX}");
            faults.push(Fault::new("seconds", self.seconds, limit, "search for less long"));
        }
        faults.finish(())?;
        let usual = if self.seconds == 0 { PLAN_EPOCHS_USUAL } else { PLAN_EPOCHS_MAX };
        let epochs = if self.epochs == 0 { usual } else { self.epochs };
        Ok(Effort {
            days: if self.days == 0 { PLAN_DAYS_USUAL } else { self.days },
            options: SolveOptions { seed: self.seed, threads: 1, epochs: Some(epochs) },
        })
    }
}

pub(super) async fn today(
    tx: &DatabaseTransaction,
    shop_id: &str,
    now: DateTime<Utc>,
) -> Result<Today, ServiceError> {
    let jobs = present_jobs(tx, shop_id).await?;
    let holdings = active_holdings(tx, shop_id).await?;
    let holds = holdings.iter().map(Hold::try_from).collect::<Result<_, _>>();
    let plan = table::newest_plan(tx, shop_id).await?.unwrap_or_default();
    let assigned = plan.assignments.iter().chain(&plan.reserved);
    let previous = assigned.map(Assignment::try_from).collect::<Result<_, _>>();
    Ok(Today {
        jobs: jobs.into_iter().map(|(_, job)| job).collect(),
        holds: holds.map_err(ServiceError::internal)?,
        previous: previous.map_err(ServiceError::internal)?,
        doubts: doubts(tx, shop_id).await?,
        road: road_entries(tx, shop_id, now).await?,
    })
}

/// Every job that is expected or on site, by promise, with its message.
pub(super) async fn present_jobs(
    tx: &DatabaseTransaction,
    shop_id: &str,
) -> Result<Vec<(v1::Job, Job)>, ServiceError> {
    let states = [v1::JobState::Expected, v1::JobState::OnSite];
    let messages = list_jobs(tx, shop_id, &states, None, JOBS_PLANNED_MAX + 1).await?;
    if messages.len() > usize::try_from(JOBS_PLANNED_MAX).unwrap_or(usize::MAX) {
        let limit = format!("have at most {JOBS_PLANNED_MAX} jobs that are expected or on site");
        let remedy = "hand back or cancel the jobs that have ended";
        return Err(Fault::new("shop_id", shop_id, limit, remedy).into());
    }
    messages
        .into_iter()
        .map(|message| {
            let job = Job::try_from(&message).map_err(ServiceError::internal)?;
            Ok((message, job))
        })
        .collect()
}

/// The doubts that stand, as what they keep from being used.
pub(super) async fn doubts(
    tx: &DatabaseTransaction,
    shop_id: &str,
) -> Result<BTreeSet<(ProcedureId, MethodId, BayId)>, ServiceError> {
    let standing = standing_doubts(tx, shop_id).await?;
    standing
        .into_iter()
        .map(|doubt| {
            Ok((
                ProcedureId::new(doubt.procedure_id)?,
                MethodId::new(doubt.method_id)?,
                BayId::new(doubt.bay_id)?,
            ))
        })
        .collect::<Result<_, baywright_core::fault::Faults>>()
        .map_err(ServiceError::internal)
}

/// What managers say of the roads from an instant on.
pub(super) async fn standing_entries(
    tx: &DatabaseTransaction,
    shop_id: &str,
    from: DateTime<Utc>,
) -> Result<Vec<v1::RoadEntry>, ServiceError> {
    Ok(standing_road_entries(tx, shop_id, from, ROAD_ENTRIES_MAX).await?)
}

async fn road_entries(
    tx: &DatabaseTransaction,
    shop_id: &str,
    now: DateTime<Utc>,
) -> Result<Vec<RoadEntry>, ServiceError> {
    let standing = standing_entries(tx, shop_id, now).await?;
    standing.iter().map(|one| RoadEntry::try_from(one).map_err(ServiceError::internal)).collect()
}

/// Why there is no plan at all.
pub(super) fn no_plan(error: DayError) -> ServiceError {
    match error {
        DayError::Problem(faults) => ServiceError::InvalidFields(faults),
        DayError::Cost(error) => ServiceError::internal(error),
        DayError::Solve(error) => ServiceError::NoPlan { sentences: vec![error.to_string()] },
    }
}

/// A revision of the plan, or with 0 the newest.
pub(super) async fn plan_of(
    tx: &DatabaseTransaction,
    shop_id: &str,
    revision: u32,
) -> Result<v1::Plan, ServiceError> {
    let plan = match revision {
        0 => table::newest_plan(tx, shop_id).await?,
        revision => table::load_plan(tx, shop_id, revision).await?,
    };
    match plan {
        Some(plan) => Ok(plan),
        None => Err(not_there(tx, shop_id, "plan revision", &revision.to_string()).await),
    }
}

/// Reads a revision of the plan, or the newest.
///
/// # Errors
/// No such revision.
pub async fn get_plan(
    app: &App,
    request: v1::GetPlanRequest,
) -> Result<v1::GetPlanResponse, ServiceError> {
    app.database
        .read(request, |tx, request| {
            Box::pin(async move {
                let plan = plan_of(tx, &request.shop_id, request.revision).await?;
                let mut reply = v1::GetPlanResponse::default();
                if request.with_files
                    && let Some(texts) =
                        table::plan_texts(tx, &request.shop_id, plan.revision).await?
                {
                    reply.problem_file = texts.problem;
                    reply.plan_file = texts.plan;
                }
                reply.plan = Some(plan);
                Ok(reply)
            })
        })
        .await
}
