//! From a problem to a plan: bound, rules, then epochs of search until told to stop.
//!
//! There is no clock here. The caller is asked between epochs whether to stop; (problem, seed, threads,
//! epochs done) decide the plan byte for byte.

use super::board::{Board, Standing, Worth};
use super::bound;
use super::bound::proof::Proof;
use super::limits::THREADS_MAX;
use super::plan::{Plan, PlanStatus};
use super::polish::polish;
use super::problem::Problem;
use super::ruin;
use super::ruin::finish::finished;
use super::ruin::overtime::LaterShop;
use super::schedule::{Starts, starts};
use super::shop::Shop;
use super::special::plan_specially;

/// Overtime is tried with at least so many jobs.
const OVERTIME_JOBS_MIN: usize = 15;

/// How long and with what seed to search.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SolveOptions {
    /// The seed of all random choices.
    pub seed: u64,
    /// Worker threads, from 1 to [`THREADS_MAX`].
    pub threads: u32,
    /// The most epochs; none leaves the end to the caller's stop condition and the proof.
    pub epochs: Option<u64>,
}

/// How the search stands after an epoch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EpochReport {
    /// Epochs done; 0 when only the rules were tried.
    pub epochs: u64,
    /// Jobs that must be planned and are not yet.
    pub missing: usize,
    /// The best plan's cost; it is a plan only when nothing is missing.
    pub cost: i64,
    /// The proved lower bound.
    pub bound: i64,
}

/// Why there is no plan to give.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SolveError {
    /// The thread count is outside its limits.
    #[error("threads is {0}; it must lie between 1 and {THREADS_MAX}")]
    Threads(u32),
    /// No plan was found in the epochs given; that none exists is not proved.
    #[error("no plan was found in {epochs} epochs for the jobs that must be planned: {}", jobs.join(", "))]
    NoPlanFound {
        /// The jobs that must be planned and found no room.
        jobs: Vec<String>,
        /// The epochs searched.
        epochs: u64,
    },
}

/// Plans a problem. `stop` is asked after the first plans and after each epoch.
///
/// The status is `impossible` only when it is proved: some job that must be planned has no way to
/// stand even when no other job is there, fixed steps apart. Where every job could stand alone but no
/// plan for all was found, that is [`SolveError::NoPlanFound`].
///
/// # Errors
/// [`SolveError`] when an option is out of its limits or no plan was found.
pub fn solve(
    problem: &Problem,
    options: SolveOptions,
    stop: &mut dyn FnMut(&EpochReport) -> bool,
) -> Result<Plan, SolveError> {
    if !(1..=THREADS_MAX).contains(&options.threads) {
        return Err(SolveError::Threads(options.threads));
    }
    let alone = bound::alone(problem, options.threads);
    let stamp = |mut plan: Plan, epochs: u64| {
        plan.seed = options.seed;
        plan.threads = options.threads;
        plan.epochs = epochs;
        plan
    };
    if !alone.impossible.is_empty() {
        let mut plan = Plan::new(PlanStatus::Impossible, Vec::new());
        plan.why = alone.impossible.iter().map(|job| problem.jobs[*job].id.clone()).collect();
        return Ok(stamp(plan, 0));
    }
    if let Some(plan) = plan_specially(problem, options, &alone, stop) {
        let epochs = plan.epochs;
        return Ok(stamp(plan, epochs));
    }
    let shop = Shop::new(problem);
    let starts = starts(&shop);
    // With few jobs a cycle is short, and the exact search does better than overtime.
    let few = problem.jobs.len() < OVERTIME_JOBS_MIN;
    let stretched = if few { Vec::new() } else { ruin::overtime::stretched(problem) };
    let later: Vec<LaterShop<'_>> = stretched.iter().map(LaterShop::new).collect();
    let mut workers = ruin::workers(&starts, &alone.least, &later, options.seed, options.threads);
    let mut proof = Proof::new(&shop, &alone);
    let mut epochs = 0;
    let mut best = 0;
    // The first worker goes its own way always, so that more of them never end with a worse plan than one.
    let mut found: Option<(Worth, Vec<Standing>)> = None;
    loop {
        let worth = least_of(&workers[best], found.as_ref()).0;
        let bound = proof.bound();
        let proved = worth.missing == 0 && worth.cost <= bound;
        let report = EpochReport { epochs, missing: worth.missing, cost: worth.cost, bound };
        if proved || options.epochs.is_some_and(|most| epochs >= most) || stop(&report) {
            break;
        }
        let better;
        (best, better) = epoch(&mut workers, &mut proof, worth);
        epochs += 1;
        if let Some((worth, standing)) = better {
            for worker in workers.iter_mut().skip(1) {
                worker.adopt(worth, &standing);
            }
            found = Some((worth, standing));
        }
        for worker in workers.iter_mut().skip(1) {
            worker.hint(proof.order());
        }
    }
    let (worth, standing) = least_of(&workers[best], found.as_ref());
    if worth.missing > 0 {
        let missing = problem.jobs.iter().zip(standing).filter(|(_, s)| **s == Standing::Missing);
        let jobs = missing.map(|(job, _)| job.id.clone()).collect();
        return Err(SolveError::NoPlanFound { jobs, epochs });
    }
    let mut polished = polished(&shop, &starts, &workers, (worth, standing));
    if !starts.previous.is_empty() && polished.0.cost > proof.bound() {
        let board = Board::with(&shop, &polished.1);
        polished = finished(board, &alone.least, &starts.previous, options.seed, epochs);
    }
    let (worth, board) = (polished.0, Board::with(&shop, &polished.1));
    let bound = proof.bound();
    let status = if worth.cost <= bound { PlanStatus::ProvedBest } else { PlanStatus::Feasible };
    let mut plan = Plan::new(status, board.planned_jobs());
    plan.cost = Some(worth.cost);
    plan.bound = Some(bound);
    plan.certificate = proof.certificate(bound);
    Ok(stamp(plan, epochs))
}

/// One epoch of search and proof, given what the best plan is worth; says which worker's plan is best, and gives a plan
/// that the proof came upon. While the problem is being closed, that takes the place of the last of several workers.
fn epoch(
    workers: &mut [ruin::Search<'_>],
    proof: &mut Proof<'_>,
    worth: Worth,
) -> (usize, Option<(Worth, Vec<Standing>)>) {
    let last = workers.len() - 1;
    if last == 0 || !proof.is_closing() {
        let best = ruin::epoch(workers);
        let worth = worth.min(workers[best].best().0);
        return (best, proof.epoch(worth));
    }
    let better = std::thread::scope(|scope| {
        scope.spawn(|| ruin::epoch(&mut workers[..last]));
        proof.epoch(worth)
    });
    (ruin::best(workers), better)
}

/// The best plan after every worker's best, the best of all and the first one were polished against the previous one: so
/// no search ends dearer than the first answer.
fn polished(
    shop: &Shop<'_>,
    starts: &Starts<'_>,
    workers: &[ruin::Search<'_>],
    best: (Worth, &[Standing]),
) -> (Worth, Vec<Standing>) {
    if starts.previous.is_empty() {
        return (best.0, best.1.to_vec());
    }
    let first = (starts.best.worth(), starts.best.standing());
    let mut plans: Vec<&[Standing]> = Vec::new();
    for (worth, plan) in [best, first].into_iter().chain(workers.iter().map(ruin::Search::best)) {
        // At first they are all the same.
        if worth.missing == 0 && !plans.contains(&plan) {
            plans.push(plan);
        }
    }
    let polished = plans.into_iter().map(|plan| polish(shop, plan, &starts.previous));
    polished.min_by_key(|(worth, _)| *worth).unwrap_or_else(|| (best.0, best.1.to_vec()))
}

/// The better of a worker's best plan and one found by the proof.
fn least_of<'w>(
    worker: &'w ruin::Search<'_>,
    found: Option<&'w (Worth, Vec<Standing>)>,
) -> (Worth, &'w [Standing]) {
    let (worth, standing) = worker.best();
    match found {
        Some((less, found)) if *less < worth => (*less, found),
        Some(_) | None => (worth, standing),
    }
}
