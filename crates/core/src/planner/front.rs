//! The front of cost against changes: the plan of one problem with changes free, at their price, and at a
//! multiple of it, so that a person can choose how much unrest a cheaper day is worth.
//!
//! Every plan found is weighed at every price, so that along the front changes never rise and the
//! cost apart from them never falls.

use super::cost::{CostError, cost_less_changes};
use super::plan::{Plan, PlanStatus};
use super::problem::Problem;
use super::solve::{EpochReport, SolveError, SolveOptions, solve};
use super::steadiness::{Roles, Steadiness, steadiness};
use crate::fault::Faults;

/// The multiples of the price of a change that are looked at by default.
pub const FRONT_FACTORS: [i64; 3] = [0, 1, 4];

/// One plan of the front.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FrontPoint {
    /// By what the price of a change was multiplied.
    pub factor: i64,
    /// The plan that is best at this price. Its cost is that of the problem as given; the bound stands only with the
    /// plan that was searched for at the price as given.
    pub plan: Plan,
    /// What it costs apart from changes.
    pub cost_less_changes: i64,
    /// How it differs from the previous plan.
    pub steadiness: Steadiness,
}

/// Why there is no front.
#[derive(Debug, thiserror::Error)]
pub enum FrontError {
    /// A multiple of the price of a change leaves the limits of a problem.
    #[error("{factor} times the price of a change is too much: {faults}")]
    Factor {
        /// The multiple.
        factor: i64,
        /// What is wrong with the problem then.
        faults: Faults,
    },
    /// No plan was found.
    #[error(transparent)]
    Solve(#[from] SolveError),
    /// It is proved that no plan keeps every rule.
    #[error("no plan keeps every rule; the jobs concerned: {}", jobs.join(", "))]
    Impossible {
        /// The jobs for which no plan exists.
        jobs: Vec<String>,
    },
    /// A plan does not suit its problem, which a sound search never brings about.
    #[error(transparent)]
    Cost(#[from] CostError),
}

/// Plans a problem once for each factor of the price of a change. `stop` is asked as in [`solve`], with the factor.
///
/// # Errors
/// [`FrontError`] when a factor is too large or negative, or no plan was found.
pub fn front(
    problem: &Problem,
    factors: &[i64],
    options: SolveOptions,
    roles: Roles<'_>,
    stop: &mut dyn FnMut(i64, &EpochReport) -> bool,
) -> Result<Vec<FrontPoint>, FrontError> {
    let mut found: Vec<FrontPoint> = Vec::with_capacity(factors.len());
    for factor in factors.iter().copied() {
        let priced = with_price_times(problem, factor)
            .map_err(|faults| FrontError::Factor { factor, faults })?;
        let mut plan = solve(&priced, options, &mut |report| stop(factor, report))?;
        if plan.status == PlanStatus::Impossible {
            return Err(FrontError::Impossible { jobs: plan.why });
        }
        let steadiness = steadiness(problem, &plan, roles)?;
        let cost_less_changes = cost_less_changes(problem, &plan)?;
        if factor != 1 {
            plan.cost = Some(super::cost::cost_of(problem, &plan)?);
            plan.bound = None;
            plan.certificate = None;
            plan.status = PlanStatus::Feasible;
        }
        found.push(FrontPoint { factor, plan, cost_less_changes, steadiness });
    }
    let price = i128::from(problem.cost().change);
    let weighed = |point: &FrontPoint, factor: i64| {
        let changed = i128::try_from(point.steadiness.changed).unwrap_or(i128::MAX);
        let cost = i128::from(point.cost_less_changes) + i128::from(factor) * price * changed;
        (cost, changed)
    };
    let best_at = |factor: &i64| {
        let best = found.iter().min_by_key(|point| weighed(point, *factor));
        best.map(|point| FrontPoint { factor: *factor, ..point.clone() })
    };
    Ok(factors.iter().filter_map(best_at).collect())
}

fn with_price_times(problem: &Problem, factor: i64) -> Result<Problem, Faults> {
    if factor == 1 {
        return Ok(problem.clone());
    }
    let mut draft = problem.to_draft();
    // Past the limit of a price the check refuses it in words.
    draft.cost.change = draft.cost.change.saturating_mul(factor);
    Problem::from_draft(draft)
}

#[cfg(test)]
mod tests;
