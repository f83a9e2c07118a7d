//! Problems of a special structure that is searched in its own way: one machine with jobs of a single
//! step, and shops of machines that each step needs one of.
//!
//! A problem is taken for one of these only where every plan of it is a plan of the special kind and the
//! other way round; what is found is put on the planner's board like any other plan.

mod machines;
mod run;
mod single;

pub(super) use run::plan_specially;

use super::problem::{Calendar, Problem};

/// When every job can start at the earliest, where that is the same minute for all and nothing else in
/// the problem ties a step to a time; none otherwise.
fn common_start(problem: &Problem) -> Option<i64> {
    if problem.jobs.iter().any(|job| job.leave_out_cost.is_some()) {
        return None;
    }
    let mut starts = problem.jobs.iter().flat_map(|job| {
        job.steps.iter().map(|step| problem.now.max(job.release).max(step.release))
    });
    let first = starts.next()?;
    (starts.all(|start| start == first) && is_untied(problem)).then_some(first)
}

/// Whether no step is fixed, has a start window, or costs something for standing otherwise than before.
fn is_untied(problem: &Problem) -> bool {
    let steps = || problem.jobs.iter().flat_map(|job| &job.steps);
    let options = || steps().flat_map(|step| &step.options);
    let changes = problem.cost.change > 0 && steps().any(|step| step.previous.is_some());
    !changes
        && steps().all(|step| step.fixed.is_none())
        && options().all(|option| option.starts.is_none())
}

/// Whether a place or resource is open all the way from one minute to another.
fn is_open(unit: &Calendar, from: i64, to: i64) -> bool {
    unit.open.iter().any(|window| window.start <= from && to <= window.end)
}
