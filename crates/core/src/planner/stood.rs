//! Reads a plan against its problem: how every job stands, or which rule the plan breaks.
//!
//! Whoever works on from a plan that came from elsewhere, a file or a table, has to know that it
//! keeps every rule first. Each rule is checked by itself, spans pair by pair in the order of time.

use super::board::Standing;
use super::cost::placement_of;
use super::placement::{Hold, Placement};
use super::plan::{Plan, PlannedJob};
use super::problem::{Job, Problem};
use super::span::Span;
use std::collections::BTreeMap;

/// A rule that a plan breaks.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BrokenRule {
    /// The plan names a job that the problem does not have, or one twice.
    #[error("job {0} is unknown or stands twice")]
    StrayJob(String),
    /// A job that must be planned is not.
    #[error("job {0} is left out, but must be planned")]
    MustBePlanned(String),
    /// The job's steps are not the problem's, each once, with options and starts that exist.
    #[error("job {0} does not have the problem's steps within its time")]
    OtherSteps(String),
    /// A step takes other resources than its option asks for.
    #[error("step {step} of job {job} does not use one resource of each group, each once")]
    OtherUses {
        /// The job.
        job: String,
        /// The step.
        step: String,
    },
    /// A step starts before it may.
    #[error("step {step} of job {job} starts at {start}, before or after it may")]
    Start {
        /// The job.
        job: String,
        /// The step.
        step: String,
        /// Its start.
        start: i64,
    },
    /// A step does not lie within one open window of its place or of a resource.
    #[error("step {step} of job {job} does not lie within one open window of {calendar}")]
    Closed {
        /// The job.
        job: String,
        /// The step.
        step: String,
        /// The place or resource.
        calendar: String,
    },
    /// Two jobs have the same place, places that clash, or the same resource at once.
    #[error("jobs {one} and {other} meet on {calendar}")]
    Meet {
        /// A job.
        one: String,
        /// Another job.
        other: String,
        /// The place or resource.
        calendar: String,
    },
}

/// How every job of a problem stands in a plan that keeps every rule.
///
/// # Errors
/// The first [`BrokenRule`] found.
pub(super) fn standings(problem: &Problem, plan: &Plan) -> Result<Vec<Standing>, BrokenRule> {
    let mut planned: BTreeMap<&str, &PlannedJob> = BTreeMap::new();
    for entry in &plan.jobs {
        let known = problem.jobs.iter().any(|job| job.id == entry.id);
        if !known || planned.insert(&entry.id, entry).is_some() {
            return Err(BrokenRule::StrayJob(entry.id.clone()));
        }
    }
    let mut standings = Vec::with_capacity(problem.jobs.len());
    for job in &problem.jobs {
        let entry = planned.get(job.id.as_str()).filter(|entry| !entry.left_out);
        standings.push(match entry {
            Some(entry) => Standing::Placed(kept(problem, job, entry)?),
            None if job.may_be_left_out() => Standing::LeftOut,
            None => return Err(BrokenRule::MustBePlanned(job.id.clone())),
        });
    }
    apart(problem, &standings)?;
    Ok(standings)
}

/// One job as planned, where it keeps the rules that concern it alone.
fn kept(problem: &Problem, job: &Job, entry: &PlannedJob) -> Result<Placement, BrokenRule> {
    let placement =
        placement_of(problem, job, entry).ok_or_else(|| BrokenRule::OtherSteps(job.id.clone()))?;
    for (at, placed) in placement.steps.iter().enumerate() {
        let step = &job.steps[placed.step];
        let option = &step.options[placed.option];
        let named = || (job.id.clone(), step.id.clone());
        let fits = placed.uses.len() == option.needs.len()
            && option.needs.iter().zip(&placed.uses).all(|(group, used)| group.contains(used));
        let twice = (1..placed.uses.len()).any(|at| placed.uses[..at].contains(&placed.uses[at]));
        let as_fixed = step
            .fixed
            .as_ref()
            .map(|fixed| fixed.uses == placed.uses && fixed.option == placed.option);
        if as_fixed == Some(false) || (as_fixed.is_none() && (!fits || twice)) {
            let (job, step) = named();
            return Err(BrokenRule::OtherUses { job, step });
        }
        let before = at.checked_sub(1).map(|before| &placement.steps[before]);
        if !in_order(problem, job, &placement, at)
            || (before.is_some() && !moved(job, &placement, at))
        {
            let (job, step) = named();
            return Err(BrokenRule::Start { job, step, start: placed.start });
        }
        if step.is_fixed() {
            continue;
        }
        let span = Span { start: placed.start, end: placed.end };
        let inside =
            |open: &[Span]| open.iter().any(|w| w.start <= span.start && span.end <= w.end);
        let place = option.place.map(|place| &problem.places[place]);
        let used = placed.uses.iter().map(|used| &problem.resources[*used]);
        if let Some(closed) = place.into_iter().chain(used).find(|calendar| !inside(&calendar.open))
        {
            let (job, step) = named();
            return Err(BrokenRule::Closed { job, step, calendar: closed.id.clone() });
        }
    }
    Ok(placement)
}

/// Whether a step starts after its releases and what comes before it, and inside a start window.
fn in_order(problem: &Problem, job: &Job, placement: &Placement, at: usize) -> bool {
    let placed = &placement.steps[at];
    let step = &job.steps[placed.step];
    let after = step.after.iter().all(|(earlier, gap)| {
        let other = placement.steps.iter().find(|other| other.step == *earlier);
        let both = step.is_fixed() && job.steps[*earlier].is_fixed();
        both || other.is_some_and(|other| other.end + gap <= placed.start)
    });
    if step.is_fixed() {
        return after;
    }
    let from = problem.now.max(job.release).max(step.release);
    let starts = step.options[placed.option].starts.as_ref();
    let may = starts.is_none_or(|starts| {
        starts.iter().any(|window| (window.start..window.end).contains(&placed.start))
    });
    after && may && placed.start >= from
}

/// Whether a step comes after the one before it in time, and the move between them.
fn moved(job: &Job, placement: &Placement, at: usize) -> bool {
    let (before, placed) = (&placement.steps[at - 1], &placement.steps[at]);
    let steps = [before, placed].map(|one| &job.steps[one.step]);
    if steps.iter().all(|step| step.is_fixed()) {
        return true;
    }
    let place = |one: usize, option: usize| steps[one].options[option].place;
    let moves = place(0, before.option) != place(1, placed.option);
    placed.start >= before.end + if moves { job.move_minutes } else { 0 }
}

/// Whether no two jobs hold places that exclude each other, and no two steps one resource, at once.
fn apart(problem: &Problem, standings: &[Standing]) -> Result<(), BrokenRule> {
    let mut held: Vec<Vec<(usize, Hold)>> = vec![Vec::new(); problem.places.len()];
    let mut busy: Vec<Vec<(Span, bool, usize)>> = vec![Vec::new(); problem.resources.len()];
    for (index, standing) in standings.iter().enumerate() {
        let Standing::Placed(placement) = standing else { continue };
        let job = &problem.jobs[index];
        placement.holds(job).for_each(|hold| held[hold.place].push((index, hold)));
        for placed in &placement.steps {
            let span = Span { start: placed.start, end: placed.end };
            for used in &placed.uses {
                busy[*used].push((span, job.steps[placed.step].is_fixed(), index));
            }
        }
    }
    let id = |job: usize| problem.jobs[job].id.clone();
    for (resource, list) in busy.iter_mut().enumerate() {
        list.sort_unstable();
        for (at, (span, fixed, job)) in list.iter().enumerate() {
            let next = list[at + 1..].iter().take_while(|(other, ..)| other.start < span.end);
            for (other_span, other_fixed, other) in next {
                if span.overlaps(*other_span) && !(*fixed && *other_fixed) {
                    let calendar = problem.resources[resource].id.clone();
                    return Err(BrokenRule::Meet { one: id(*job), other: id(*other), calendar });
                }
            }
        }
    }
    let same = (0..problem.places.len()).map(|place| (place, place));
    for (one, other) in same.chain(problem.clashes.iter().copied()) {
        for (job, hold) in &held[one] {
            let meets = |(rival, with): &&(usize, Hold)| {
                rival != job && hold.span.overlaps(with.span) && !(hold.fixed && with.fixed)
            };
            if let Some((rival, _)) = held[other].iter().find(meets) {
                let calendar = problem.places[one].id.clone();
                return Err(BrokenRule::Meet { one: id(*job), other: id(*rival), calendar });
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests;
