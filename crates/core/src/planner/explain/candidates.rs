//! Which changes are worth trying for one job, each with the most that it is tried with.
//!
//! Looked at are the steps of the job itself and those in its chain of waits: what they use, where
//! they could stand, and what holds them back. A resource counts once for all that serve in just the
//! same groups. Every kind is bounded, so that no day makes the trying endless.

use super::attempt::Case;
use super::change::{Change, Side};
use super::{Cause, NotInTime, Wait};
use crate::planner::board::Standing;
use crate::planner::problem::{Job, Problem};
use crate::planner::span::Span;
use std::collections::{BTreeMap, BTreeSet};

/// The longest that somebody is asked to stay or to come earlier, minutes (invented: half a shift).
const OPEN_MORE_MAX: i64 = 240;
/// The most resources, or places, that are looked at for one job.
const CALENDARS_MAX: usize = 16;

/// The changes to try, without the promise: each the largest of its kind.
pub(super) fn candidates(case: &Case<'_>, waits: &[Wait]) -> Vec<Change> {
    let problem = case.problem;
    let steps = steps_of(case, waits);
    let mut changes = releases(case);
    let resources = resources(problem, &steps);
    for resource in resources.iter().take(CALENDARS_MAX) {
        let id = &problem.resources[*resource].id;
        for (side, at, minutes) in openings(case, &problem.resources[*resource].open) {
            let open = |with_places| Change::ResourceOpen {
                resource: id.clone(),
                side,
                at,
                minutes,
                with_places,
            };
            changes.push(open(false));
            if side == Side::After {
                changes.push(open(true));
            }
        }
    }
    for place in places(&steps).into_iter().take(CALENDARS_MAX) {
        let place = &problem.places[place];
        for (side, at, minutes) in openings(case, &place.open) {
            changes.push(Change::PlaceOpen { place: place.id.clone(), side, at, minutes });
        }
    }
    let like = classes(problem, &resources).into_iter().take(CALENDARS_MAX);
    changes.extend(like.map(|like| Change::OneMore { like: problem.resources[like].id.clone() }));
    changes
}

/// The job's own steps and those in its chain, each as (job, step).
fn steps_of<'p>(case: &Case<'p>, waits: &[Wait]) -> Vec<(&'p Job, usize)> {
    let own = (0..case.spec().steps.len()).map(|step| (case.spec(), step));
    let mut steps: Vec<(&Job, usize)> = own.collect();
    let mut add = |job: &str, step: &str| {
        let Some(job) = case.problem.jobs.iter().find(|one| one.id == job) else { return };
        let Some(step) = job.steps.iter().position(|one| one.id == step) else { return };
        if !steps.iter().any(|(known, at)| known.id == job.id && *at == step) {
            steps.push((job, step));
        }
    };
    for wait in waits {
        add(&wait.job, &wait.step);
        match &wait.cause {
            Cause::PlaceHeld { by_job, by_step, .. }
            | Cause::ResourceBusy { by_job, by_step, .. } => add(by_job, by_step),
            Cause::Now
            | Cause::Fixed
            | Cause::Free
            | Cause::JobRelease { .. }
            | Cause::StepRelease { .. }
            | Cause::After { .. }
            | Cause::Move { .. }
            | Cause::PlaceClosed { .. }
            | Cause::ResourceAway { .. }
            | Cause::StartWindow => {}
        }
    }
    steps.retain(|(job, step)| !job.steps[*step].is_fixed());
    steps
}

/// What the steps could use, each once, in the order of the steps.
fn resources(problem: &Problem, steps: &[(&Job, usize)]) -> Vec<usize> {
    let mut seen = vec![false; problem.resources.len()];
    let options = steps.iter().flat_map(|(job, step)| &job.steps[*step].options);
    let named = options.flat_map(|option| option.needs.iter().flatten().copied());
    named.filter(|used| !std::mem::replace(&mut seen[*used], true)).collect()
}

fn places(steps: &[(&Job, usize)]) -> BTreeSet<usize> {
    let options = steps.iter().flat_map(|(job, step)| &job.steps[*step].options);
    options.filter_map(|option| option.place).collect()
}

/// One of each set of resources that serve in the same groups everywhere.
fn classes(problem: &Problem, resources: &[usize]) -> Vec<usize> {
    let mut groups: BTreeMap<&Vec<usize>, usize> = BTreeMap::new();
    let mut serves = vec![BTreeSet::new(); problem.resources.len()];
    let steps = problem.jobs.iter().flat_map(|job| &job.steps);
    for group in steps.flat_map(|step| &step.options).flat_map(|option| &option.needs) {
        let count = groups.len();
        let number = *groups.entry(group).or_insert(count);
        for used in group {
            serves[*used].insert(number);
        }
    }
    let mut known = BTreeSet::new();
    resources.iter().copied().filter(|used| known.insert(&serves[*used])).collect()
}

/// The windows that could be longer before the job is due: side, where, and for how long at most.
fn openings(case: &Case<'_>, open: &[Span]) -> Vec<(Side, i64, i64)> {
    let problem = case.problem;
    let due = case.spec().due.unwrap_or(problem.horizon).min(problem.horizon);
    let from = case.spec().release.max(problem.now);
    let mut found = Vec::new();
    for (at, window) in open.iter().enumerate() {
        let before = at.checked_sub(1).map_or(from, |before| open[before].end.max(from));
        if window.start > before && window.start <= due {
            let most = (window.start - before).min(OPEN_MORE_MAX);
            found.push((Side::Before, window.start, most));
        }
        let next = open.get(at + 1).map_or(due, |next| next.start.min(due));
        if window.end < next && window.end >= from {
            found.push((Side::After, window.end, (next - window.end).min(OPEN_MORE_MAX)));
        }
    }
    found
}

/// The job and its steps, released as early as can be.
fn releases(case: &Case<'_>) -> Vec<Change> {
    let spec = case.spec();
    let now = case.problem.now;
    let mut changes = Vec::new();
    if spec.release > now {
        let (job, release) = (spec.id.clone(), spec.release);
        changes.push(Change::JobRelease { job, release, minutes: release - now });
    }
    let from = spec.release.max(now);
    for step in spec.steps.iter().filter(|step| !step.is_fixed() && step.release > from) {
        let (job, release) = (spec.id.clone(), step.release);
        let step = step.id.clone();
        changes.push(Change::StepRelease { job, step, release, minutes: release - from });
    }
    changes
}

/// The promise moved so far that the job surely keeps it, if it may be moved at all.
pub(super) fn promise(case: &Case<'_>) -> Option<Change> {
    let minutes = match (case.not_in_time(), &case.standing[case.job]) {
        (NotInTime::Late { minutes, .. }, Standing::Placed(_)) => minutes,
        (_, _) => (case.problem.horizon - case.spec().due?).max(0),
    };
    (minutes > 0).then(|| Change::PromiseLater { job: case.spec().id.clone(), minutes })
}
