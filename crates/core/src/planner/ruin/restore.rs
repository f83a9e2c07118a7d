//! Lets a job stand again as in the previous plan and moves who is in its way: back to where they stood
//! too, or to where they cost least. So jobs that have changed places with each other change back
//! together, which putting them back one by one cannot do.
//!
//! Where a file's previous placements are in each other's way, one that has gone back is not moved again, so such a
//! chain ends. Source: ejection chains, as in `push_in`.

use super::{Lifted, Search};
use crate::planner::board::{Board, Standing, Worth};
use crate::planner::insertion::Query;
use crate::planner::placement::Placement;
use crate::planner::schedule::settle;
use crate::planner::span::Span;

/// The most jobs that one such move takes off the board.
const LIFTED_MAX: usize = 24;

/// How a chain treats who is in the way.
#[derive(Debug, Clone, Copy)]
pub(in crate::planner) struct Chain<'c> {
    /// Per job, how it stood in the previous plan, where it still may.
    pub(in crate::planner) previous: &'c [Option<Placement>],
    /// One bit per job, counted modulo 64: it goes back too where set, otherwise to where it costs least.
    pub(in crate::planner) back: u64,
    pub(in crate::planner) rank: &'c [u32],
    pub(in crate::planner) turn: usize,
}

impl Chain<'_> {
    /// Lets `first` stand as before; nothing has happened where there is no such plan worth `limit` or better.
    pub(in crate::planner) fn restore(
        self,
        board: &mut Board<'_>,
        first: usize,
        limit: Worth,
    ) -> Option<Worth> {
        let mut lifted = Lifted::default();
        if self.run(board, first, limit, &mut lifted).is_some() {
            let worth = board.worth();
            if worth <= limit {
                return Some(worth);
            }
        }
        lifted.undo(board);
        None
    }

    fn run(
        self,
        board: &mut Board<'_>,
        first: usize,
        limit: Worth,
        lifted: &mut Lifted,
    ) -> Option<()> {
        lifted.take(board, first);
        let (mut back, mut elsewhere) = (vec![first], Vec::new());
        while let Some(job) = back.pop() {
            let was = self.previous[job].as_ref()?;
            for other in in_the_way(board, job, was) {
                if lifted.jobs.len() >= LIFTED_MAX
                    || lifted.jobs.iter().any(|(was, _)| *was == other)
                {
                    return None;
                }
                lifted.take(board, other);
                if self.previous[other].is_some() && self.back >> (other % 64) & 1 == 1 {
                    back.push(other);
                } else {
                    elsewhere.push(other);
                }
            }
            if !board.has_room(job, was) {
                return None;
            }
            board.put(job, Standing::Placed(was.clone()));
        }
        let problem = board.shop.problem;
        elsewhere.sort_by_key(|job| std::cmp::Reverse(problem.jobs[*job].weight));
        for job in elsewhere {
            // As before where there is room now, even though that was not asked for.
            if let Some(was) = self.previous[job].as_ref().filter(|was| board.has_room(job, was)) {
                board.put(job, Standing::Placed(was.clone()));
                continue;
            }
            let below = limit.cost.saturating_sub(board.worth().cost).saturating_add(1);
            let plain = Query::plain(board.shop, job);
            settle(board, Query { below, rank: self.rank, turn: self.turn, ..plain })?;
        }
        Some(())
    }
}

/// The jobs, that one apart, that take a place or a resource which a job standing so would take.
pub(super) fn in_the_way(board: &Board<'_>, job: usize, placement: &Placement) -> Vec<usize> {
    let shop = board.shop;
    let spec = &shop.problem.jobs[job];
    let mut found: Vec<usize> = Vec::new();
    for placed in placement.steps.iter().filter(|placed| !spec.steps[placed.step].is_fixed()) {
        let span = Span { start: placed.start, end: placed.end };
        for (other, standing) in board.standing().iter().enumerate() {
            let Standing::Placed(standing) = standing else { continue };
            let meets = standing.steps.iter().any(|other| {
                span.overlaps(Span { start: other.start, end: other.end })
                    && placed.uses.iter().any(|used| other.uses.contains(used))
            });
            if meets {
                found.push(other);
            }
        }
    }
    for hold in placement.holds(spec).filter(|hold| !hold.fixed) {
        let taken = board.blocked[hold.place].iter();
        let others = taken.filter(|taken| taken.job != job && taken.span.overlaps(hold.span));
        found.extend(others.map(|taken| taken.job));
    }
    found.sort_unstable();
    found.dedup();
    // Off the board already: only its fixed steps are in the way, and they stay.
    found.retain(|other| board.standing()[*other] != Standing::Missing);
    found
}

/// Whether a job stands otherwise than in the previous plan, though it could stand so in an empty shop.
pub(in crate::planner) fn strays(standing: &Standing, previous: Option<&Placement>) -> bool {
    previous.is_some_and(|was| match standing {
        Standing::Placed(now) => now.steps != was.steps,
        Standing::LeftOut | Standing::Missing => true,
    })
}

impl Search<'_> {
    /// The jobs that stand otherwise than in the previous plan.
    pub(super) fn stray(&self) -> Vec<usize> {
        let jobs = self.board.standing().iter().zip(self.previous).enumerate();
        let stray = jobs.filter(|(_, (standing, was))| strays(standing, was.as_ref()));
        stray.map(|(job, _)| job).collect()
    }

    /// Tries to let one job, drawn from those that stand otherwise, stand again as before.
    pub(super) fn restore(&mut self, limit: Worth) -> Option<Worth> {
        let stray = self.stray();
        let first = *stray.get(self.random.below(stray.len()))?;
        let back = match self.random.below(4) {
            0 => u64::MAX,
            1 => 0,
            _ => self.random.next(),
        };
        let turn = self.random.below(crate::planner::limits::OPTIONS_MAX);
        let chain = Chain { previous: self.previous, back, rank: &self.rank, turn };
        chain.restore(&mut self.board, first, limit)
    }
}

#[cfg(test)]
mod tests;
