//! A planning problem as plain values, not yet checked: what a file says or a program puts together.
//!
//! Fields are named and ordered as in the file. [`Problem::from_draft`](super::Problem::from_draft)
//! checks a draft; paths in its faults are those of the file.

use serde::Serialize;
use std::collections::BTreeMap;

/// The format tag of a problem.
pub const PROBLEM_FORMAT: &str = "planning-problem/1";

/// A window `[from, to)` in minutes: `to` is the first minute outside.
pub type WindowDraft = [i64; 2];

/// The whole problem.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ProblemDraft {
    /// What the problem is called.
    pub name: String,
    /// No step that is not fixed starts earlier.
    pub now: i64,
    /// Every step that is not fixed ends at or before it.
    pub horizon: i64,
    /// Where a vehicle can stand to be worked on.
    pub places: Vec<CalendarDraft>,
    /// Technicians and equipment units.
    pub resources: Vec<CalendarDraft>,
    /// Pairs of places that two jobs cannot hold at the same time.
    pub clashes: Vec<[String; 2]>,
    /// The vehicles' visits.
    pub jobs: Vec<JobDraft>,
    /// What costs how much.
    pub cost: CostWeights,
}

/// A place or a resource and when it is open.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct CalendarDraft {
    /// Its name.
    pub id: String,
    /// Its windows; absent means the whole horizon.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub open: Option<Vec<WindowDraft>>,
}

/// One job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct JobDraft {
    /// Its name.
    pub id: String,
    /// No step of it starts earlier.
    pub release: i64,
    /// When it should be finished.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub due: Option<i64>,
    /// How much its lateness counts.
    pub weight: i64,
    /// What leaving it out costs; absent: it must be planned.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub leave_out_cost: Option<i64>,
    /// Minutes that go by between two consecutive steps at different places.
    pub move_minutes: i64,
    /// Its steps.
    pub steps: Vec<StepDraft>,
    /// Steps that stand exactly so.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub fixed: BTreeMap<String, FixedDraft>,
    /// Where steps stood in the plan that the shop is working from.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub previous: BTreeMap<String, PreviousDraft>,
}

impl Default for JobDraft {
    fn default() -> Self {
        Self {
            id: String::new(),
            release: 0,
            due: None,
            weight: 1,
            leave_out_cost: None,
            move_minutes: 0,
            steps: Vec::new(),
            fixed: BTreeMap::new(),
            previous: BTreeMap::new(),
        }
    }
}

/// One step of a job.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct StepDraft {
    /// Its name, unique within the job.
    pub id: String,
    /// Steps that end first, and minutes that go by after each; absent: the step listed before.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub after: Option<BTreeMap<String, i64>>,
    /// It starts no earlier.
    pub release: i64,
    /// The ways of doing it.
    pub options: Vec<OptionDraft>,
}

/// One way of doing a step.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct OptionDraft {
    /// How long it takes.
    pub minutes: i64,
    /// Where; absent: nowhere in particular.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// The windows in which it may begin; absent: any time.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub starts: Option<Vec<WindowDraft>>,
    /// Groups of resources; one out of each is used.
    pub needs: Vec<Vec<String>>,
}

/// How a fixed step stands.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct FixedDraft {
    /// Its start; may be negative.
    pub start: i64,
    /// How long it takes in fact; absent: the option's minutes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minutes: Option<i64>,
    /// Which option it takes, counted from 0.
    pub option: i64,
    /// The resources used, in the order of the option's needs.
    pub uses: Vec<String>,
}

/// Where a step stood in the plan before.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct PreviousDraft {
    /// Its start.
    pub start: i64,
    /// The option taken; absent (null in the file) where that option is gone.
    pub option: Option<i64>,
    /// The resources used; one that is gone may be named.
    pub uses: Vec<String>,
}

/// What costs how much, per unit.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct CostWeights {
    /// Times the weight, per minute late.
    pub lateness: i64,
    /// Per minute at which a job finishes.
    pub finish: i64,
    /// Per change of place between consecutive steps.
    #[serde(rename = "move")]
    pub place_change: i64,
    /// Per step that stands otherwise than in the previous plan.
    pub change: i64,
    /// Per minute of the last finish of all.
    pub makespan: i64,
}
