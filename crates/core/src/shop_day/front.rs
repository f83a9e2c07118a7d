//! The front of cost against changes of a shop's days: planned with changes to the standing plan free, at the
//! shop's price and at a multiple of it, each told in the shop's own figures. Nothing here is kept.

use super::what_if::{Outcome, outcome};
use super::{DayError, PlannedDay, ShopState, Stuck, attempted};
use crate::planner::{
    self, EpochReport, FRONT_FACTORS, FrontError, Roles, SolveOptions, Steadiness, steadiness,
};

/// One plan of the front.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DayFrontPoint {
    /// By what the shop's price of a change is multiplied.
    pub factor: i64,
    /// What the plan costs, changes at the shop's price.
    pub cost: i64,
    /// How the days come out.
    pub outcome: Outcome,
    /// How the plan differs from the standing one.
    pub steadiness: Steadiness,
}

/// Plans the days of `state` once for each of [`FRONT_FACTORS`]; `stop` is asked between epochs, with the factor.
///
/// # Errors
/// As [`plan_day`](super::plan_day).
pub fn front(
    state: &ShopState<'_>,
    options: SolveOptions,
    stop: &mut dyn FnMut(i64, &EpochReport) -> bool,
) -> Result<Vec<DayFrontPoint>, DayError> {
    attempted(state, |day| {
        let roles = Roles::by_id();
        let found = planner::front(&day.problem, &FRONT_FACTORS, options, roles, &mut *stop);
        let points = found.map_err(|error| match error {
            FrontError::Factor { faults, .. } => Stuck::Error(DayError::Problem(faults)),
            FrontError::Solve(error) => Stuck::of(error),
            FrontError::Impossible { jobs } => Stuck::Jobs(jobs),
            FrontError::Cost(error) => Stuck::Error(DayError::Cost(error)),
        })?;
        let told = points.into_iter().map(|point| DayFrontPoint {
            factor: point.factor,
            cost: point.plan.cost.unwrap_or_default(),
            outcome: outcome(&day.clone().read(state, point.plan)),
            steadiness: point.steadiness,
        });
        Ok(told.collect())
    })
}

impl PlannedDay {
    /// How its plan differs from the one that the shop worked from before.
    ///
    /// # Edge cases
    /// All zero where nothing of what is planned stood in a plan before.
    pub fn steadiness(&self) -> Steadiness {
        // The plan is the problem's own, so it can be compared.
        steadiness(&self.problem, &self.plan, Roles::by_id()).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests;
