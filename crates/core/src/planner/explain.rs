//! Says of every late or left-out job what it waits for, and which smallest changes bring it in time.
//!
//! Nothing here is guessed. What a job waits for is read off the plan: from its last step back, each
//! time the one thing that keeps a step from starting a minute earlier. A change is tried by planning
//! again with it, under conditions that make the answer plain: the job must finish in time, no other
//! job may finish later than promised (or later than it does now, where it is late), and none may
//! drop out. First the job alone is put where it fits among the others; then a seeded search moves others,
//! for a fixed effort. The smallest amount is found by halving, so that one minute less was tried too
//! and found no plan under the same effort; that none exists is said only where it is proved.
//!
//! Source: tight predecessors as in critical-path analysis (Kelley and Walker 1959); the ways of changing a
//! plan are those that a shop has.

mod attempt;
mod binding;
mod candidates;
mod change;
mod conflict;
mod smallest;

use super::plan::Plan;
use super::problem::Problem;
use super::stood::{BrokenRule, standings};
use attempt::Case;
use serde::Serialize;

pub use binding::{Cause, Wait};
pub use change::{Change, Side};
pub use conflict::{Conflict, conflict};

/// How hard to look for plans with a change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ExplainOptions {
    /// The seed of all random choices.
    pub seed: u64,
    /// Epochs of search for each change tried, beyond putting the job alone among the others.
    pub epochs: u64,
    /// The most jobs to explain; those with the dearest lateness come first.
    pub jobs_max: usize,
}

impl Default for ExplainOptions {
    fn default() -> Self {
        Self { seed: 1, epochs: 4, jobs_max: 20 }
    }
}

/// Why a plan could not be explained.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ExplainError {
    /// The plan breaks a rule of the problem.
    #[error("the plan breaks a rule of its problem")]
    Plan(#[source] BrokenRule),
}

/// How a job that is not in time stands in the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum NotInTime {
    /// It finishes after it is due.
    Late {
        /// When it finishes.
        finish: i64,
        /// When it is due.
        due: i64,
        /// Minutes between.
        minutes: i64,
    },
    /// It is not in the plan.
    LeftOut {
        /// What leaving it out costs.
        cost: i64,
        /// When it is due, where it is.
        due: Option<i64>,
    },
}

/// The reasons of one job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct JobReasons {
    /// The job.
    pub job: String,
    /// How it stands.
    pub standing: NotInTime,
    /// What it waits for: from its last step back, each entry waits for the next. For a job that is
    /// left out: what stands where it would stand if it were alone.
    pub waits: Vec<Wait>,
    /// When it would finish if no other job were there, fixed steps apart; none where it has no way at
    /// all within the horizon.
    pub earliest_alone: Option<i64>,
    /// The smallest changes found, fewest minutes first; what takes no minutes comes last.
    pub remedies: Vec<Remedy>,
    /// Whether everything was tried; otherwise the caller stopped it.
    pub complete: bool,
}

/// A change that brings a job in time, with the plan that shows it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Remedy {
    /// The change.
    pub change: Change,
    /// What the plan costs as it is.
    pub cost_before: i64,
    /// What the plan found with the change costs.
    pub cost_after: i64,
    /// What all other jobs cost in the plan as it is; the makespan counts as theirs.
    pub others_before: i64,
    /// What all other jobs cost with the change. None of them finishes later than promised or, if it was
    /// late, later than before.
    pub others_after: i64,
    /// When the job then finishes.
    pub finish: i64,
    /// How many other jobs stand otherwise in that plan.
    pub others_moved: usize,
    /// A plan of the changed problem that keeps every rule.
    #[serde(skip)]
    pub plan: Plan,
}

/// Explains every job that is late or left out, the dearest first.
///
/// `stop` is asked before each change is tried. (problem, plan, options) decide the answer unless it
/// stops early.
///
/// # Errors
/// [`ExplainError`] when the plan breaks a rule of the problem.
pub fn explain(
    problem: &Problem,
    plan: &Plan,
    options: ExplainOptions,
    stop: &mut dyn FnMut() -> bool,
) -> Result<Vec<JobReasons>, ExplainError> {
    explain_some(problem, plan, options, &|_| true, stop)
}

/// Explains, of the jobs whose ids are `wanted`, those that are late or left out; otherwise as [`explain`].
///
/// # Errors
/// [`ExplainError`] when the plan breaks a rule of the problem.
pub fn explain_some(
    problem: &Problem,
    plan: &Plan,
    options: ExplainOptions,
    wanted: &dyn Fn(&str) -> bool,
    stop: &mut dyn FnMut() -> bool,
) -> Result<Vec<JobReasons>, ExplainError> {
    let standing = standings(problem, plan).map_err(ExplainError::Plan)?;
    let mut late: Vec<(i64, usize)> = (0..problem.jobs.len())
        .filter(|job| wanted(&problem.jobs[*job].id))
        .filter_map(|job| Some((attempt::excess(problem, job, &standing[job])?, job)))
        .collect();
    late.sort_unstable_by_key(|(excess, job)| (std::cmp::Reverse(*excess), *job));
    late.truncate(options.jobs_max);
    let mut reasons = Vec::with_capacity(late.len());
    for (_, job) in late {
        let case = Case::new(problem, &standing, job, options);
        reasons.push(smallest::reasons(&case, stop));
    }
    Ok(reasons)
}

/// Tries one change for one job, as [`explain`] does; none where no plan was found with it.
///
/// # Errors
/// [`ExplainError`] when the plan breaks a rule of the problem.
///
/// # Edge cases
/// A job that the problem does not have, or a change that names things it does not have, finds nothing.
pub fn try_change(
    problem: &Problem,
    plan: &Plan,
    job: &str,
    change: &Change,
    options: ExplainOptions,
) -> Result<Option<Remedy>, ExplainError> {
    let standing = standings(problem, plan).map_err(ExplainError::Plan)?;
    let known = problem.jobs.iter().position(|one| one.id == job);
    Ok(known.and_then(|job| Case::new(problem, &standing, job, options).attempt(change)))
}

#[cfg(test)]
mod tests;
