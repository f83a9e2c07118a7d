//! What keeps a job from finishing earlier in a plan: from its last step back, link by link.

use super::attempt::Case;
use crate::planner::board::Standing;
use crate::planner::placement::{Placed, Placement};
use crate::planner::problem::{Job, Problem};
use crate::planner::span::Span;
use serde::Serialize;
use std::collections::BTreeSet;

/// The most links of one chain.
const LINKS_MAX: usize = 12;

/// Why a step starts no earlier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Cause {
    /// The plan begins at this minute.
    Now,
    /// It stands fixed: done, running or promised.
    Fixed,
    /// Nothing: it could start earlier, but that would not pay or was not found.
    Free,
    /// The job may not begin earlier.
    JobRelease {
        /// From when it may.
        until: i64,
    },
    /// What the step waits for is there only then.
    StepRelease {
        /// From when it may start.
        until: i64,
    },
    /// A step of the same job comes first, with a wait after it.
    After {
        /// The step.
        step: String,
        /// The wait, minutes.
        gap: i64,
        /// When both are over.
        until: i64,
    },
    /// The vehicle comes from the step before it in time.
    Move {
        /// The step.
        step: String,
        /// Minutes of the move; 0 where the vehicle stays.
        minutes: i64,
        /// When it is there.
        until: i64,
    },
    /// Another job's vehicle stands at the place or where it clashes with it.
    PlaceHeld {
        /// The place that the step needs.
        place: String,
        /// Where the other vehicle stands.
        held: String,
        /// The other job.
        by_job: String,
        /// The step during or before which it stands there.
        by_step: String,
        /// Until when.
        until: i64,
    },
    /// A technician or a unit is busy with another job.
    ResourceBusy {
        /// The resource.
        resource: String,
        /// The other job.
        by_job: String,
        /// The step.
        by_step: String,
        /// Until when.
        until: i64,
    },
    /// The place is closed.
    PlaceClosed {
        /// The place.
        place: String,
    },
    /// The technician or unit is away.
    ResourceAway {
        /// The resource.
        resource: String,
    },
    /// It may not begin earlier: sun, daylight, the road, a rule of the shop.
    StartWindow,
}

/// One link: a step, and why it starts no earlier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Wait {
    /// The job.
    pub job: String,
    /// The step.
    pub step: String,
    /// When it starts; for a job that is left out, when it would alone.
    pub start: i64,
    /// Why not earlier.
    pub cause: Cause,
}

/// The chain of a late job; for one that is left out, what stands in the way of its best time.
pub(super) fn waits(case: &Case<'_>) -> Vec<Wait> {
    match &case.standing[case.job] {
        Standing::Placed(_) => chain(case),
        Standing::LeftOut | Standing::Missing => obstacles(case),
    }
}

fn chain(case: &Case<'_>) -> Vec<Wait> {
    let view = View { problem: case.problem, standing: case.standing };
    let mut links = Vec::new();
    let mut seen = BTreeSet::new();
    let Some(placement) = view.placement(case.job) else { return links };
    let last = placement.steps.iter().max_by_key(|placed| (placed.end, placed.start));
    let mut next = last.map(|placed| (case.job, placed.step));
    while let Some((job, step)) = next.filter(|at| links.len() < LINKS_MAX && seen.insert(*at)) {
        let Some((wait, onward)) = view.link(job, step) else { break };
        links.push(wait);
        next = onward;
    }
    links
}

/// Who stands where a left-out job would stand if it were alone.
fn obstacles(case: &Case<'_>) -> Vec<Wait> {
    let view = View { problem: case.problem, standing: case.standing };
    let Some(alone) = &case.alone else { return Vec::new() };
    let spec = case.spec();
    let mut waits: Vec<Wait> = Vec::new();
    for placed in &alone.steps {
        let span = Span { start: placed.start, end: placed.end };
        for (cause, _) in view.rivals(case.job, placed, span) {
            let (job, step) = (spec.id.clone(), spec.steps[placed.step].id.clone());
            waits.push(Wait { job, step, start: placed.start, cause });
        }
    }
    waits.truncate(LINKS_MAX);
    waits
}

/// A plan to look at.
struct View<'v> {
    problem: &'v Problem,
    standing: &'v [Standing],
}

/// A link, and the step to look at next.
type Link = (Wait, Option<(usize, usize)>);

impl View<'_> {
    fn placement(&self, job: usize) -> Option<&Placement> {
        match &self.standing[job] {
            Standing::Placed(placement) => Some(placement),
            Standing::LeftOut | Standing::Missing => None,
        }
    }

    fn link(&self, job: usize, step: usize) -> Option<Link> {
        let placement = self.placement(job)?;
        let at = placement.steps.iter().position(|placed| placed.step == step)?;
        let spec = &self.problem.jobs[job];
        let placed = &placement.steps[at];
        let (cause, onward) = self.cause(job, placement, at);
        let wait = Wait {
            job: spec.id.clone(),
            step: spec.steps[step].id.clone(),
            start: placed.start,
            cause,
        };
        Some((wait, onward))
    }

    fn cause(
        &self,
        job: usize,
        placement: &Placement,
        at: usize,
    ) -> (Cause, Option<(usize, usize)>) {
        let spec = &self.problem.jobs[job];
        let placed = &placement.steps[at];
        if spec.steps[placed.step].is_fixed() {
            return (Cause::Fixed, None);
        }
        let (ready, cause, onward) = self.ready(job, placement, at);
        if placed.start <= ready {
            return (cause, onward.map(|step| (job, step)));
        }
        let earlier = Span { start: placed.start - 1, end: placed.end - 1 };
        if let Some((cause, rival)) = self.rivals(job, placed, earlier).into_iter().next() {
            return (cause, Some(rival));
        }
        (self.closed(spec, placed, earlier).unwrap_or(Cause::Free), None)
    }

    /// What of the job itself lets the step start no earlier, and the step of it that decides.
    fn ready(&self, job: usize, placement: &Placement, at: usize) -> (i64, Cause, Option<usize>) {
        let spec = &self.problem.jobs[job];
        let placed = &placement.steps[at];
        let step = &spec.steps[placed.step];
        let now = self.problem.now;
        let mut all = vec![(now, Cause::Now, None)];
        if spec.release > now {
            all.push((spec.release, Cause::JobRelease { until: spec.release }, None));
        }
        if let Some(before) = at.checked_sub(1).map(|before| &placement.steps[before]) {
            let place = |one: &Placed| spec.steps[one.step].options[one.option].place;
            let moves = place(before) != place(placed);
            let minutes = if moves { spec.move_minutes } else { 0 };
            let until = before.end + minutes;
            let name = spec.steps[before.step].id.clone();
            all.push((until, Cause::Move { step: name, minutes, until }, Some(before.step)));
        }
        for (earlier, gap) in &step.after {
            let Some(other) = placement.steps.iter().find(|one| one.step == *earlier) else {
                continue;
            };
            let until = other.end + gap;
            let name = spec.steps[*earlier].id.clone();
            all.push((until, Cause::After { step: name, gap: *gap, until }, Some(*earlier)));
        }
        if step.release > now.max(spec.release) {
            all.push((step.release, Cause::StepRelease { until: step.release }, None));
        }
        // Of equals the last: what is most particular to the step.
        let decides = all.into_iter().max_by_key(|(minute, ..)| *minute);
        decides.unwrap_or((now, Cause::Now, None))
    }

    /// The other jobs that have, within a span, what a step uses; those that have it longest first.
    fn rivals(&self, job: usize, placed: &Placed, span: Span) -> Vec<(Cause, (usize, usize))> {
        let mut found: Vec<(i64, Cause, (usize, usize))> = Vec::new();
        let place = self.problem.jobs[job].steps[placed.step].options[placed.option].place;
        for (other, standing) in self.standing.iter().enumerate() {
            let Standing::Placed(placement) = standing else { continue };
            if other == job {
                continue;
            }
            let spec = &self.problem.jobs[other];
            if let Some(place) = place {
                found.extend(self.held(other, placement, place, span));
            }
            for theirs in &placement.steps {
                let shared = theirs.uses.iter().find(|used| placed.uses.contains(used));
                let theirs_span = Span { start: theirs.start, end: theirs.end };
                if let Some(used) = shared.filter(|_| theirs_span.overlaps(span)) {
                    let cause = Cause::ResourceBusy {
                        resource: self.problem.resources[*used].id.clone(),
                        by_job: spec.id.clone(),
                        by_step: spec.steps[theirs.step].id.clone(),
                        until: theirs.end,
                    };
                    found.push((theirs.end, cause, (other, theirs.step)));
                }
            }
        }
        found.sort_by_key(|(until, ..)| -until);
        found.into_iter().map(|(_, cause, at)| (cause, at)).collect()
    }

    /// What another job holds of a place, or where it clashes, within a span.
    fn held(
        &self,
        other: usize,
        placement: &Placement,
        place: usize,
        span: Span,
    ) -> Option<(i64, Cause, (usize, usize))> {
        let spec: &Job = &self.problem.jobs[other];
        let excludes = |held: usize| {
            let pair = (held.min(place), held.max(place));
            held == place || self.problem.clashes.binary_search(&pair).is_ok()
        };
        let holds = placement.holds(spec).filter(|hold| excludes(hold.place));
        let hold =
            holds.filter(|hold| hold.span.overlaps(span)).max_by_key(|hold| hold.span.end)?;
        // A wait at a place ends when the step after it begins.
        let step = placement.steps.iter().find(|one| one.end >= hold.span.end)?.step;
        let cause = Cause::PlaceHeld {
            place: self.problem.places[place].id.clone(),
            held: self.problem.places[hold.place].id.clone(),
            by_job: spec.id.clone(),
            by_step: spec.steps[step].id.clone(),
            until: hold.span.end,
        };
        Some((hold.span.end, cause, (other, step)))
    }

    /// Whether the step cannot lie in a span because something is closed or may not begin.
    fn closed(&self, job: &Job, placed: &Placed, span: Span) -> Option<Cause> {
        let option = &job.steps[placed.step].options[placed.option];
        let outside =
            |open: &[Span]| !open.iter().any(|w| w.start <= span.start && span.end <= w.end);
        let starts = option.starts.as_ref();
        if starts.is_some_and(|all| !all.iter().any(|w| (w.start..w.end).contains(&span.start))) {
            return Some(Cause::StartWindow);
        }
        let away = placed.uses.iter().map(|used| &self.problem.resources[*used]);
        if let Some(away) = away.into_iter().find(|resource| outside(&resource.open)) {
            return Some(Cause::ResourceAway { resource: away.id.clone() });
        }
        let place = &self.problem.places[option.place?];
        outside(&place.open).then(|| Cause::PlaceClosed { place: place.id.clone() })
    }
}
