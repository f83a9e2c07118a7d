//! Searches with closing times moved later for a while.
//!
//! Where places or people close for the night, a job that is one minute too long costs a whole night: the cost
//! does not tell a plan that nearly fits from one that does not. With some overtime allowed, lateness tells, and
//! the search packs the day: first whole jobs, then steps on the chains that make jobs late, at last with
//! lateness made dearer. What then still needs overtime is put where it costs least.
//!
//! Source: strategic oscillation around the limit of what is allowed, Glover and Laguna, "Tabu Search" (1997); closing
//! times as the limit that moves, the stages and their lengths are own choices, measured.

use super::Search;
use super::cooling::Cooling;
use crate::planner::board::{Board, Standing, Worth};
use crate::planner::check::worst_cost;
use crate::planner::insertion::Query;
use crate::planner::limits::COST_MAX;
use crate::planner::placement::Placement;
use crate::planner::problem::{Calendar, Job, Problem};
use crate::planner::schedule::settle;
use crate::planner::seeded::Seeded;
use crate::planner::shop::Shop;
use crate::planner::span::{Span, earliest, merged, subtract};
use std::sync::OnceLock;

/// The minutes of overtime.
const OVERTIME: i64 = 60;
/// A closing that lasts at least so many minutes is moved.
const LONG: i64 = 240;
/// How many times dearer lateness is in the last stage.
const DEARER: i64 = 5;
/// The tolerance begins so many halvings higher than without overtime: what is left to gain is less.
const WARMER: u64 = 2;

/// One stage: in which of the stretched problems, by which moves, and its epochs for each job, in eighths.
#[derive(Debug, Clone, Copy)]
struct Stage {
    dearer: bool,
    steps: bool,
    epochs: u64,
}

const STAGES: [Stage; 3] = [
    Stage { dearer: false, steps: false, epochs: 5 },
    Stage { dearer: false, steps: true, epochs: 5 },
    Stage { dearer: true, steps: false, epochs: 10 },
];

/// The problem with overtime, and the same with lateness dearer; nothing where nothing closes for long.
pub(in crate::planner) fn stretched(problem: &Problem) -> Vec<Problem> {
    let mut later = problem.clone();
    let mut closings = Vec::new();
    for calendar in later.places.iter_mut().chain(&mut later.resources) {
        stretch(calendar, &mut closings);
    }
    closings.sort_unstable();
    closings.dedup();
    if closings.is_empty() {
        return Vec::new();
    }
    for job in &mut later.jobs {
        keep_hours(problem, job, &closings);
    }
    let mut dearer = later.clone();
    dearer.cost.lateness *= DEARER;
    let worst = worst_cost(problem.horizon, dearer.cost, &problem.jobs);
    if worst > i128::from(COST_MAX) {
        return vec![later.clone(), later];
    }
    vec![later, dearer]
}

/// A shop with overtime, made ready when it is first asked for.
#[derive(Debug)]
pub(in crate::planner) struct LaterShop<'p> {
    problem: &'p Problem,
    shop: OnceLock<Shop<'p>>,
}

impl<'p> LaterShop<'p> {
    pub(in crate::planner) fn new(problem: &'p Problem) -> Self {
        Self { problem, shop: OnceLock::new() }
    }

    fn shop(&self) -> &Shop<'p> {
        self.shop.get_or_init(|| Shop::new(self.problem))
    }
}

/// Moves long closings of a place or resource later.
fn stretch(calendar: &mut Calendar, closings: &mut Vec<i64>) {
    for at in 1..calendar.open.len() {
        if calendar.open[at].start - calendar.open[at - 1].end >= LONG {
            closings.push(calendar.open[at - 1].end);
            calendar.open[at - 1].end += OVERTIME;
        }
    }
}

/// Bars a job from overtime that would not make it late: it would cost nothing.
fn keep_hours(problem: &Problem, job: &mut Job, closings: &[i64]) {
    let due = job.due.unwrap_or(i64::MAX);
    let free = closings.iter().filter(|closing| due > **closing + OVERTIME);
    let free: Vec<i64> = free.copied().collect();
    if free.is_empty() {
        return;
    }
    let whole = Span { start: job.release.max(problem.now), end: problem.horizon };
    for option in job.steps.iter_mut().flat_map(|step| &mut step.options) {
        let late = free
            .iter()
            .map(|closing| Span { start: closing - option.minutes + 1, end: closing + OVERTIME });
        let barred = merged(late.collect());
        let starts = option.starts.take().unwrap_or_else(|| vec![whole]);
        let mut left = Vec::new();
        subtract(&starts, &barred, &mut left);
        option.starts = Some(left);
    }
}

/// A search with overtime under way.
#[derive(Debug, Clone)]
pub(super) struct Overtime<'s> {
    stage: usize,
    inner: Box<Search<'s>>,
    epochs_left: u64,
}

impl<'s> Search<'s> {
    /// Begins with the first stage, from the best plan.
    pub(super) fn begin_overtime(&mut self) {
        let standing = self.best.clone();
        self.begin_stage(0, &standing);
    }

    fn begin_stage(&mut self, at: usize, standing: &[Standing]) {
        let stage = STAGES.get(at);
        let shop = stage.and_then(|stage| self.later.get(usize::from(stage.dearer)));
        let shop = shop.map(LaterShop::shop);
        let (Some(stage), Some(shop)) = (stage, shop) else {
            self.end_overtime(standing);
            return;
        };
        let jobs = self.least.len();
        let epochs = (stage.epochs * jobs as u64 / 8).max(1);
        let random = Seeded::new(self.random.next(), 0);
        let mut inner = Search::new(fitted(shop, standing), self.least, random);
        inner.cooling = Cooling::new(jobs).warmer(WARMER);
        inner.cooling.bold = self.random.below(2) == 0;
        if stage.steps {
            inner.begin_shifts_over(epochs, WARMER);
        }
        self.overtime = Some(Overtime { stage: at, inner: Box::new(inner), epochs_left: epochs });
    }

    /// What stands within the hours goes on, the rest is put where it costs least.
    fn end_overtime(&mut self, standing: &[Standing]) {
        self.overtime = None;
        self.board = fitted(self.home, standing);
        self.worth = self.board.worth();
        let standing = self.board.standing().to_vec();
        self.gain(self.worth, standing);
    }

    pub(super) fn overtime_epoch(&mut self, mut overtime: Overtime<'s>) {
        overtime.inner.epoch();
        overtime.epochs_left -= 1;
        let (_, standing) = overtime.inner.best();
        let standing = standing.to_vec();
        if standing.iter().enumerate().all(|(job, standing)| keeps_hours(self.home, job, standing))
        {
            let board = fitted(self.home, &standing);
            self.gain(board.worth(), board.standing().to_vec());
        }
        if overtime.epochs_left == 0 {
            self.begin_stage(overtime.stage + 1, &standing);
        } else {
            self.overtime = Some(overtime);
        }
    }

    fn gain(&mut self, worth: Worth, standing: Vec<Standing>) {
        if worth < self.best_worth {
            self.best_worth = worth;
            self.best = standing;
            self.cooling.gained = true;
        }
    }
}

/// Whether a job stands within the open hours and allowed starts.
fn keeps_hours(shop: &Shop<'_>, job: usize, standing: &Standing) -> bool {
    let Standing::Placed(placement) = standing else { return true };
    let steps = &shop.problem.jobs[job].steps;
    let own = placement.steps.iter().filter(|placed| !steps[placed.step].is_fixed());
    own.into_iter().all(|placed| {
        let option = &steps[placed.step].options[placed.option];
        let inside = |windows: &[Span]| {
            earliest(windows, placed.start, option.minutes) == Some(placed.start)
        };
        placed.end <= shop.problem.horizon
            && option.place.is_none_or(|place| inside(&shop.problem.places[place].open))
            && placed.uses.iter().all(|used| inside(&shop.free[*used]))
    })
}

/// A board on which everything that keeps the hours stands as given, and the rest where it costs least.
fn fitted<'s>(shop: &'s Shop<'s>, standing: &[Standing]) -> Board<'s> {
    let mut board = Board::new(shop);
    let mut rest = Vec::new();
    for (job, standing) in standing.iter().enumerate() {
        match standing {
            Standing::Placed(placement) if keeps_hours(shop, job, standing) => {
                // What it cost elsewhere, with lateness dearer, is not what it costs here.
                let steps = placement.steps.clone();
                let (cost, spec) = (shop.problem.cost, &shop.problem.jobs[job]);
                board.put(job, Standing::Placed(Placement::new(cost, spec, steps)));
            }
            Standing::Placed(_) | Standing::Missing | Standing::LeftOut => rest.push(job),
        }
    }
    rest.sort_by_key(|job| (!shop.problem.jobs[*job].has_fixed(), -shop.problem.jobs[*job].weight));
    for job in rest {
        settle(&mut board, Query::plain(shop, job));
    }
    board
}

#[cfg(test)]
mod tests;
