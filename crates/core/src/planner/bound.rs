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

/// Bounds every job alone.
pub(super) fn alone(problem: &Problem) -> Alone {
    let mut quiet = problem.clone();
    quiet.cost.makespan = 0;
    let (least, impossible) = least_costs(&quiet);
    let mut bound: i64 = least.iter().sum();
    let mut last = 0;
    if problem.cost.makespan > 0 {
        let (finishes, _) = least_costs(&problem.finish_only());
        let must = |job: &usize| left_out_cost(problem.cost, &problem.jobs[*job]).is_none();
        last = (0..finishes.len()).filter(must).map(|job| finishes[job]).max().unwrap_or(0).max(0);
        bound += problem.cost.makespan * last;
    }
    Alone { least, bound, last, impossible }
}

/// Per job the least cost alone, and the jobs that have no place.
fn least_costs(problem: &Problem) -> (Vec<i64>, Vec<usize>) {
    let shop = Shop::new(problem);
    let board = Board::new(&shop);
    let mut impossible = Vec::new();
    let mut least = Vec::with_capacity(problem.jobs.len());
    for (job, spec) in problem.jobs.iter().enumerate() {
        let left_out = left_out_cost(problem.cost, spec);
        let below = left_out.unwrap_or(super::limits::COST_MAX);
        let query = Query { below, ..Query::plain(&shop, job) };
        let found = insertion::find(&board, query);
        if found.best.is_none() && found.proved && left_out.is_none() {
            impossible.push(job);
            least.push(0);
        } else {
            least.push(found.bound);
        }
    }
    (least, impossible)
}
