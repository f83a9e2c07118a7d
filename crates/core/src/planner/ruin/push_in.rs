//! Lets one job have the place it would like best among a few, and moves who stands in its way.
//!
//! Some of its rivals are taken to be absent while the job is put where it costs least; those that still have
//! room stand again as they did, the others are pushed on, and may in turn push others, a
//! bounded number of times. So jobs that wait for each other move together.
//!
//! Source: ejection chains, after Glover, "Ejection chains, reference structures and alternating path
//! methods for traveling salesman problems", Discrete Applied Mathematics 65 (1996).

use super::{Lifted, Search};
use crate::planner::board::{Standing, Worth};
use crate::planner::insertion::Query;
use crate::planner::limits::OPTIONS_MAX;
use crate::planner::schedule::settle;

/// The most jobs that may push others in one move.
const PUSHES_MAX: usize = 5;

impl Search<'_> {
    /// Tries one such move; the board is as before when the plan would be worth less than `limit`.
    pub(super) fn push_in(&mut self, limit: Worth) -> Option<Worth> {
        let first = self.choose_first();
        let pushes = 1 + self.random.below(PUSHES_MAX);
        let mut lifted = Lifted::default();
        // Per job off the board, from when to when its rivals are looked for.
        let mut waiting = vec![(first, self.window(first))];
        lifted.take(&mut self.board, first);
        let mut done = 0;
        let mut off: i64 = self.least[first];
        while let Some((job, window)) = waiting.pop() {
            let absent =
                if done < pushes { self.take_rivals(job, window, &mut lifted) } else { Vec::new() };
            off -= self.least[job];
            let away: i64 = absent.iter().map(|(other, _)| self.least[*other]).sum();
            done += 1;
            if !self.put_one(job, limit, off + away, waiting.len() + absent.len()) {
                lifted.undo(&mut self.board);
                return None;
            }
            for (other, window) in absent {
                if !lifted.put_back(&mut self.board, other) {
                    off += self.least[other];
                    waiting.push((other, window));
                }
            }
            // The dearest next: it pushes the others rather than being pushed.
            if self.random.below(2) == 0 {
                let problem = self.board.shop.problem;
                waiting.sort_by_key(|(job, _)| problem.jobs[*job].weight);
            }
        }
        let worth = self.board.worth();
        if worth <= limit {
            return Some(worth);
        }
        lifted.undo(&mut self.board);
        None
    }

    /// Takes some rivals of a job off the board that were not moved yet, in random order.
    fn take_rivals(
        &mut self,
        job: usize,
        window: (i64, i64),
        lifted: &mut Lifted,
    ) -> Vec<(usize, (i64, i64))> {
        let mut rivals = self.rivals(job, window);
        rivals.retain(|other| !lifted.was_moved(*other));
        self.random.shuffle(&mut rivals);
        let most = 1 + self.random.below(12);
        rivals.truncate(most);
        let mut absent = Vec::with_capacity(rivals.len());
        for other in rivals {
            absent.push((other, self.window(other)));
            lifted.take(&mut self.board, other);
        }
        absent
    }

    /// Puts one job while others that cost at least `off` are off the board; says whether the
    /// plan can still be worth enough.
    fn put_one(&mut self, job: usize, limit: Worth, off: i64, others: usize) -> bool {
        let base = self.board.worth();
        let missing = base.missing.saturating_sub(others + 1);
        let below = if missing < limit.missing {
            i64::MAX
        } else {
            limit.cost.saturating_sub(base.cost.saturating_add(off)).saturating_add(1)
        };
        let blink = if self.random.below(3) == 0 { self.blink(job) } else { None };
        let turn = self.random.below(OPTIONS_MAX);
        let rank = &self.rank;
        let query = Query { job, below, as_before: false, rank, turn, hasty: true, blink };
        settle(&mut self.board, query).is_some() || missing < limit.missing
    }
}

impl Lifted {
    /// Whether a job was moved for good in this move.
    pub(super) fn was_moved(&self, job: usize) -> bool {
        self.jobs.iter().any(|(other, was)| *other == job && was.is_some())
    }

    /// Puts a job back as it stood, where it still has room.
    fn put_back(&mut self, board: &mut crate::planner::board::Board<'_>, job: usize) -> bool {
        let Some(entry) = self.jobs.iter_mut().find(|(other, _)| *other == job) else {
            return false;
        };
        match &entry.1 {
            Some(Standing::Placed(placement)) if board.has_room(job, placement) => {
                if let Some(standing) = entry.1.take() {
                    board.put(job, standing);
                }
                true
            }
            // One that was left out tries to find room instead.
            Some(Standing::Placed(_) | Standing::LeftOut | Standing::Missing) | None => false,
        }
    }
}
