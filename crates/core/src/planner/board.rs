//! The planning board: which job stands how, and so what every place and resource is taken by.
//!
//! Jobs are put on and lifted off whole. Fixed steps stay on the board always; the waits between
//! them come and go with their job.

use super::insertion::Scratch;
use super::placement::{Hold, Placement, left_out_cost, place_of};
use super::plan::PlannedJob;
use super::shop::Shop;
use super::span::{Span, earliest, give_back, merged, subtract, take_out};

/// How a job stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Standing {
    /// With all its steps.
    Placed(Placement),
    /// Left out, at the price for that.
    LeftOut,
    /// Not planned, though it must be, or not looked at yet.
    Missing,
}

/// What a board is worth: first fewer missing jobs, then less cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Worth {
    pub(super) missing: usize,
    pub(super) cost: i64,
}

/// A span during which a place cannot be used, held there or where it clashes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Taken {
    pub(super) span: Span,
    pub(super) job: usize,
    /// Whether only fixed steps make it.
    fixed: bool,
}

/// A board under way.
#[derive(Debug, Clone)]
pub(super) struct Board<'s> {
    pub(super) shop: &'s Shop<'s>,
    /// Per resource, what is left of its windows.
    pub(super) free: Vec<Vec<Span>>,
    /// Per place, when it is taken there or where it clashes, by start.
    pub(super) blocked: Vec<Vec<Taken>>,
    /// Per resource whose windows overlap, when it is busy, by start; for others see `free`.
    busy: Vec<Vec<Span>>,
    standing: Vec<Standing>,
    /// Per job, what a late minute costs less than it does: a search may look away from some for a while.
    pub(super) relief: Vec<i64>,
    /// The sum of the jobs' costs, and how much of it is not looked at; how many are missing.
    cost: i64,
    relieved: i64,
    missing: usize,
    /// Memory of the searches for a job's way.
    pub(super) scratch: Scratch,
}

impl<'s> Board<'s> {
    /// A board with nothing but the fixed steps.
    pub(super) fn new(shop: &'s Shop<'s>) -> Self {
        let mut board = Self {
            shop,
            free: shop.free.clone(),
            blocked: vec![Vec::new(); shop.held.len()],
            busy: vec![Vec::new(); shop.free.len()],
            standing: vec![Standing::Missing; shop.jobs.len()],
            relief: vec![0; shop.jobs.len()],
            cost: 0,
            relieved: 0,
            missing: shop.jobs.len(),
            scratch: Scratch::default(),
        };
        for (job, hold) in shop.held.iter().flatten() {
            board.block(*job, *hold);
        }
        board
    }

    /// A board with every job standing as given.
    pub(super) fn with(shop: &'s Shop<'s>, standing: &[Standing]) -> Self {
        let mut board = Self::new(shop);
        for (job, standing) in standing.iter().enumerate() {
            board.put(job, standing.clone());
        }
        board
    }

    pub(super) fn standing(&self) -> &[Standing] {
        &self.standing
    }

    /// Puts a job that is off the board on it.
    pub(super) fn put(&mut self, job: usize, standing: Standing) {
        if let Standing::Placed(placement) = &standing {
            let spec = &self.shop.problem.jobs[job];
            for placed in placement.steps.iter().filter(|p| !spec.steps[p.step].is_fixed()) {
                let span = Span { start: placed.start, end: placed.end };
                for used in &placed.uses {
                    self.engage(*used, span);
                }
            }
            each_hold(self.shop, job, placement, |hold| self.block(job, hold));
        }
        self.missing -= usize::from(standing != Standing::Missing);
        self.standing[job] = standing;
        self.cost += self.job_cost(job);
        self.relieved += self.relief_of(job);
    }

    /// Takes a job off the board and says how it stood.
    pub(super) fn lift(&mut self, job: usize) -> Standing {
        self.cost -= self.job_cost(job);
        self.relieved -= self.relief_of(job);
        let standing = std::mem::replace(&mut self.standing[job], Standing::Missing);
        self.missing += usize::from(standing != Standing::Missing);
        if let Standing::Placed(placement) = &standing {
            let spec = &self.shop.problem.jobs[job];
            for placed in placement.steps.iter().filter(|p| !spec.steps[p.step].is_fixed()) {
                let span = Span { start: placed.start, end: placed.end };
                for used in &placed.uses {
                    self.release(*used, span);
                }
            }
            each_hold(self.shop, job, placement, |hold| self.unblock(job, hold));
        }
        standing
    }

    fn engage(&mut self, used: usize, span: Span) {
        if !self.shop.overlapping[used] {
            take_out(&mut self.free[used], span);
            return;
        }
        let busy = &mut self.busy[used];
        let at = busy.partition_point(|other| other.start < span.start);
        busy.insert(at, span);
        subtract(&self.shop.free[used], busy, &mut self.free[used]);
    }

    fn release(&mut self, used: usize, span: Span) {
        if !self.shop.overlapping[used] {
            give_back(&self.shop.free[used], &mut self.free[used], span);
            return;
        }
        let busy = &mut self.busy[used];
        busy.retain(|other| *other != span);
        subtract(&self.shop.free[used], busy, &mut self.free[used]);
    }

    fn block(&mut self, job: usize, hold: Hold) {
        let taken = Taken { span: hold.span, job, fixed: hold.fixed };
        for place in std::iter::once(&hold.place).chain(&self.shop.clashing[hold.place]) {
            let list = &mut self.blocked[*place];
            let at = list.partition_point(|other| other.span.start < taken.span.start);
            list.insert(at, taken);
        }
    }

    fn unblock(&mut self, job: usize, hold: Hold) {
        let taken = Taken { span: hold.span, job, fixed: hold.fixed };
        for place in std::iter::once(&hold.place).chain(&self.shop.clashing[hold.place]) {
            let list = &mut self.blocked[*place];
            let first = list.partition_point(|other| other.span.start < taken.span.start);
            if let Some(at) = list[first..].iter().position(|other| *other == taken) {
                list.remove(first + at);
            }
        }
    }

    /// Whether a placement of a job that is off the board meets nothing that stands.
    pub(super) fn has_room(&self, job: usize, placement: &Placement) -> bool {
        let spec = &self.shop.problem.jobs[job];
        let mut open = placement.steps.iter().filter(|placed| !spec.steps[placed.step].is_fixed());
        let uses_free = open.all(|placed| {
            let minutes = placed.end - placed.start;
            let free = |used: &usize| {
                earliest(&self.free[*used], placed.start, minutes) == Some(placed.start)
            };
            placed.uses.iter().all(free)
        });
        let mut room = uses_free;
        each_hold(self.shop, job, placement, |hold| {
            let list = &self.blocked[hold.place];
            let end = list.partition_point(|other| other.span.start < hold.span.end);
            room = room
                && list[..end].iter().all(|other| {
                    other.span.end <= hold.span.start
                        || other.job == job
                        || (hold.fixed && other.fixed)
                });
        });
        room
    }

    /// When a place is taken for a job by others, there or where it clashes; merged.
    pub(super) fn taken(&self, job: usize, place: usize) -> Vec<Span> {
        let others = self.blocked[place].iter().filter(|taken| taken.job != job);
        merged(others.map(|taken| taken.span).collect())
    }

    /// Whether a wait between two fixed steps meets another job's hold that is not all fixed.
    pub(super) fn wait_is_free(&self, job: usize, place: usize, wait: Span) -> bool {
        let meets = |taken: &Taken| taken.job != job && !taken.fixed && taken.span.overlaps(wait);
        !self.blocked[place].iter().any(meets)
    }

    /// The last finish of all jobs on the board but one, at least 0.
    pub(super) fn last_finish_without(&self, job: usize) -> i64 {
        let finish = |(index, standing): (usize, &Standing)| match standing {
            Standing::Placed(placement) if index != job => placement.finish,
            Standing::Placed(_) | Standing::LeftOut | Standing::Missing => 0,
        };
        self.standing.iter().enumerate().map(finish).max().unwrap_or(0).max(0)
    }

    /// What one job costs as it stands, the makespan apart; a missing one costs nothing.
    pub(super) fn job_cost(&self, job: usize) -> i64 {
        match &self.standing[job] {
            Standing::Placed(placement) => placement.cost,
            Standing::LeftOut => {
                let problem = self.shop.problem;
                left_out_cost(problem.cost, &problem.jobs[job]).unwrap_or(0)
            }
            Standing::Missing => 0,
        }
    }

    /// What the board is worth as it stands, with what is not looked at left out.
    pub(super) fn worth(&self) -> Worth {
        let worth = self.true_worth();
        Worth { cost: worth.cost - self.relieved, ..worth }
    }

    /// What the board is worth as it stands.
    pub(super) fn true_worth(&self) -> Worth {
        let makespan = self.shop.problem.cost.makespan;
        let last = if makespan > 0 { self.last_finish_without(usize::MAX) } else { 0 };
        Worth { missing: self.missing, cost: self.cost + makespan * last }
    }

    /// Looks away from so much of a late minute's cost, per job.
    pub(super) fn set_relief(&mut self, relief: Vec<i64>) {
        self.relief = relief;
        self.relieved = (0..self.relief.len()).map(|job| self.relief_of(job)).sum();
    }

    fn relief_of(&self, job: usize) -> i64 {
        match &self.standing[job] {
            Standing::Placed(placement) if self.relief[job] > 0 => {
                let due = self.shop.problem.jobs[job].due;
                self.relief[job] * due.map_or(0, |due| (placement.finish - due).max(0))
            }
            Standing::Placed(_) | Standing::LeftOut | Standing::Missing => 0,
        }
    }

    /// The jobs as the plan's file shows them.
    pub(super) fn planned_jobs(&self) -> Vec<PlannedJob> {
        let problem = self.shop.problem;
        let jobs = problem.jobs.iter().zip(&self.standing);
        let shown = jobs.map(|(job, standing)| match standing {
            Standing::Placed(placement) => placement.planned(problem, job),
            Standing::LeftOut | Standing::Missing => {
                PlannedJob { id: job.id.clone(), left_out: true, steps: Vec::new() }
            }
        });
        shown.collect()
    }
}

/// What a job holds beyond the spans of its fixed steps, which stay on the board always. Without
/// fixed steps, what it holds of a place in one go counts as one hold.
fn each_hold(shop: &Shop<'_>, job: usize, placement: &Placement, mut each: impl FnMut(Hold)) {
    let spec = &shop.problem.jobs[job];
    if spec.has_fixed() {
        let fixed = |hold: &Hold| shop.held[hold.place].contains(&(job, *hold));
        placement.holds(spec).filter(|hold| !fixed(hold)).for_each(each);
        return;
    }
    let mut open: Option<Hold> = None;
    for placed in &placement.steps {
        let place = place_of(spec, placed);
        if let Some(stay) = open.as_mut().filter(|stay| Some(stay.place) == place) {
            stay.span.end = placed.end;
            continue;
        }
        if let Some(stay) = open.take() {
            each(stay);
        }
        let span = Span { start: placed.start, end: placed.end };
        open = place.map(|place| Hold { place, span, fixed: false });
    }
    if let Some(stay) = open {
        each(stay);
    }
}
