//! The plan as a file: who stands where, when, at what cost, with a proved bound.
//!
//! (problem, seed, threads, epochs) give the same text again, byte for byte.

use super::bound::certificate::Certificate;
use super::draft::ProblemDraft;
use super::problem::Problem;
use super::read::{Node, Reader, parse_object};
use crate::fault::{Fault, FaultList, Faults};
use serde::Serialize;

/// The format tag of a plan.
pub const PLAN_FORMAT: &str = "planning-plan/1";

/// What is known about a plan's cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PlanStatus {
    /// The cost equals the bound: no plan is cheaper.
    ProvedBest,
    /// The plan keeps every rule; a cheaper one may exist.
    Feasible,
    /// It is proved that no plan keeps every rule; `why` names the jobs concerned.
    Impossible,
}

/// A plan of a problem.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Plan {
    format: &'static str,
    /// What it costs; absent when impossible.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost: Option<i64>,
    /// A proved lower bound on the cost of any plan.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bound: Option<i64>,
    /// What is known about the cost.
    pub status: PlanStatus,
    /// The ids of the jobs for which no plan exists; empty unless impossible.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub why: Vec<String>,
    /// The seed of the search.
    pub seed: u64,
    /// The search's worker threads.
    pub threads: u32,
    /// The epochs that the search went through.
    pub epochs: u64,
    /// The jobs, in the problem's order.
    pub jobs: Vec<PlannedJob>,
    /// The prices that prove the bound; absent where each job alone in the shop proves it,
    /// or each machine by itself.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub certificate: Option<Certificate>,
}

/// One job of a plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PlannedJob {
    /// The job's id.
    pub id: String,
    /// Whether it is left out; then it has no steps.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub left_out: bool,
    /// Its steps in the order of time.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub steps: Vec<PlannedStep>,
}

/// One step of a plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PlannedStep {
    /// The step's id.
    pub id: String,
    /// When it starts.
    pub start: i64,
    /// Which of its options it takes, counted from 0.
    pub option: usize,
    /// The resources used, in the order of the option's needs.
    pub uses: Vec<String>,
}

impl Plan {
    /// A plan without jobs, to be filled in.
    pub fn new(status: PlanStatus, jobs: Vec<PlannedJob>) -> Self {
        Self {
            format: PLAN_FORMAT,
            cost: None,
            bound: None,
            status,
            why: Vec::new(),
            seed: 0,
            threads: 1,
            epochs: 0,
            jobs,
            certificate: None,
        }
    }

    /// Writes the plan as indented JSON.
    pub fn to_json(&self) -> String {
        // Plain values with text keys always serialise.
        serde_json::to_string_pretty(self).unwrap_or_default() + "\n"
    }

    /// Reads a plan; `cost`, `bound`, `seed`, `threads`, `epochs` and `why` may be absent. Whether
    /// it suits a problem is not judged here.
    ///
    /// # Errors
    /// Every fault at once, each with its path in the file.
    pub fn from_json(text: &str) -> Result<Self, Faults> {
        let object = parse_object("plan", text)?;
        let mut faults = FaultList::new();
        let root = Node { object: &object, path: String::new() };
        let mut reader = Reader { faults: &mut faults };
        if reader.text(&root, "format").is_some_and(|tag| tag != PLAN_FORMAT) {
            let limit = format!("be \"{PLAN_FORMAT}\"");
            let value = super::read::shown(&object["format"]);
            reader.faults.push(Fault::new("format", value, limit, "give a plan of this format"));
        }
        let status = match object.get("status").and_then(|value| value.as_str()) {
            Some("proved-best") => PlanStatus::ProvedBest,
            Some("impossible") => PlanStatus::Impossible,
            Some("feasible") | None => PlanStatus::Feasible,
            Some(other) => {
                let limit = "be proved-best, feasible or impossible";
                reader.faults.push(Fault::new("status", other, limit, "correct the word"));
                PlanStatus::Feasible
            }
        };
        let count = |key: &str, default: u64| match object.get(key) {
            None => Ok(default),
            Some(value) => value.as_u64().ok_or_else(|| {
                let shown = super::read::shown(value);
                Fault::new(key, shown, "be a whole number, 0 or more", "correct the number")
            }),
        };
        let mut counted = [("seed", 0), ("threads", 1), ("epochs", 0)].map(|(key, default)| {
            count(key, default).unwrap_or_else(|fault| {
                reader.faults.push(fault);
                default
            })
        });
        counted[1] = counted[1].min(u64::from(u32::MAX));
        let plan = Self {
            format: PLAN_FORMAT,
            cost: reader.number(&root, "cost"),
            bound: reader.number(&root, "bound"),
            status,
            why: reader.texts(&root, "why"),
            seed: counted[0],
            threads: u32::try_from(counted[1]).unwrap_or(u32::MAX),
            epochs: counted[2],
            jobs: reader.required_objects(&root, "jobs", planned_job),
            certificate: match object.get("certificate").map(Certificate::from_value).transpose() {
                Ok(certificate) => certificate,
                Err(fault) => {
                    reader.faults.push(fault);
                    None
                }
            },
        };
        faults.finish(plan)
    }

    /// The problem with this plan as what the shop works from: every planned step's place in time
    /// becomes its `previous`. Jobs and steps that the problem does not know are passed over.
    pub fn as_previous_of(&self, problem: &Problem) -> ProblemDraft {
        let mut draft = problem.to_draft();
        for job in &mut draft.jobs {
            let Some(planned) = self.jobs.iter().find(|planned| planned.id == job.id) else {
                continue;
            };
            job.previous = planned
                .steps
                .iter()
                .filter_map(|step| {
                    let spec = job.steps.iter().find(|spec| spec.id == step.id)?;
                    let option = i64::try_from(step.option).ok();
                    let option = option.filter(|_| step.option < spec.options.len());
                    let uses = step.uses.clone();
                    let was = super::draft::PreviousDraft { start: step.start, option, uses };
                    Some((step.id.clone(), was))
                })
                .collect();
        }
        draft
    }
}

fn planned_job(reader: &mut Reader<'_>, node: &Node<'_>) -> PlannedJob {
    let left_out = node.object.get("left_out").and_then(serde_json::Value::as_bool) == Some(true);
    let steps =
        if left_out { Vec::new() } else { reader.required_objects(node, "steps", planned_step) };
    PlannedJob { id: reader.text(node, "id").unwrap_or_default(), left_out, steps }
}

fn planned_step(reader: &mut Reader<'_>, node: &Node<'_>) -> PlannedStep {
    let option = reader.required_number(node, "option", 0);
    PlannedStep {
        id: reader.text(node, "id").unwrap_or_default(),
        start: reader.required_number(node, "start", 0),
        option: usize::try_from(option).unwrap_or(usize::MAX),
        uses: reader.texts(node, "uses"),
    }
}
