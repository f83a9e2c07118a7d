//! A proved lower bound: every job alone in the shop, with only the fixed steps there.
//!
//! Whatever a plan does with the other jobs, a job costs at least what it costs when they are not
//! there, because they can only take places and resources away. The makespan is bounded the same way
//! by the earliest finish of the jobs that must be planned.

pub(super) mod ascent;
pub(super) mod certificate;
pub(super) mod domain;
pub(super) mod net;
pub(super) mod prices;
pub(super) mod proof;
mod prune;
mod reach;
mod sweep;
pub(super) mod units;

pub(super) use sweep::NEVER;

use super::board::Board;
use super::insertion::{self, Query};
use super::placement::left_out_cost;
use super::problem::Problem;
use super::shop::Shop;
use std::ops::Range;

/// With fewer jobs for each, more threads take longer to start than they save.
const JOBS_PER_THREAD_MIN: usize = 40;

/// What is proved about the jobs one by one.
#[derive(Debug)]
pub(super) struct Alone {
    /// Per job, the least it can cost, the makespan apart.
    pub(super) least: Vec<i64>,
    /// The least cost of any plan.
    pub(super) bound: i64,
    /// The earliest that the last finish can be where it costs, at least 0.
    pub(super) last: i64,
    /// Jobs that must be planned and have no place even alone: no plan keeps every rule.
    pub(super) impossible: Vec<usize>,
}

/// Bounds every job alone, on so many threads.
pub(super) fn alone(problem: &Problem, threads: u32) -> Alone {
    let mut quiet = problem.clone();
    quiet.cost.makespan = 0;
    let (least, impossible) = least_costs(&quiet, threads);
    let mut bound: i64 = least.iter().sum();
    let mut last = 0;
    if problem.cost.makespan > 0 {
        let (finishes, _) = least_costs(&problem.finish_only(), threads);
        let must = |job: &usize| left_out_cost(problem.cost, &problem.jobs[*job]).is_none();
        last = (0..finishes.len()).filter(must).map(|job| finishes[job]).max().unwrap_or(0).max(0);
        bound += problem.cost.makespan * last;
    }
    Alone { least, bound, last, impossible }
}

/// Per job the least cost alone, and the jobs that have no place.
fn least_costs(problem: &Problem, threads: u32) -> (Vec<i64>, Vec<usize>) {
    let shop = Shop::new(problem);
    let shop = &shop;
    let jobs = problem.jobs.len();
    let share = jobs.div_ceil(threads.max(1) as usize).max(JOBS_PER_THREAD_MIN);
    let shares = (0..jobs).step_by(share).map(|from| from..jobs.min(from + share));
    let least: Vec<Option<i64>> = if share >= jobs {
        least_costs_of(shop, 0..jobs)
    } else {
        std::thread::scope(|scope| {
            let running: Vec<_> =
                shares.map(|share| scope.spawn(move || least_costs_of(shop, share))).collect();
            let join = |thread: std::thread::ScopedJoinHandle<'_, Vec<Option<i64>>>| {
                thread.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
            };
            running.into_iter().flat_map(join).collect()
        })
    };
    let impossible = least.iter().enumerate().filter(|(_, least)| least.is_none());
    let impossible = impossible.map(|(job, _)| job).collect();
    (least.into_iter().map(|least| least.unwrap_or(0)).collect(), impossible)
}

/// The least cost alone of some jobs; none for one that has no place.
fn least_costs_of(shop: &Shop<'_>, jobs: Range<usize>) -> Vec<Option<i64>> {
    let problem = shop.problem;
    let board = Board::new(shop);
    let least = jobs.map(|job| {
        let left_out = left_out_cost(problem.cost, &problem.jobs[job]);
        let below = left_out.unwrap_or(super::limits::COST_MAX);
        let found = insertion::find(&board, Query { below, ..Query::plain(shop, job) });
        let impossible = found.best.is_none() && found.proved && left_out.is_none();
        (!impossible).then_some(found.bound)
    });
    least.collect()
}
