//! Why jobs of a plan are late or left out, and what would bring them in time.
//!
//! Everything is read off the kept texts of the revision; the trying takes place off the threads that
//! answer, for a bounded time, and nothing is kept of it.

use super::{known_shop::not_there, plans::plan_of};
use crate::{
    app::App,
    caution::CAUTION,
    error::ServiceError,
    limits::{EXPLAIN_EPOCHS, EXPLAIN_TIME_MAX, EXPLAINED_JOBS_MAX},
    off_thread::{Abandoned, search_off_thread},
    storage::plans::{self as table, PlanTexts},
};
use baywright_api::{time::instant_from, v1};
use baywright_core::{
    planner::{
        Plan, Problem,
        explain::{ExplainOptions, JobReasons, explain_some},
    },
    shop_day::{ShopDay, told},
};
use sea_orm::DatabaseTransaction;
use std::time::Instant;

/// Explains the late and left-out jobs of a revision of the plan.
///
/// # Errors
/// No such shop or revision; no such job in it.
pub async fn explain_plan(
    app: &App,
    request: v1::ExplainPlanRequest,
) -> Result<v1::ExplainPlanResponse, ServiceError> {
    let now = app.clock.now();
    let snapshot = app.snapshot(&request.shop_id, now).await?;
    let input = (request.shop_id, request.revision);
    let (plan, texts) = app
        .database
        .read(input, |tx, (shop_id, revision)| Box::pin(kept(tx, shop_id, *revision)))
        .await?;
    let made = plan.made_time.as_ref().map(instant_from).transpose();
    let zero = ShopDay::zero_of(made.map_err(ServiceError::internal)?.unwrap_or(now));
    let job_id = request.job_id;
    let reasons =
        search_off_thread(move |abandoned| explained(&texts, plan.seed, &job_id, abandoned))
            .await??;
    let told = told(&reasons, snapshot.definition(), zero);
    Ok(v1::ExplainPlanResponse {
        revision: plan.revision,
        jobs: told.iter().map(Into::into).collect(),
        caution: CAUTION.to_owned(),
    })
}

/// A revision of the plan, or the newest, with its texts.
async fn kept(
    tx: &DatabaseTransaction,
    shop_id: &str,
    revision: u32,
) -> Result<(v1::Plan, PlanTexts), ServiceError> {
    let plan = plan_of(tx, shop_id, revision).await?;
    let texts = table::plan_texts(tx, shop_id, plan.revision).await?;
    match texts {
        Some(texts) => Ok((plan, texts)),
        None => Err(not_there(tx, shop_id, "plan revision", &revision.to_string()).await),
    }
}

fn explained(
    texts: &PlanTexts,
    seed: u64,
    job_id: &str,
    abandoned: &Abandoned,
) -> Result<Vec<JobReasons>, ServiceError> {
    let problem = Problem::from_json(&texts.problem).map_err(ServiceError::internal)?;
    let plan = Plan::from_json(&texts.plan).map_err(ServiceError::internal)?;
    if !job_id.is_empty() && !problem.jobs().iter().any(|job| job.id() == job_id) {
        return Err(ServiceError::not_found("job", job_id));
    }
    let options = ExplainOptions { seed, epochs: EXPLAIN_EPOCHS, jobs_max: EXPLAINED_JOBS_MAX };
    let wanted = |job: &str| job_id.is_empty() || job == job_id;
    let begun = Instant::now();
    let mut stop = || abandoned.is_so() || begun.elapsed() >= EXPLAIN_TIME_MAX;
    explain_some(&problem, &plan, options, &wanted, &mut stop).map_err(ServiceError::internal)
}
