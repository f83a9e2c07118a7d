//! Plans again with a change so that one job is in time and no other suffers, for a fixed effort.
//!
//! What is found is checked against the changed problem before it is told.

use super::ExplainOptions;
use super::change::Change;
use super::{NotInTime, Remedy};
use crate::planner::board::{Board, Standing};
use crate::planner::cost::cost_of;
use crate::planner::draft::CostWeights;
use crate::planner::insertion::{self, Query};
use crate::planner::placement::{Placement, left_out_cost};
use crate::planner::plan::{Plan, PlanStatus};
use crate::planner::problem::{Job, Problem};
use crate::planner::shop::Shop;
use crate::planner::squeeze::{has_way, make_room, no_tails, put_in, strict};
use crate::planner::stood::standings;

/// What a job costs beyond being in time; none where it is in time.
pub(super) fn excess(problem: &Problem, job: usize, standing: &Standing) -> Option<i64> {
    let spec = &problem.jobs[job];
    match standing {
        Standing::Placed(placement) => {
            let late = placement.finish - spec.due?;
            (late > 0).then(|| (problem.cost.lateness * spec.weight).saturating_mul(late))
        }
        Standing::LeftOut | Standing::Missing => {
            Some(left_out_cost(problem.cost, spec).unwrap_or(i64::MAX))
        }
    }
}

/// One job of a plan that is to be brought in time.
pub(super) struct Case<'p> {
    pub(super) problem: &'p Problem,
    /// How all jobs stand in the plan.
    pub(super) standing: &'p [Standing],
    pub(super) job: usize,
    pub(super) options: ExplainOptions,
    pub(super) cost: i64,
    /// When the job could finish without the others; none where it has no way.
    pub(super) alone: Option<Placement>,
}

impl<'p> Case<'p> {
    pub(super) fn new(
        problem: &'p Problem,
        standing: &'p [Standing],
        job: usize,
        options: ExplainOptions,
    ) -> Self {
        let shop = Shop::new(problem);
        let cost = Board::with(&shop, standing).true_worth().cost;
        let alone = earliest_alone(problem, job);
        Self { problem, standing, job, options, cost, alone }
    }

    pub(super) fn spec(&self) -> &'p Job {
        &self.problem.jobs[self.job]
    }

    /// How the job stands.
    pub(super) fn not_in_time(&self) -> NotInTime {
        match (&self.standing[self.job], self.spec().due) {
            (Standing::Placed(placement), Some(due)) => {
                let finish = placement.finish;
                NotInTime::Late { finish, due, minutes: finish - due }
            }
            (_, due) => NotInTime::LeftOut { cost: self.spec().leave_out_cost.unwrap_or(0), due },
        }
    }

    /// Tries a change: a plan with it in which the job is in time and no other job suffers.
    pub(super) fn attempt(&self, change: &Change) -> Option<Remedy> {
        let changed = change.applied(self.problem)?;
        let tails = no_tails(&changed);
        let by = changed.jobs[self.job].due;
        let strict = strict(&changed, self.standing, &tails, (self.job, by));
        let shop = Shop::new(&strict);
        if !has_way(&Board::new(&shop), self.job) {
            return None;
        }
        let mut standing = self.standing.to_vec();
        standing[self.job] = Standing::Missing;
        let mut board = Board::with(&shop, &standing);
        let found = if put_in(&mut board, self.job) {
            board.standing().to_vec()
        } else {
            let least = vec![0; strict.jobs.len()];
            make_room(board, &least, (self.options.seed, self.options.epochs))?
        };
        self.remedy(change, &changed, &found)
    }

    /// The plan as it is, with a change.
    pub(super) fn as_it_is(&self, change: &Change) -> Option<Remedy> {
        self.remedy(change, &change.applied(self.problem)?, self.standing)
    }

    /// The remedy as it is told, once the plan found has been checked against the changed problem.
    fn remedy(&self, change: &Change, changed: &Problem, found: &[Standing]) -> Option<Remedy> {
        let shop = Shop::new(changed);
        let board = Board::with(&shop, found);
        let mut plan = Plan::new(PlanStatus::Feasible, board.planned_jobs());
        plan.seed = self.options.seed;
        plan.epochs = self.options.epochs;
        let cost_after = cost_of(changed, &plan).ok()?;
        plan.cost = Some(cost_after);
        let stood = standings(changed, &plan).ok()?;
        // What was found may carry costs of another due.
        let board = Board::with(&shop, &stood);
        let Standing::Placed(placement) = &stood[self.job] else { return None };
        if changed.jobs[self.job].due.is_some_and(|due| placement.finish > due) {
            return None;
        }
        let others = (0..stood.len()).filter(|other| *other != self.job);
        let others_moved = others.filter(|other| !alike(&stood[*other], &self.standing[*other]));
        let before = Shop::new(self.problem);
        let before = Board::with(&before, self.standing);
        Some(Remedy {
            change: change.clone(),
            cost_before: self.cost,
            cost_after,
            others_before: self.cost - before.job_cost(self.job),
            others_after: cost_after - board.job_cost(self.job),
            finish: placement.finish,
            others_moved: others_moved.count(),
            plan,
        })
    }
}

/// Whether a job stands the same; what it costs may differ.
fn alike(one: &Standing, other: &Standing) -> bool {
    match (one, other) {
        (Standing::Placed(one), Standing::Placed(other)) => one.steps == other.steps,
        (one, other) => one == other,
    }
}

/// The way in which a job finishes first when no other job is there, fixed steps apart.
fn earliest_alone(problem: &Problem, job: usize) -> Option<Placement> {
    let mut quiet = problem.clone();
    quiet.cost = CostWeights { finish: 1, ..CostWeights::default() };
    quiet.jobs[job].due = None;
    let shop = Shop::new(&quiet);
    let found = insertion::find(&Board::new(&shop), Query::plain(&shop, job));
    found.best.map(|(_, placement)| placement)
}
