//! The anytime loop of a special search: epochs on every worker, then, once nothing better comes up, the
//! same proofs as for any other problem.

use super::machines::{Machines, Worker};
use super::single::{Single, Walk};
use crate::planner::board::{Board, Standing, Worth};
use crate::planner::bound::Alone;
use crate::planner::bound::certificate::Certificate;
use crate::planner::bound::proof::{Proof, SMALL_JOBS};
use crate::planner::plan::{Plan, PlanStatus};
use crate::planner::problem::Problem;
use crate::planner::seeded::Seeded;
use crate::planner::shop::Shop;
use crate::planner::solve::{EpochReport, SolveOptions};

/// The exact search for any problem closes fewer steps than these at once.
const STEPS_MIN: usize = 12;

/// A special search under way, on each worker.
enum Search {
    Single(Single, Vec<Walk>),
    Machines(Machines, Vec<Worker>),
}

impl Search {
    fn of(problem: &Problem, options: SolveOptions) -> Option<Self> {
        let steps: usize = problem.jobs.iter().map(|job| job.steps.len()).sum();
        if steps < STEPS_MIN {
            return None;
        }
        let seeds = (0..u64::from(options.threads)).map(|at| Seeded::new(options.seed, at));
        if let Some(single) = Single::of(problem) {
            let walks = seeds.map(|random| Walk::new(&single, random)).collect();
            return Some(Self::Single(single, walks));
        }
        let shop = Machines::of(problem)?;
        let searches: Option<Vec<Worker>> =
            seeds.map(|random| Worker::new(&shop, random)).collect();
        Some(Self::Machines(shop, searches?))
    }

    /// One epoch on every worker; each goes its own way, so that more of them never end with less.
    fn epoch(&mut self, bound: i64) {
        match self {
            Self::Single(single, walks) => {
                let bound = bound.saturating_sub(single.last_finish);
                on_each(walks, |walk| walk.epoch(single, bound));
            }
            Self::Machines(shop, searches) => on_each(searches, |worker| worker.epoch(shop, bound)),
        }
    }

    /// What the structure proves.
    fn bound(&self, problem: &Problem, alone: &Alone) -> i64 {
        match self {
            Self::Single(..) => alone.bound,
            Self::Machines(shop, _) => {
                let more = (shop.last_finish() - alone.last).max(0);
                alone.bound + problem.cost.makespan * more
            }
        }
    }

    /// What proves a bound, where the jobs alone or the structure do.
    fn certificate(&self, problem: &Problem, alone: &Alone, bound: i64) -> Option<Certificate> {
        if bound <= alone.bound {
            return Some(Certificate::without_prices(bound, None));
        }
        match self {
            Self::Machines(shop, _) if bound <= self.bound(problem, alone) => {
                let work = shop.busiest(problem, shop.last_finish())?;
                Some(Certificate::without_prices(bound, Some(work)))
            }
            Self::Machines(..) | Self::Single(..) => None,
        }
    }

    fn is_settled(&self) -> bool {
        match self {
            Self::Single(_, walks) => walks.iter().all(Walk::is_settled),
            Self::Machines(_, searches) => searches.iter().all(Worker::is_settled),
        }
    }

    /// How all jobs stand in the best plan of all workers; of equal ones the first worker's.
    fn best(&self, problem: &Problem) -> Vec<Standing> {
        match self {
            Self::Single(single, walks) => {
                let best = walks.iter().map(Walk::best).min_by_key(|(cost, _)| *cost);
                best.map_or_else(Vec::new, |(_, order)| single.standing(problem, order))
            }
            Self::Machines(shop, searches) => {
                let best = searches.iter().min_by_key(|worker| worker.cost());
                best.map_or_else(Vec::new, |worker| shop.standing(problem, &worker.best()))
            }
        }
    }
}

fn on_each<W: Send>(workers: &mut [W], epoch: impl Fn(&mut W) + Sync) {
    if let [only] = workers {
        epoch(only);
        return;
    }
    std::thread::scope(|scope| {
        for worker in workers {
            scope.spawn(|| epoch(worker));
        }
    });
}

/// Plans a problem of a special structure; none where it has none that is known.
pub(in crate::planner) fn plan_specially(
    problem: &Problem,
    options: SolveOptions,
    alone: &Alone,
    stop: &mut dyn FnMut(&EpochReport) -> bool,
) -> Option<Plan> {
    let mut search = Search::of(problem, options)?;
    let shop = Shop::new(problem);
    let mut proof: Option<Proof<'_>> = None;
    let mut bound = alone.bound.max(search.bound(problem, alone));
    let mut epochs = 0;
    let mut standing = search.best(problem);
    let mut worth = Board::with(&shop, &standing).worth();
    loop {
        let report = EpochReport { epochs, missing: worth.missing, cost: worth.cost, bound };
        let done = options.epochs.is_some_and(|most| epochs >= most);
        if worth.cost <= bound || done || stop(&report) {
            break;
        }
        search.epoch(bound);
        epochs += 1;
        keep_better(&shop, search.best(problem), &mut worth, &mut standing);
        if search.is_settled() {
            let proof = proof.get_or_insert_with(|| Proof::new(&shop, alone));
            if let Some((_, found)) = proof.epoch(worth) {
                keep_better(&shop, found, &mut worth, &mut standing);
            }
            bound = bound.max(proof.bound());
        }
    }
    let status = if worth.cost <= bound { PlanStatus::ProvedBest } else { PlanStatus::Feasible };
    let mut plan = Plan::new(status, Board::with(&shop, &standing).planned_jobs());
    plan.cost = Some(worth.cost);
    plan.bound = Some(bound);
    plan.certificate = search.certificate(problem, alone, bound).or_else(|| {
        let few = problem.jobs.len() <= SMALL_JOBS;
        let proof = proof.or_else(|| few.then(|| Proof::new(&shop, alone)));
        proof.and_then(|proof| proof.certificate(bound))
    });
    plan.epochs = epochs;
    Some(plan)
}

fn keep_better(
    shop: &Shop<'_>,
    found: Vec<Standing>,
    worth: &mut Worth,
    standing: &mut Vec<Standing>,
) {
    let other = Board::with(shop, &found).worth();
    if other < *worth {
        *worth = other;
        *standing = found;
    }
}
