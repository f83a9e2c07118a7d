//! What `solve --explain` adds to an answer: reasons of late and left-out jobs, or a smallest conflict where
//! there is no plan.

use crate::answer;
use crate::failure::Failure;
use crate::views;
use baywright_core::planner::explain::{ExplainOptions, JobReasons, conflict, explain};
use baywright_core::planner::{Plan, PlanStatus, Problem};
use std::time::{Duration, Instant};

/// How long to look; without a limit the answer is the same again.
#[derive(Debug, Clone, Copy)]
pub(super) struct Explaining {
    pub(super) seed: u64,
    pub(super) limit: Option<Duration>,
}

impl Explaining {
    /// The plan with its reasons, as JSON or for a person after its `summary`. An impossible one has none.
    pub(super) fn answer(
        self,
        problem: &Problem,
        plan: &Plan,
        (json, summary): (bool, String),
    ) -> Result<String, Failure> {
        let reasons = if plan.status == PlanStatus::Impossible {
            Vec::new()
        } else {
            explain(problem, plan, self.options(), &mut self.stop())
                .map_err(|error| Failure::NoPlan { sentence: error.to_string() })?
        };
        if json {
            return with_reasons(plan, &reasons);
        }
        if plan.status == PlanStatus::Impossible {
            return Ok(summary);
        }
        Ok(format!("{summary}\n\n{}", views::reasons::text(&reasons)))
    }

    /// Writes a smallest set of jobs without a plan, where one is found.
    pub(super) fn write_conflict(self, problem: &Problem, json: bool) -> Result<(), Failure> {
        let Some(found) = conflict(problem, self.options(), &mut self.stop()) else {
            return Ok(());
        };
        if json {
            let value = serde_json::json!({ "conflict": found });
            let text = serde_json::to_string_pretty(&value);
            return answer::write(&text.map_err(|error| Failure::Reply(error.to_string()))?);
        }
        answer::write(&views::reasons::conflict(&found))
    }

    fn options(self) -> ExplainOptions {
        ExplainOptions { seed: self.seed, ..ExplainOptions::default() }
    }

    fn stop(self) -> impl FnMut() -> bool {
        let begun = Instant::now();
        move || self.limit.is_some_and(|limit| begun.elapsed() >= limit)
    }
}

/// The plan as JSON with its reasons under a key of their own; readers of plans pass it over.
fn with_reasons(plan: &Plan, reasons: &[JobReasons]) -> Result<String, Failure> {
    let refuse = |error: serde_json::Error| Failure::Reply(error.to_string());
    let mut value = serde_json::to_value(plan).map_err(refuse)?;
    value["reasons"] = serde_json::to_value(reasons).map_err(refuse)?;
    serde_json::to_string_pretty(&value).map_err(refuse)
}
