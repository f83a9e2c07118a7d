//! The planning board: which job stands how, and so what every place and resource is taken by.
//!
//! Jobs are put on and lifted off whole. Fixed steps stay on the board always; the waits between
//! them come and go with their job.

use super::placement::{Hold, Placement, left_out_cost};
use super::plan::PlannedJob;
use super::shop::Shop;
use super::span::{Span, merged, subtract};

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

/// A board under way.
#[derive(Debug, Clone)]
pub(super) struct Board<'s> {
    pub(super) shop: &'s Shop<'s>,
    /// Per resource, what is left of its windows.
    pub(super) free: Vec<Vec<Span>>,
    busy: Vec<Vec<Span>>,
    /// Per place, who holds it when.
    held: Vec<Vec<(usize, Hold)>>,
    standing: Vec<Standing>,
}

impl<'s> Board<'s> {
    /// A board with nothing but the fixed steps.
    pub(super) fn new(shop: &'s Shop<'s>) -> Self {
        Self {
            shop,
            free: shop.free.clone(),
            busy: vec![Vec::new(); shop.free.len()],
            held: shop.held.clone(),
            standing: vec![Standing::Missing; shop.jobs.len()],
        }
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
                    let busy = &mut self.busy[*used];
                    let at = busy.partition_point(|other| other.start < span.start);
                    busy.insert(at, span);
                    subtract(&self.shop.free[*used], busy, &mut self.free[*used]);
                }
            }
            for hold in dynamic_holds(self.shop, job, placement) {
                self.held[hold.place].push((job, hold));
            }
        }
        self.standing[job] = standing;
    }

    /// Takes a job off the board and says how it stood.
    pub(super) fn lift(&mut self, job: usize) -> Standing {
        let standing = std::mem::replace(&mut self.standing[job], Standing::Missing);
        if let Standing::Placed(placement) = &standing {
            let spec = &self.shop.problem.jobs[job];
            for placed in placement.steps.iter().filter(|p| !spec.steps[p.step].is_fixed()) {
                for used in &placed.uses {
                    let busy = &mut self.busy[*used];
                    busy.retain(|span| span.start != placed.start);
                    subtract(&self.shop.free[*used], busy, &mut self.free[*used]);
                }
            }
            for hold in dynamic_holds(self.shop, job, placement) {
                self.held[hold.place].retain(|(other, held)| *other != job || *held != hold);
            }
        }
        standing
    }

    /// When a place is taken for a job by others, there or where it clashes; merged.
    pub(super) fn taken(&self, job: usize, place: usize) -> Vec<Span> {
        let everywhere = std::iter::once(&place).chain(&self.shop.clashing[place]);
        let spans = everywhere
            .flat_map(|at| &self.held[*at])
            .filter(|(other, _)| *other != job)
            .map(|(_, hold)| hold.span);
        merged(spans.collect())
    }

    /// Whether a wait between two fixed steps meets another job's hold that is not all fixed.
    pub(super) fn wait_is_free(&self, job: usize, place: usize, wait: Span) -> bool {
        let mut everywhere = std::iter::once(&place).chain(&self.shop.clashing[place]);
        !everywhere.any(|at| {
            self.held[*at]
                .iter()
                .any(|(other, hold)| *other != job && !hold.fixed && hold.span.overlaps(wait))
        })
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

    /// What the board is worth as it stands.
    pub(super) fn worth(&self) -> Worth {
        let jobs: i64 = (0..self.standing.len()).map(|job| self.job_cost(job)).sum();
        let missing = self.standing.iter().filter(|s| **s == Standing::Missing).count();
        let makespan = self.shop.problem.cost.makespan;
        let last = if makespan > 0 { self.last_finish_without(usize::MAX) } else { 0 };
        Worth { missing, cost: jobs + makespan * last }
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

/// What a job holds beyond the spans of its fixed steps, which stay on the board always.
fn dynamic_holds(shop: &Shop<'_>, job: usize, placement: &Placement) -> Vec<Hold> {
    let fixed = |hold: &Hold| shop.held[hold.place].contains(&(job, *hold));
    placement.holds(&shop.problem.jobs[job]).filter(|hold| !fixed(hold)).collect()
}
