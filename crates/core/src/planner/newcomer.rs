//! Room for one job more in a plan of the others: as they stand, with others moved but none worse off,
//! or at the price of some.
//!
//! The others are planned first, without the newcomer. Each question then names the minute by which the
//! newcomer has to be finished. Effort is counted in epochs; that a search found nothing proves nothing,
//! but for a newcomer that has no way even alone.

use super::board::{Board, Standing};
use super::bound;
use super::insertion::Query;
use super::placement::Placement;
use super::plan::{Plan, PlanStatus};
use super::problem::Problem;
use super::ruin::{self, Search};
use super::schedule::{settle, starts};
use super::seeded::Seeded;
use super::shop::Shop;
use super::squeeze::{self, Tails, finish_of, make_room, put_in, strict};
use std::collections::BTreeMap;

/// How hard to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// The seed of all random choices.
    pub seed: u64,
    /// Epochs of search for the plan of the others.
    pub plan_epochs: u64,
    /// Epochs of search for each question.
    pub question_epochs: u64,
}

/// Why the others could not be planned.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("no plan was found for the jobs that must be planned: {}", jobs.join(", "))]
pub struct NoRoom {
    /// The jobs that must be planned and found no room.
    pub jobs: Vec<String>,
}

/// Minutes after a step's end that go by before its job counts as finished, by job and step.
pub type AfterWork = BTreeMap<(String, String), i64>;

/// A plan with the newcomer in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Room {
    /// The plan.
    pub plan: Plan,
    /// When the newcomer is finished, what comes after its steps included.
    pub finish: i64,
    /// By how much the others cost more than without it.
    pub price: i64,
}

/// A newcomer and the plan of the others.
#[derive(Debug)]
pub struct Newcomer<'p> {
    problem: &'p Problem,
    job: usize,
    tails: Tails,
    /// How the others stand without it; the newcomer is missing.
    standing: Vec<Standing>,
    least: Vec<i64>,
    cost: i64,
    effort: Effort,
}

impl<'p> Newcomer<'p> {
    /// Plans the other jobs of a problem; none where it has no job of that id.
    ///
    /// # Errors
    /// [`NoRoom`] when no plan was found for those that must be planned.
    pub fn new(
        problem: &'p Problem,
        job: &str,
        after_work: &AfterWork,
        effort: Effort,
    ) -> Option<Result<Self, NoRoom>> {
        let job = problem.jobs.iter().position(|one| one.id == job)?;
        Some(Self::among_others(problem, job, after_work, effort))
    }

    fn among_others(
        problem: &'p Problem,
        job: usize,
        after_work: &AfterWork,
        effort: Effort,
    ) -> Result<Self, NoRoom> {
        let mut others = problem.clone();
        others.jobs.remove(job);
        let (mut standing, mut least) = planned(&others, effort)?;
        let shop = Shop::new(&others);
        let cost = Board::with(&shop, &standing).true_worth().cost;
        standing.insert(job, Standing::Missing);
        least.insert(job, 0);
        let tail = |job: &super::problem::Job, step: &super::problem::Step| {
            after_work.get(&(job.id.clone(), step.id.clone())).copied().unwrap_or(0)
        };
        let tails = problem.jobs.iter().map(|job| {
            let steps = job.steps.iter().map(|step| tail(job, step));
            steps.collect()
        });
        Ok(Self { problem, job, tails: tails.collect(), standing, least, cost, effort })
    }

    /// The plan of the others; the newcomer stands as left out.
    pub fn without(&self) -> Plan {
        let shop = Shop::new(self.problem);
        let mut plan =
            Plan::new(PlanStatus::Feasible, Board::with(&shop, &self.standing).planned_jobs());
        plan.cost = Some(self.cost);
        plan
    }

    /// When the newcomer would be finished if no other job were there, fixed steps apart, in the way that
    /// ends its last step first; none where it has no way.
    pub fn alone(&self) -> Option<i64> {
        squeeze::earliest_alone(self.problem, self.job).map(|placement| self.finish(&placement))
    }

    /// Room among the others as they stand, by a minute where one is given.
    pub fn as_they_stand(&self, by: Option<i64>) -> Option<Room> {
        let strict = strict(self.problem, &self.standing, &self.tails, (self.job, by));
        let shop = Shop::new(&strict);
        let mut board = Board::with(&shop, &self.standing);
        put_in(&mut board, self.job).then(|| board.standing().to_vec()).and_then(|f| self.room(&f))
    }

    /// Room by a minute with others moved, none of them past its promise or, where it is late, later.
    pub fn keeping_promises(&self, by: i64) -> Option<Room> {
        if let Some(room) = self.as_they_stand(Some(by)) {
            return Some(room);
        }
        let strict = strict(self.problem, &self.standing, &self.tails, (self.job, Some(by)));
        let shop = Shop::new(&strict);
        if !squeeze::has_way(&Board::new(&shop), self.job) {
            return None;
        }
        let board = Board::with(&shop, &self.standing);
        let least = vec![0; self.least.len()];
        let effort = (self.effort.seed, self.effort.question_epochs);
        self.room(&make_room(board, &least, effort)?)
    }

    /// Room by a minute at the least price found: others may be late, none may drop out.
    pub fn at_any_price(&self, by: i64) -> Option<Room> {
        let mut strict = self.problem.clone();
        for (job, standing) in strict.jobs.iter_mut().zip(&self.standing) {
            if *standing != Standing::LeftOut {
                job.leave_out_cost = None;
            }
        }
        let own = &mut strict.jobs[self.job];
        squeeze::set_deadline(own, by, &self.tails[self.job], self.problem.now);
        let shop = Shop::new(&strict);
        let board = self.pushed_in(&shop)?;
        let mut search = Search::new(board, &self.least, Seeded::new(self.effort.seed, 0));
        for _ in 0..self.effort.question_epochs {
            search.epoch();
        }
        let (worth, standing) = search.best();
        if worth.missing == 0 { self.room(standing) } else { None }
    }

    /// The newcomer where it likes best; the others as they stand where there is room for that still,
    /// the rest wherever they cost least.
    fn pushed_in<'s>(&self, shop: &'s Shop<'s>) -> Option<Board<'s>> {
        let mut board = Board::new(shop);
        let fixed = |job: &usize| shop.problem.jobs[*job].has_fixed();
        let others = (0..self.standing.len()).filter(|job| *job != self.job);
        let (first, mut then): (Vec<usize>, Vec<usize>) = others.partition(fixed);
        for job in first {
            board.put(job, self.standing[job].clone());
        }
        if !put_in(&mut board, self.job) {
            return None;
        }
        then.sort_by_key(|job| match &self.standing[*job] {
            Standing::Placed(placement) => placement.finish,
            Standing::LeftOut | Standing::Missing => i64::MAX,
        });
        let mut pushed = Vec::new();
        for job in then {
            match &self.standing[job] {
                Standing::Placed(placement) if !board.has_room(job, placement) => pushed.push(job),
                standing => board.put(job, standing.clone()),
            }
        }
        for job in pushed {
            settle(&mut board, Query::plain(shop, job));
        }
        Some(board)
    }

    fn finish(&self, placement: &Placement) -> i64 {
        finish_of(placement, &self.tails[self.job])
    }

    fn room(&self, standing: &[Standing]) -> Option<Room> {
        let Standing::Placed(placement) = &standing[self.job] else { return None };
        let shop = Shop::new(self.problem);
        let board = Board::with(&shop, standing);
        let own = board.job_cost(self.job);
        let cost = board.true_worth().cost;
        let mut plan = Plan::new(PlanStatus::Feasible, board.planned_jobs());
        plan.cost = Some(cost);
        plan.seed = self.effort.seed;
        Some(Room { plan, finish: self.finish(placement), price: cost - own - self.cost })
    }
}

/// A plan of a problem after a short search, and the least that each job can cost.
fn planned(problem: &Problem, effort: Effort) -> Result<(Vec<Standing>, Vec<i64>), NoRoom> {
    let named = |jobs: Vec<usize>| NoRoom {
        jobs: jobs.into_iter().map(|job| problem.jobs[job].id.clone()).collect(),
    };
    let alone = bound::alone(problem, 1);
    if !alone.impossible.is_empty() {
        return Err(named(alone.impossible));
    }
    let shop = Shop::new(problem);
    let begin = starts(&shop);
    let mut workers = ruin::workers(&begin, &alone.least, &[], effort.seed, 1);
    for _ in 0..effort.plan_epochs {
        ruin::epoch(&mut workers);
    }
    let (worth, standing) = workers[0].best();
    if worth.missing > 0 {
        let missing = (0..standing.len()).filter(|job| standing[*job] == Standing::Missing);
        return Err(named(missing.collect()));
    }
    Ok((standing.to_vec(), alone.least))
}

#[cfg(test)]
mod tests;
