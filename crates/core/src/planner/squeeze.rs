//! Finds room for one job more among others that must not suffer, for a fixed effort.
//!
//! Deadlines are written into the problem as start windows: with one, a step starts no later than
//! lets it end in time. Every other job that stands has to stand again, by its promise or, where it is
//! late, by its finish of now. So any plan in which no job is missing is an answer, and the search, which
//! first of all seeks room for missing jobs, needs no other guide.

use super::board::{Board, Standing};
use super::insertion::{self, Query};
use super::placement::Placement;
use super::problem::{Job, Problem};
use super::ruin::Search;
use super::seeded::Seeded;
use super::span::Span;

/// Per job and step, minutes after the step's end that go by before the job counts as finished.
pub(super) type Tails = Vec<Vec<i64>>;

/// No step has such minutes.
pub(super) fn no_tails(problem: &Problem) -> Tails {
    problem.jobs.iter().map(|job| vec![0; job.steps.len()]).collect()
}

/// When a job counts as finished.
pub(super) fn finish_of(placement: &Placement, tails: &[i64]) -> i64 {
    let ends = placement.steps.iter().map(|placed| placed.end + tails[placed.step]);
    ends.max().unwrap_or(0)
}

/// The problem with a deadline for one job, where it has one, and for every other that stands.
pub(super) fn strict(
    problem: &Problem,
    standing: &[Standing],
    tails: &Tails,
    (job, by): (usize, Option<i64>),
) -> Problem {
    let mut strict = problem.clone();
    for (index, spec) in strict.jobs.iter_mut().enumerate() {
        let by = match &standing[index] {
            _ if index == job => by,
            Standing::Placed(placement) => {
                spec.due.map(|due| due.max(finish_of(placement, &tails[index])))
            }
            Standing::LeftOut | Standing::Missing => continue,
        };
        spec.leave_out_cost = None;
        if let Some(by) = by {
            set_deadline(spec, by, &tails[index], problem.now);
        }
    }
    strict
}

/// Lets every step that is not fixed start only so that it ends by `by`, and what comes after it too;
/// none starts before `now` anyway.
pub(super) fn set_deadline(job: &mut Job, by: i64, tails: &[i64], now: i64) {
    for (step, tail) in job.steps.iter_mut().zip(tails).filter(|(step, _)| !step.is_fixed()) {
        for option in &mut step.options {
            let last = by - tail - option.minutes + 1;
            let starts =
                option.starts.take().unwrap_or_else(|| vec![Span { start: now, end: last }]);
            let cut = starts.into_iter().map(|span| Span { end: span.end.min(last), ..span });
            option.starts = Some(cut.filter(|span| span.start < span.end).collect());
        }
    }
}

/// Whether a job, which is off the board, has a way onto it; where the search for it was cut short, it
/// may have.
pub(super) fn has_way(board: &Board<'_>, job: usize) -> bool {
    let found = insertion::find(board, Query::plain(board.shop, job));
    found.best.is_some() || !found.proved
}

/// Puts a job, which is off the board of a [`strict`] problem, where it costs least among the others as
/// they stand.
pub(super) fn put_in(board: &mut Board<'_>, job: usize) -> bool {
    let found = insertion::find(board, Query::plain(board.shop, job));
    let Some((_, placement)) = found.best else { return false };
    board.put(job, Standing::Placed(placement));
    true
}

/// Seeks room for the missing jobs of a board by moving others; once there is room, one epoch more
/// makes it cheap.
pub(super) fn make_room(
    board: Board<'_>,
    least: &[i64],
    (seed, epochs): (u64, u64),
) -> Option<Vec<Standing>> {
    let mut search = Search::new(board, least, Seeded::new(seed, 0));
    for _ in 0..epochs {
        search.epoch();
        if search.best().0.missing == 0 {
            search.epoch();
            return Some(search.best().1.to_vec());
        }
    }
    None
}
