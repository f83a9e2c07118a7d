//! The changes that are tried to bring a job in time, and what each makes of the problem.
//!
//! Every change only widens what may be done, so a plan of the problem as it is stays a plan with it.

use crate::planner::problem::{Calendar, Problem};
use crate::planner::span::{Span, ordered};
use serde::Serialize;

/// On which side of a window a calendar is open longer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    /// Before the window begins.
    Before,
    /// After the window ends.
    After,
}

/// One change of a problem.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Change {
    /// None: other jobs have room to give way as things are.
    Nothing,
    /// The job is promised later.
    PromiseLater {
        /// The job.
        job: String,
        /// By so much.
        minutes: i64,
    },
    /// One resource more of the same use and hours as this one.
    OneMore {
        /// The resource.
        like: String,
    },
    /// A resource is there longer, next to one of its windows.
    ResourceOpen {
        /// The resource.
        resource: String,
        /// Before or after that window.
        side: Side,
        /// Where that window begins, or ends.
        at: i64,
        /// For so long.
        minutes: i64,
        /// Whether the places that close at that time, or within it, stay open as long.
        with_places: bool,
    },
    /// A place is open longer, next to one of its windows.
    PlaceOpen {
        /// The place.
        place: String,
        /// Before or after that window.
        side: Side,
        /// Where that window begins, or ends.
        at: i64,
        /// For so long.
        minutes: i64,
    },
    /// What a step waits for is there earlier.
    StepRelease {
        /// The job.
        job: String,
        /// The step.
        step: String,
        /// As things are, the step starts no earlier than this.
        release: i64,
        /// Earlier by so much.
        minutes: i64,
    },
    /// The whole job may begin earlier.
    JobRelease {
        /// The job.
        job: String,
        /// As things are, no step starts earlier than this.
        release: i64,
        /// Earlier by so much.
        minutes: i64,
    },
}

impl Change {
    /// How many minutes it takes; none for a change that is not counted in minutes.
    pub fn minutes(&self) -> Option<i64> {
        match self {
            Self::Nothing | Self::OneMore { .. } => None,
            Self::PromiseLater { minutes, .. }
            | Self::ResourceOpen { minutes, .. }
            | Self::PlaceOpen { minutes, .. }
            | Self::StepRelease { minutes, .. }
            | Self::JobRelease { minutes, .. } => Some(*minutes),
        }
    }

    /// The same change of another size; unchanged where it is not counted in minutes.
    #[must_use]
    pub fn with_minutes(&self, amount: i64) -> Self {
        let mut change = self.clone();
        match &mut change {
            Self::Nothing | Self::OneMore { .. } => {}
            Self::PromiseLater { minutes, .. }
            | Self::ResourceOpen { minutes, .. }
            | Self::PlaceOpen { minutes, .. }
            | Self::StepRelease { minutes, .. }
            | Self::JobRelease { minutes, .. } => *minutes = amount,
        }
        change
    }

    /// The problem with the change; none where it names what the problem does not have.
    pub fn applied(&self, problem: &Problem) -> Option<Problem> {
        let mut problem = problem.clone();
        match self {
            Self::Nothing => {}
            Self::PromiseLater { job, minutes } => {
                let job = problem.jobs.iter_mut().find(|one| one.id == *job)?;
                job.due = Some(job.due? + minutes);
            }
            Self::OneMore { like } => one_more(&mut problem, like)?,
            Self::ResourceOpen { resource, side, at, minutes, with_places } => {
                let more = added(*side, *at, *minutes);
                open(problem.resources.iter_mut().find(|one| one.id == *resource)?, more);
                if *with_places {
                    let closes =
                        |place: &&mut Calendar| place.open.iter().any(|w| touches(*w, more));
                    problem.places.iter_mut().filter(closes).for_each(|place| open(place, more));
                }
            }
            Self::PlaceOpen { place, side, at, minutes } => {
                let place = problem.places.iter_mut().find(|one| one.id == *place)?;
                open(place, added(*side, *at, *minutes));
            }
            Self::StepRelease { job, step, release, minutes } => {
                let job = problem.jobs.iter_mut().find(|one| one.id == *job)?;
                let step = job.steps.iter_mut().find(|one| one.id == *step)?;
                step.release = step.release.min(release - minutes);
            }
            Self::JobRelease { job, release, minutes } => {
                let job = problem.jobs.iter_mut().find(|one| one.id == *job)?;
                job.release = job.release.min(release - minutes);
            }
        }
        Some(problem)
    }
}

/// The minutes that a window grows by.
fn added(side: Side, at: i64, minutes: i64) -> Span {
    match side {
        Side::Before => Span { start: at - minutes, end: at },
        Side::After => Span { start: at, end: at + minutes },
    }
}

fn touches(window: Span, more: Span) -> bool {
    window.start <= more.end && more.start <= window.end
}

/// Opens a calendar for a span; windows that it touches become one with it.
fn open(calendar: &mut Calendar, more: Span) {
    let (joined, mut apart): (Vec<Span>, Vec<Span>) =
        calendar.open.iter().partition(|window| touches(**window, more));
    let start = joined.iter().map(|window| window.start).fold(more.start, i64::min);
    let end = joined.iter().map(|window| window.end).fold(more.end, i64::max);
    apart.push(Span { start, end });
    calendar.open = ordered(apart);
}

/// Adds a resource that serves wherever `like` does.
fn one_more(problem: &mut Problem, like: &str) -> Option<()> {
    let known = problem.resources.iter().position(|one| one.id == like)?;
    let fresh = (2_u32..).map(|number| format!("{like} ({number})"));
    let id = fresh.into_iter().find(|id| problem.resources.iter().all(|one| one.id != *id))?;
    let more = problem.resources.len();
    problem.resources.push(Calendar { id, open: problem.resources[known].open.clone() });
    let options = problem.jobs.iter_mut().flat_map(|job| &mut job.steps);
    for group in options.flat_map(|step| &mut step.options).flat_map(|option| &mut option.needs) {
        if group.contains(&known) {
            group.push(more);
        }
    }
    Some(())
}
