//! Builds whole plans from nothing: job after job in the order of a priority rule, each put where it
//! costs least with what already stands.
//!
//! A job that must be planned and finds no room goes to the front, and the plan is built anew, a
//! bounded number of times. The first plan of all keeps the previous one step for step as far as that
//! is still allowed, so that nothing changes without need.

use super::board::{Board, Standing, Worth};
use super::insertion::{self, Query};
use super::placement::{Placement, left_out_cost};
use super::polish::previous_placements;
use super::problem::{Job, Problem};
use super::repair::{MANNERS, repair};
use super::shop::Shop;

/// How often one rule is tried anew with the jobs that found no room at the front.
const REBUILDS_MAX: usize = 6;
/// With more jobs only the rule that did best on such days is tried, so that a first plan is there at once.
const ALL_RULES_JOBS_MAX: usize = 200;

/// In which order jobs are put on the board.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Rule {
    /// As in the previous plan, each step exactly as it stood where that is allowed.
    Keep,
    /// By the previous start.
    Previous,
    /// By the due date.
    Due,
    /// By what a late minute costs, dearest first.
    Weight,
    /// By what leaving it out costs for each minute of work, dearest first.
    Price,
    /// By the time left beyond the work.
    Slack,
    /// By that time shared out over the weight.
    WeightedSlack,
    /// By the release.
    Release,
    /// Most work first.
    Work,
    /// As listed.
    Given,
}

/// All rules, in the order in which they are tried; of equal plans the first stays.
pub(super) const RULES: [Rule; 10] = [
    Rule::Keep,
    Rule::Previous,
    Rule::Due,
    Rule::Weight,
    Rule::Price,
    Rule::Slack,
    Rule::WeightedSlack,
    Rule::Release,
    Rule::Work,
    Rule::Given,
];

impl Rule {
    /// The jobs in this rule's order; those with fixed steps always come first, then those that
    /// must be planned stand before the others only where the rule says so.
    pub(super) fn order(self, shop: &Shop<'_>) -> Vec<usize> {
        let mut order: Vec<usize> = (0..shop.jobs.len()).collect();
        order.sort_by_cached_key(|job| {
            let spec = &shop.problem.jobs[*job];
            (!spec.has_fixed(), self.key(shop.problem, spec, work(shop, *job)))
        });
        order
    }

    fn key(self, problem: &Problem, job: &Job, work: i64) -> i64 {
        let due = job.due.unwrap_or(problem.horizon);
        let release = job.release.max(problem.now);
        let slack = due - release - work;
        match self {
            Self::Keep | Self::Previous => {
                let starts = job.steps.iter().filter_map(|step| step.previous.as_ref());
                starts.map(|was| was.start).min().unwrap_or(i64::MAX)
            }
            Self::Due => due,
            Self::Weight => -job.weight,
            Self::Price => job.leave_out_cost.map_or(i64::MIN, |cost| -(cost / work.max(1))),
            Self::Slack => slack,
            Self::WeightedSlack if slack > 0 => slack / job.weight.max(1),
            Self::WeightedSlack => slack * job.weight.max(1),
            Self::Release => release,
            Self::Work => -work,
            Self::Given => 0,
        }
    }
}

fn work(shop: &Shop<'_>, job: usize) -> i64 {
    shop.jobs[job].least_minutes.iter().sum()
}

/// Puts a job that is off the board where it costs least, or leaves it out, when that costs less
/// than the query's `below` (the makespan's growth included); says what it then costs, none when it is missing.
pub(super) fn settle(board: &mut Board<'_>, query: Query<'_>) -> Option<i64> {
    let Query { job, below, .. } = query;
    let problem = board.shop.problem;
    let left_out = left_out_cost(problem.cost, &problem.jobs[job]).filter(|cost| *cost < below);
    let limit = left_out.map_or(below, |cost| cost + 1);
    if let Some((cost, placement)) = insertion::find_quickly(board, Query { below: limit, ..query })
    {
        board.put(job, Standing::Placed(placement));
        return Some(cost);
    }
    if left_out.is_some() && !query.as_before {
        board.put(job, Standing::LeftOut);
        return left_out;
    }
    None
}

/// Builds a plan by a rule.
pub(super) fn build<'s>(shop: &'s Shop<'s>, rule: Rule) -> Board<'s> {
    let mut order = rule.order(shop);
    let mut best = build_in_order(shop, &order, rule == Rule::Keep);
    for _ in 0..REBUILDS_MAX {
        if best.worth().missing == 0 {
            break;
        }
        let standing = best.standing();
        let homeless = |job: &usize| standing[*job] == Standing::Missing;
        order.sort_by_key(|job| !homeless(job));
        let next = build_in_order(shop, &order, false);
        if next.worth() < best.worth() {
            best = next;
        } else {
            // Another set may be homeless now; put those to the front as well next time.
            let standing = next.standing();
            order.sort_by_key(|job| standing[*job] != Standing::Missing);
        }
    }
    best
}

fn build_in_order<'s>(shop: &'s Shop<'s>, order: &[usize], keep: bool) -> Board<'s> {
    let mut board = Board::new(shop);
    let mut left = order.to_vec();
    if keep {
        let had = |job: usize| {
            shop.problem.jobs[job].steps.iter().all(|s| s.previous.is_some() || s.is_fixed())
        };
        left.retain(|job| {
            !had(*job)
                || settle(&mut board, Query { as_before: true, ..Query::plain(shop, *job) })
                    .is_none()
        });
    }
    for job in left {
        settle(&mut board, Query::plain(shop, job));
    }
    board
}

/// The plans that a search begins with.
pub(super) struct Starts<'s> {
    /// The best of all rules.
    pub(super) best: Board<'s>,
    /// The previous plan, kept as far as it may stand or shifted, where there was one and no job is missing.
    pub(super) kept: Option<Board<'s>>,
    /// Per job, how it stood in the previous plan, where it still may; empty where there was none.
    pub(super) previous: Vec<Option<Placement>>,
}

/// Builds plans by all rules, or with very many jobs by the few that are worth their time.
pub(super) fn starts<'s>(shop: &'s Shop<'s>) -> Starts<'s> {
    let changed = shop.problem.jobs.iter().flat_map(|job| &job.steps).any(|s| s.previous.is_some());
    let many = shop.jobs.len() > ALL_RULES_JOBS_MAX;
    let rules = RULES.into_iter().filter(|rule| match rule {
        Rule::Keep | Rule::Previous => changed,
        Rule::Price => true,
        _ => !many,
    });
    let mut best: Option<(Worth, Board<'s>)> = None;
    let mut kept = None;
    for rule in rules {
        let board = build(shop, rule);
        let worth = board.worth();
        if rule == Rule::Keep && worth.missing == 0 {
            kept = Some(board.clone());
        }
        if best.as_ref().is_none_or(|(least, _)| worth < *least) {
            best = Some((worth, board));
        }
    }
    for manner in MANNERS.into_iter().filter(|_| changed) {
        let board = repair(shop, manner);
        let worth = board.worth();
        if worth.missing > 0 {
            continue;
        }
        if kept.as_ref().is_none_or(|kept: &Board<'_>| worth < kept.worth()) {
            kept = Some(board.clone());
        }
        if best.as_ref().is_none_or(|(least, _)| worth < *least) {
            best = Some((worth, board));
        }
    }
    let best = best.map_or_else(|| Board::new(shop), |(_, board)| board);
    let previous = if changed { previous_placements(shop) } else { Vec::new() };
    Starts { best, kept, previous }
}
