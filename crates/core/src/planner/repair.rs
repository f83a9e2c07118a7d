//! The previous plan repaired by right shift: every step keeps its option, its resources and its turn on them, and
//! starts as it did or, where that is no longer possible, as soon after as it can.
//!
//! Jobs without a previous place (new ones, or where an option is gone) come before all others or
//! after them; a job that finds no room by shifting is put where it costs least in the end.
//! Source: right-shift rescheduling as in Abumaizar and Svestka, "Rescheduling job shops under random
//! disruptions", International J. of Production Research 35 (1997).

mod shift;

use super::board::{Board, Standing};
use super::insertion::{self, Query};
use super::placement::Placement;
use super::plan::{Plan, PlanStatus};
use super::problem::{Job, Problem, Step};
use super::schedule::{Rule, settle};
use super::shop::Shop;
use shift::shifted;

/// How a repair goes about it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Manner {
    /// Whether jobs without a previous place are put on the board before the others are shifted.
    pub(super) new_first: bool,
    /// Whether a step may be done with other resources where that is sooner.
    pub(super) any_resources: bool,
    /// Whether a step may slip in before one whose turn was sooner, where that one does not need the time.
    pub(super) gaps: bool,
}

/// All manners; the first is right shift as published.
pub(super) const MANNERS: [Manner; 5] = [
    Manner { new_first: false, any_resources: false, gaps: false },
    Manner { new_first: false, any_resources: false, gaps: true },
    Manner { new_first: true, any_resources: false, gaps: true },
    Manner { new_first: false, any_resources: true, gaps: true },
    Manner { new_first: true, any_resources: true, gaps: true },
];

/// Repairs the previous plan by right shift as published, new jobs after all others.
///
/// Nothing is searched: it is the measure of what a re-plan has to reach at least. None where a job that must be
/// planned finds no room.
pub fn right_shift(problem: &Problem) -> Option<Plan> {
    let shop = Shop::new(problem);
    let board = repair(&shop, MANNERS[0]);
    let worth = board.worth();
    if worth.missing > 0 {
        return None;
    }
    let mut plan = Plan::new(PlanStatus::Feasible, board.planned_jobs());
    plan.cost = Some(worth.cost);
    Some(plan)
}

/// Whether every step of a job that is not fixed stood in the previous plan in a way that is still there.
fn stood(job: &Job) -> bool {
    job.steps.iter().all(|step| {
        step.is_fixed()
            || step.previous.as_ref().is_some_and(|was| {
                let needs = was.option.map_or(&[][..], |option| &step.options[option].needs);
                was.known_uses.as_ref().filter(|_| was.option.is_some()).is_some_and(|uses| {
                    uses.len() == needs.len()
                        && uses.iter().zip(needs).all(|(used, group)| group.contains(used))
                })
            })
    })
}

/// How a job that is off the board stood in the previous plan; none where it did not stand whole, or no longer may.
pub(super) fn as_before(board: &Board<'_>, job: usize) -> Option<Placement> {
    let spec = &board.shop.problem.jobs[job];
    if !stood(spec) || spec.steps.iter().all(Step::is_fixed) {
        return None;
    }
    let query = Query { as_before: true, ..Query::plain(board.shop, job) };
    insertion::find(board, query).best.map(|(_, placement)| placement)
}

/// Repairs the previous plan.
pub(super) fn repair<'s>(shop: &'s Shop<'s>, manner: Manner) -> Board<'s> {
    let problem = shop.problem;
    let order = Rule::Previous.order(shop);
    let (moving, new): (Vec<usize>, Vec<usize>) =
        order.into_iter().partition(|job| stood(&problem.jobs[*job]));
    let mut board = Board::new(shop);
    if manner.new_first {
        for job in &new {
            settle(&mut board, Query::plain(shop, *job));
        }
    }
    let mut steps = shifted(&board, &moving, manner);
    // What was shifted stands in for the previous plan, so that the search for a job's way judges it.
    let mut shadow = problem.clone();
    for (job, steps) in moving.iter().zip(&mut steps) {
        let spec = &mut shadow.jobs[*job];
        for placed in steps.iter_mut().flatten() {
            if let Some(was) = &mut spec.steps[placed.step].previous {
                was.start = placed.start;
                was.known_uses = Some(std::mem::take(&mut placed.uses));
            }
        }
    }
    let shadow_shop = Shop::new(&shadow);
    let mut shadow_board = Board::with(&shadow_shop, board.standing());
    for (job, steps) in moving.iter().zip(&steps) {
        if steps.is_none() {
            continue;
        }
        let query = Query { as_before: true, ..Query::plain(&shadow_shop, *job) };
        if let Some((_, placement)) = insertion::find(&shadow_board, query).best {
            let real = Placement::new(problem.cost, &problem.jobs[*job], placement.steps.clone());
            shadow_board.put(*job, Standing::Placed(placement));
            board.put(*job, Standing::Placed(real));
        }
    }
    settle_missing(&mut board, problem);
    board
}

/// Puts the jobs that are missing where they cost least, those that must be planned first, then the dearest.
fn settle_missing(board: &mut Board<'_>, problem: &Problem) {
    let missing = |job: &usize| board.standing()[*job] == Standing::Missing;
    let mut left: Vec<usize> = (0..problem.jobs.len()).filter(missing).collect();
    left.sort_by_key(|job| {
        let spec = &problem.jobs[*job];
        (spec.may_be_left_out(), !spec.has_fixed(), std::cmp::Reverse(spec.weight))
    });
    for job in left {
        settle(board, Query::plain(board.shop, job));
    }
}

#[cfg(test)]
mod tests;
