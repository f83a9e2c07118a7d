//! A smallest set of jobs that must be planned and have no plan together, and the places and resources that
//! matter in it.
//!
//! Every job of the set may be left out at a price of 1 and nothing else costs anything: a plan of cost 0 shows
//! that they can all stand, a bound above 0 proves that they cannot. Jobs are taken out, halves first, as
//! long as no plan is found for the rest; what cannot be taken out stays. Then, in the same way, limits are
//! lifted: a place lets everybody stand there always, a need is always met. So for each job and each limit that is
//! told there is a plan without it, while that the whole has none is proved or just not found, and said so.
//!
//! Source: deletion filtering, Chinneck and Dravnieks, "Locating minimal infeasible constraint sets in linear
//! programs", ORSA J. on Computing 3 (1991).

use super::ExplainOptions;
use crate::planner::draft::{CalendarDraft, CostWeights, JobDraft, ProblemDraft};
use crate::planner::plan::PlanStatus;
use crate::planner::problem::Problem;
use crate::planner::solve::{SolveOptions, solve};
use serde::Serialize;
use std::collections::BTreeSet;

/// A set of jobs without a plan for all of them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Conflict {
    /// The jobs; without any one of them the others have a plan.
    pub jobs: Vec<String>,
    /// Places and resources whose limits matter: without those of any one of them the jobs have a plan. Empty
    /// where the jobs' own times leave no plan, whatever is free.
    pub limits: Vec<String>,
    /// Whether it is proved that the jobs have no plan together; otherwise none was found with the effort.
    pub proved: bool,
    /// Whether the set was made as small as said; otherwise the caller stopped before.
    pub complete: bool,
}

/// Looks for a smallest set of jobs that must be planned and have no plan together; none where a plan for all
/// of them was found. `stop` is asked before each try.
///
/// # Edge cases
/// A job with fixed steps gives up its other steps when it is taken out; the fixed ones stay.
pub fn conflict(
    problem: &Problem,
    options: ExplainOptions,
    stop: &mut dyn FnMut() -> bool,
) -> Option<Conflict> {
    let draft = problem.to_draft();
    let must = |job: &&JobDraft| job.leave_out_cost.is_none() || !job.fixed.is_empty();
    let all: Vec<String> = draft.jobs.iter().filter(must).map(|job| job.id.clone()).collect();
    let mut filter = Filter { draft: &draft, options, stop, stopped: false };
    if filter.outcome(&all, &[]) == Outcome::Planned {
        return None;
    }
    let jobs = filter.smallest(all, |filter, jobs| filter.outcome(jobs, &[]));
    let calendars = draft.places.iter().chain(&draft.resources).map(|one| one.id.clone());
    // A limit is lifted by naming it; what is kept is what is not named.
    let named: Vec<String> = calendars.collect();
    let limits = filter.smallest(named.clone(), |filter, kept| {
        let lifted: Vec<String> = named.iter().filter(|id| !kept.contains(id)).cloned().collect();
        filter.outcome(&jobs, &lifted)
    });
    let complete = !filter.stopped;
    filter.stopped = false;
    let proved = filter.tried(&jobs, &[]) == Outcome::Proved;
    Some(Conflict { jobs, limits, proved, complete })
}

/// What is known about a set of jobs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Outcome {
    /// There is a plan for all.
    Planned,
    /// It is proved that there is none.
    Proved,
    /// None was found.
    NotFound,
}

struct Filter<'f> {
    draft: &'f ProblemDraft,
    options: ExplainOptions,
    stop: &'f mut dyn FnMut() -> bool,
    stopped: bool,
}

impl Filter<'_> {
    /// Takes things out of a set, many at once first, as long as the rest has no plan.
    fn smallest(
        &mut self,
        mut set: Vec<String>,
        outcome: impl Fn(&mut Self, &[String]) -> Outcome,
    ) -> Vec<String> {
        let mut size = set.len().div_ceil(2);
        while size > 0 {
            let mut from = 0;
            while from < set.len() {
                let until = (from + size).min(set.len());
                let rest: Vec<String> = set[..from].iter().chain(&set[until..]).cloned().collect();
                if outcome(self, &rest) == Outcome::Planned {
                    from = until;
                } else {
                    set = rest;
                }
            }
            size /= 2;
        }
        set
    }

    /// What is known; once the caller has stopped, everything counts as planned, so that nothing more is
    /// taken out.
    fn outcome(&mut self, jobs: &[String], lifted: &[String]) -> Outcome {
        self.stopped = self.stopped || (self.stop)();
        if self.stopped { Outcome::Planned } else { self.tried(jobs, lifted) }
    }

    fn tried(&self, jobs: &[String], lifted: &[String]) -> Outcome {
        let Ok(problem) = Problem::from_draft(self.part(jobs, lifted)) else {
            return Outcome::NotFound;
        };
        let ExplainOptions { seed, epochs, .. } = self.options;
        let options = SolveOptions { seed, threads: 1, epochs: Some(epochs) };
        let plan = solve(&problem, options, &mut |report| report.bound > 0);
        match plan {
            Ok(plan) if plan.status == PlanStatus::Impossible => Outcome::Proved,
            Ok(plan) if plan.cost == Some(0) => Outcome::Planned,
            Ok(plan) if plan.bound.is_some_and(|bound| bound > 0) => Outcome::Proved,
            Ok(_) | Err(_) => Outcome::NotFound,
        }
    }

    /// The problem of some jobs, without some limits, in which only leaving a job out costs.
    fn part(&self, jobs: &[String], lifted: &[String]) -> ProblemDraft {
        let mut part = self.draft.clone();
        part.cost = CostWeights::default();
        let wanted: BTreeSet<&String> = jobs.iter().collect();
        let lifted: BTreeSet<&String> = lifted.iter().collect();
        part.jobs.retain(|job| wanted.contains(&job.id) || !job.fixed.is_empty());
        for job in &mut part.jobs {
            job.due = None;
            job.previous.clear();
            job.leave_out_cost = job.fixed.is_empty().then_some(1);
            if !wanted.contains(&job.id) {
                keep_fixed_steps(job);
            }
        }
        let places: BTreeSet<&String> = self.draft.places.iter().map(|place| &place.id).collect();
        for job in &mut part.jobs {
            part.places.extend(lift(job, &lifted, &places));
        }
        part
    }
}

fn keep_fixed_steps(job: &mut JobDraft) {
    let fixed: BTreeSet<String> = job.fixed.keys().cloned().collect();
    job.steps.retain(|step| fixed.contains(&step.id));
    for step in &mut job.steps {
        if let Some(after) = &mut step.after {
            after.retain(|earlier, _| fixed.contains(earlier));
        }
    }
}

/// Frees the steps of a job from limits; gives the places that it then has to itself, always open. A job with
/// fixed steps keeps its places, so that its vehicle stays where it stands.
fn lift(
    job: &mut JobDraft,
    lifted: &BTreeSet<&String>,
    places: &BTreeSet<&String>,
) -> Vec<CalendarDraft> {
    let mut own: BTreeSet<String> = BTreeSet::new();
    let stands = !job.fixed.is_empty();
    let steps = job.steps.iter_mut().filter(|step| !job.fixed.contains_key(&step.id));
    for option in steps.flat_map(|step| &mut step.options) {
        option.needs.retain(|group| !group.iter().any(|used| lifted.contains(used)));
        let Some(place) = &mut option.place else { continue };
        if lifted.contains(place) && !stands {
            *place = fresh(place, &job.id, places);
            own.insert(place.clone());
        }
    }
    own.into_iter().map(|id| CalendarDraft { id, open: None }).collect()
}

/// A name for a job's own copy of a place that no other place has.
fn fresh(place: &str, job: &str, places: &BTreeSet<&String>) -> String {
    let mut name = format!("{place} for {job}");
    while places.contains(&name) {
        name.push('+');
    }
    name
}
