//! The exact cost of a plan for a problem; whether the plan keeps the rules is not judged here.

use super::placement::{Placed, Placement, left_out_cost};
use super::plan::{Plan, PlannedJob};
use super::problem::{Job, Problem};
use std::collections::BTreeMap;

/// Why a plan has no cost for a problem.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CostError {
    /// The plan names a job that the problem does not have, or one twice.
    #[error("job {0} is unknown or stands twice")]
    StrayJob(String),
    /// The job has no price for being left out, or a fixed step.
    #[error("job {0} is left out, but must be planned")]
    MustBePlanned(String),
    /// The job's steps are not the problem's, each once, with options and starts that exist.
    #[error("job {0} does not have the problem's steps")]
    OtherSteps(String),
}

/// Adds up what a plan costs.
///
/// # Errors
/// [`CostError`] when the plan is not one of this problem's jobs and steps.
///
/// # Edge cases
/// Resources that the problem does not know count as a change where there was a previous plan.
pub fn cost_of(problem: &Problem, plan: &Plan) -> Result<i64, CostError> {
    let mut planned: BTreeMap<&str, &PlannedJob> = BTreeMap::new();
    for entry in &plan.jobs {
        let known = problem.jobs.iter().any(|job| job.id == entry.id);
        if !known || planned.insert(&entry.id, entry).is_some() {
            return Err(CostError::StrayJob(entry.id.clone()));
        }
    }
    let mut total = 0_i64;
    let mut last = 0_i64;
    for job in &problem.jobs {
        let entry = planned.get(job.id.as_str()).filter(|entry| !entry.left_out);
        if let Some(entry) = entry {
            let placement = placement_of(problem, job, entry)
                .ok_or_else(|| CostError::OtherSteps(job.id.clone()))?;
            total = total.saturating_add(placement.cost);
            last = last.max(placement.finish);
        } else {
            let price = left_out_cost(problem.cost, job);
            let price = price.ok_or_else(|| CostError::MustBePlanned(job.id.clone()))?;
            total = total.saturating_add(price);
        }
    }
    Ok(total.saturating_add(problem.cost.makespan.saturating_mul(last)))
}

/// The job's steps as placed; none when they are not the problem's or far outside its time.
pub(super) fn placement_of(problem: &Problem, job: &Job, entry: &PlannedJob) -> Option<Placement> {
    let mut placed: Vec<Placed> = Vec::with_capacity(entry.steps.len());
    for planned in &entry.steps {
        let step = job.steps.iter().position(|step| step.id == planned.id)?;
        let spec = &job.steps[step];
        spec.options.get(planned.option)?;
        let minutes = spec.minutes(planned.option);
        let within = planned.start.checked_add(minutes).is_some_and(|end| end <= problem.horizon);
        if placed.iter().any(|other| other.step == step) || (spec.fixed.is_none() && !within) {
            return None;
        }
        if spec.fixed.as_ref().is_some_and(|fixed| fixed.start != planned.start) {
            return None;
        }
        let named =
            planned.uses.iter().map(|id| problem.resources.iter().position(|r| r.id == *id));
        placed.push(Placed {
            step,
            option: planned.option,
            start: planned.start,
            end: planned.start + minutes,
            uses: named.map(|known| known.unwrap_or(usize::MAX)).collect(),
        });
    }
    (placed.len() == job.steps.len()).then(|| Placement::new(problem.cost, job, placed))
}
