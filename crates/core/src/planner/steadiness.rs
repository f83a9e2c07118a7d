//! How steady a plan is against the previous one: what share of the steps stands otherwise, by how many
//! minutes starts moved, who got another technician or another bay.
//!
//! Source: stability measures of rescheduling, Wu, Storer and Chang, "One-machine rescheduling heuristics with
//! efficiency and stability as criteria", Computers & Operations Research 20 (1993); Rangsaritratsamee and others,
//! "Dynamic rescheduling that simultaneously considers efficiency and stability", Computers & Industrial
//! Engineering 46 (2004).

use super::cost::{CostError, cost_of};
use super::plan::{Plan, PlannedStep};
use super::problem::{Problem, Step};
use std::collections::BTreeMap;

/// Tells apart what a problem only knows as resources and places.
#[derive(Clone, Copy)]
pub struct Roles<'r> {
    /// Whether a resource's id is that of a technician.
    pub is_technician: &'r dyn Fn(&str) -> bool,
    /// The bay in which a place lies, by the place's id.
    pub bay_of: &'r dyn Fn(&str) -> String,
}

impl Roles<'static> {
    /// Roles told by ids, as a shop's day gives them: a technician's begins with `tech`, a place's with its bay, up to
    /// the first slash or else the first space.
    pub fn by_id() -> Self {
        Self {
            is_technician: &|id| id.starts_with("tech"),
            bay_of: &|id| {
                let bay = id.split_once('/').or_else(|| id.split_once(' '));
                bay.map_or(id, |(bay, _)| bay).to_owned()
            },
        }
    }
}

impl std::fmt::Debug for Roles<'_> {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.debug_struct("Roles").finish_non_exhaustive()
    }
}

/// How a plan differs from the previous one.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Steadiness {
    /// The steps that stood in the previous plan.
    pub steps: usize,
    /// Those of them that are not fixed, so that the plan may move them.
    pub open: usize,
    /// The steps that stand otherwise (start, option or uses), or whose job is left out: what `change` is paid for.
    pub changed: usize,
    /// The steps among them whose job is left out.
    pub left_out: usize,
    /// The sum of the minutes by which starts moved, either way; of steps left out nothing counts.
    pub shift_minutes: i64,
    /// The steps that other technicians do.
    pub technician_changes: usize,
    /// The steps that are done in another bay, or no longer in one; not known where the previous option is gone.
    pub bay_changes: usize,
}

impl Steadiness {
    /// The share of the steps not fixed that stand otherwise, in hundredths; 0 where there are none.
    pub fn changed_percent(&self) -> f64 {
        let count = |steps: usize| f64::from(u32::try_from(steps).unwrap_or(u32::MAX));
        if self.open == 0 { 0.0 } else { 100.0 * count(self.changed) / count(self.open) }
    }

    fn add(&mut self, step: &Step, now: Option<&PlannedStep>, sight: Sight<'_>) {
        let Some(was) = &step.previous else { return };
        self.steps += 1;
        self.open += usize::from(!step.is_fixed());
        let Some(now) = now else {
            self.changed += 1;
            self.left_out += 1;
            return;
        };
        let stands = was.start == now.start && was.option == Some(now.option);
        self.changed += usize::from(!(stands && was.uses == now.uses));
        self.shift_minutes = self.shift_minutes.saturating_add((now.start - was.start).abs());
        let crew = |uses: &[String]| {
            let mut crew: Vec<String> =
                uses.iter().filter(|id| (sight.roles.is_technician)(id)).cloned().collect();
            crew.sort_unstable();
            crew
        };
        self.technician_changes += usize::from(crew(&was.uses) != crew(&now.uses));
        let bay = |option: usize| {
            let place = step.options.get(option)?.place?;
            Some((sight.roles.bay_of)(&sight.problem.places[place].id))
        };
        let moved = was.option.is_some_and(|option| bay(option) != bay(now.option));
        self.bay_changes += usize::from(moved);
    }
}

#[derive(Clone, Copy)]
struct Sight<'s> {
    problem: &'s Problem,
    roles: Roles<'s>,
}

/// Compares a plan with the previous one that its problem names.
///
/// # Errors
/// [`CostError`] when the plan is not one of this problem's jobs and steps.
pub fn steadiness(
    problem: &Problem,
    plan: &Plan,
    roles: Roles<'_>,
) -> Result<Steadiness, CostError> {
    cost_of(problem, plan)?;
    let planned: BTreeMap<&str, _> = plan.jobs.iter().map(|job| (job.id.as_str(), job)).collect();
    let mut sum = Steadiness::default();
    for job in &problem.jobs {
        let entry = planned.get(job.id.as_str()).filter(|entry| !entry.left_out);
        for step in &job.steps {
            let now = entry.and_then(|entry| entry.steps.iter().find(|now| now.id == step.id));
            sum.add(step, now, Sight { problem, roles });
        }
    }
    Ok(sum)
}

#[cfg(test)]
mod tests;
