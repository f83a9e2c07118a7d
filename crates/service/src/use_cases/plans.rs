//! Planning the shop, and reading plans.
//!
//! The search for a plan takes place outside of any transaction and off the threads that answer;
//! the plan is then kept as the next revision. What changes meanwhile does not matter: a pull checks
//! everything again at its own instant.

use super::{known_shop::not_there, offers};
use crate::{
    app::App,
    error::ServiceError,
    limits::{
        JOBS_PLANNED_MAX, PLAN_DAYS_USUAL, PLAN_EPOCHS_MAX, PLAN_EPOCHS_USUAL, ROAD_ENTRIES_MAX,
    },
    off_thread::{Abandoned, off_thread},
    snapshot::ShopSnapshot,
    storage::{
        Call, Done,
        doubts::standing_doubts,
        holdings::active_holdings,
        jobs::list_jobs,
        plans::{self as table, PlanTexts},
        road_entries::standing_road_entries,
    },
};
use baywright_api::{plan::plan_message, time::timestamp, v1};
use baywright_core::{
    fault::{Fault, FaultList},
    ids::{BayId, JobId, MethodId, ProcedureId, VehicleClassId},
    planner::SolveOptions,
    questions::{HeldOffer, reserved_jobs},
    run_times::RoadEntry,
    shop_day::{Assignment, DAYS_MAX, DayError, Hold, PlannedDay, ShopState, plan_day},
    work::Job,
};
use chrono::{DateTime, Utc};
use sea_orm::DatabaseTransaction;
use std::{collections::BTreeSet, sync::Arc};

/// What a plan is made from, besides the shop itself.
#[derive(Debug)]
pub(super) struct Today {
    pub(super) jobs: Vec<Job>,
    pub(super) holds: Vec<Hold>,
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
    let mut faults = FaultList::new();
    faults.number_within("days", request.days.into(), 0.0, DAYS_MAX.into(), "days");
    if request.epochs > PLAN_EPOCHS_MAX {
        let limit = format!("be 0 to {PLAN_EPOCHS_MAX}");
        faults.push(Fault::new("epochs", request.epochs, limit, "search for less long"));
    }
    faults.finish(())?;
    // A repeat gets the stored plan without another search.
    if let Some(answer) = app.database.answered(&call).await? {
        return Ok(answer);
    }
    let snapshot = app.snapshot(&request.shop_id, now).await?;
    let (today, held) = app
        .database
        .read((request.shop_id.clone(), now), |tx, (shop_id, now)| {
            Box::pin(async move {
                let held = offers::held(tx, shop_id, *now).await?;
                Ok((today(tx, shop_id, *now).await?, held))
            })
        })
        .await?;
    let searching = Arc::clone(&snapshot);
    let day =
        off_thread(move |abandoned| search(&searching, today, &held, &request, now, abandoned))
            .await??;
    app.database
        .exactly_once(call.clone(), (call, day), |tx, (call, day)| Box::pin(keep(tx, call, day)))
        .await
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
    let previous = plan.assignments.iter().map(Assignment::try_from).collect::<Result<_, _>>();
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

/// A planned day, and the jobs in it for which time is kept because an offer of them is held.
struct Planned {
    day: PlannedDay,
    offered: BTreeSet<JobId>,
}

fn search(
    snapshot: &ShopSnapshot,
    mut today: Today,
    held: &[HeldOffer],
    request: &v1::MakePlanRequest,
    now: DateTime<Utc>,
    abandoned: &Abandoned,
) -> Result<Planned, ServiceError> {
    let hosts = snapshot.hosts_ahead_without(&today.doubts);
    let reserved = reserved_jobs(held, &today.jobs, snapshot.definition(), now);
    let offered = reserved.iter().map(|job| job.id.clone()).collect();
    today.jobs.extend(reserved);
    let days = if request.days == 0 { PLAN_DAYS_USUAL } else { request.days };
    let runs = snapshot.bound_runs(&today.classes(), &today.road, (now, days));
    let state = ShopState {
        shop: snapshot.definition(),
        jobs: &today.jobs,
        hosts: &hosts,
        clashes: snapshot.clashes_ahead(),
        runs: &runs,
        holds: &today.holds,
        previous: &today.previous,
        now,
        days,
    };
    let epochs = if request.epochs == 0 { PLAN_EPOCHS_USUAL } else { request.epochs };
    let options = SolveOptions { seed: request.seed, threads: 1, epochs: Some(epochs) };
    let day = plan_day(&state, options, &mut |_| abandoned.is_so()).map_err(no_plan)?;
    Ok(Planned { day, offered })
}

/// Why there is no plan at all.
pub(super) fn no_plan(error: DayError) -> ServiceError {
    match error {
        DayError::Problem(faults) => ServiceError::InvalidFields(faults),
        DayError::Solve(error) => ServiceError::NoPlan { sentences: vec![error.to_string()] },
    }
}

async fn keep(
    tx: &DatabaseTransaction,
    call: &Call,
    Planned { day, offered }: &Planned,
) -> Result<Done<v1::MakePlanResponse>, ServiceError> {
    let shop_id = call.shop_id().as_str();
    let mut plan = plan_message(day, offered);
    shop_id.clone_into(&mut plan.shop_id);
    plan.revision = table::next_plan_revision(tx, shop_id).await?;
    plan.made_time = Some(timestamp(call.at()));
    let texts = PlanTexts { problem: day.problem.to_json(), plan: day.plan.to_json() };
    table::insert_plan(tx, &plan, &texts).await?;
    let name = plan.revision.to_string();
    let reply = v1::MakePlanResponse { plan: Some(plan.clone()) };
    Ok(Done::new(reply).changed("plan", name, None, Some(&plan)))
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
                let plan = match request.revision {
                    0 => table::newest_plan(tx, &request.shop_id).await?,
                    revision => table::load_plan(tx, &request.shop_id, revision).await?,
                };
                let name = request.revision.to_string();
                if plan.is_none() {
                    return Err(not_there(tx, &request.shop_id, "plan revision", &name).await);
                }
                Ok(v1::GetPlanResponse { plan })
            })
        })
        .await
}
