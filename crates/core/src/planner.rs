//! Plans the work of a shop: who does what where and when, at the least cost that can be found.
//!
//! A [`Problem`] is read from a file or put together as a [`ProblemDraft`], and checked whole.
//! [`solve`] proves a lower bound, builds plans by priority rules, each job put whole where it costs
//! least, and improves the best of them epoch by epoch. There is no clock in here: the caller says
//! when to stop, and the same problem, seed, threads and epochs give the same plan.
//!
//! # Example: two jobs share one bay
//! ```
//! use baywright_core::planner::{Problem, SolveOptions, solve};
//!
//! let text = r#"{
//!   "format": "planning-problem/1", "name": "two", "horizon": 100,
//!   "places": [{"id": "bay-1"}], "resources": [], "cost": {"finish": 1},
//!   "jobs": [
//!     {"id": "A", "steps": [{"id": "scan", "options": [{"minutes": 30, "place": "bay-1"}]}]},
//!     {"id": "B", "steps": [{"id": "scan", "options": [{"minutes": 10, "place": "bay-1"}]}]}
//!   ]
//! }"#;
//! let problem = Problem::from_json(text)?;
//! let options = SolveOptions { seed: 7, threads: 1, epochs: Some(2) };
//! let plan = solve(&problem, options, &mut |_| false)?;
//! assert_eq!(plan.cost, Some(10 + 40));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

#[cfg(test)]
mod any_problem;
mod begun;
mod board;
mod bound;
mod check;
mod closer;
mod cost;
mod draft;
pub mod explain;
mod front;
mod insertion;
pub mod limits;
pub mod newcomer;
mod placement;
mod plan;
mod polish;
mod problem;
mod read;
mod repair;
mod ruin;
mod schedule;
mod seeded;
mod shop;
mod solve;
mod span;
mod special;
mod squeeze;
mod steadiness;
mod stood;

pub use bound::certificate::{Certificate, ClosingProof, PricedRun, SharedWork, UnitPrices};
pub use closer::{LeastCost, least_cost};
pub use cost::{CostError, cost_less_changes, cost_of};
pub use draft::{
    CalendarDraft, CostWeights, FixedDraft, JobDraft, OptionDraft, PROBLEM_FORMAT, PreviousDraft,
    ProblemDraft, StepDraft, WindowDraft,
};
pub use front::{FRONT_FACTORS, FrontError, FrontPoint, front};
pub use plan::{PLAN_FORMAT, Plan, PlanStatus, PlannedJob, PlannedStep};
pub use problem::{Calendar, Fixed, Job, Previous, Problem, Step, StepOption};
pub use repair::right_shift;
pub(crate) use seeded::Seeded;
pub use solve::{EpochReport, SolveError, SolveOptions, solve};
pub use span::Span;
pub use steadiness::{Roles, Steadiness, steadiness};
pub use stood::BrokenRule;
