//! Judges a plan against a planning problem from their files alone, sharing no code with the planner.
//!
//! Both are read as plain JSON; every rule of the format is checked by itself, in the simplest way
//! that can be read off the rule, and the cost is added up anew. It is slow on purpose: pairs of spans are
//! compared one by one, minutes are never packed.

mod broken;
mod certificate;
mod days;
mod every_plan;
mod occupancy;

pub use broken::{Broken, Rule};
pub use certificate::{admits, derive};
pub use every_plan::cheapest;

use days::{Days, Stood};
use serde_json::Value;

/// What the referee found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// The cost added up anew; jobs that break the form of the plan add nothing.
    pub cost: i128,
    /// Every broken rule.
    pub broken: Vec<Broken>,
}

/// Judges a plan. What the plan states as cost and bound is judged too.
///
/// # Errors
/// A sentence when the problem itself cannot be read; the referee presumes a checked problem.
pub fn judge(problem: &str, plan: &str) -> Result<Verdict, String> {
    let problem: Value = serde_json::from_str(problem).map_err(|error| error.to_string())?;
    let plan: Value = serde_json::from_str(plan).map_err(|error| error.to_string())?;
    let days = Days::of(&problem)?;
    let mut broken = Vec::new();
    let entries = entries(&plan, &days, &mut broken);
    let mut stood: Vec<Stood<'_>> = Vec::new();
    let mut cost = 0_i128;
    let mut makespan = 0;
    for job in days.jobs() {
        let id = days::text(job, "id");
        let mine: Vec<&Value> =
            entries.iter().filter(|entry| entry["id"] == job["id"]).copied().collect();
        if mine.len() > 1 {
            broken.push(Broken::new(Rule::PlanForm, format!("{id}: stands twice")));
        }
        let planned = mine.first().filter(|entry| entry["left_out"] != Value::Bool(true));
        let Some(entry) = planned else {
            cost += left_out(&days, job, id, &mut broken);
            continue;
        };
        let Some(steps) = Days::steps_of(job, entry, &mut broken) else { continue };
        days.judge_job(job, &steps, &mut broken);
        let finish = steps.iter().map(|step| step.end).max().unwrap_or(0);
        makespan = makespan.max(finish);
        cost += days.cost_of_job(job, &steps, finish);
        stood.extend(steps);
    }
    cost += i128::from(days.price("makespan")) * i128::from(makespan);
    occupancy::judge(&days, &stood, &mut broken);
    stated(&plan, cost, &mut broken);
    Ok(Verdict { cost, broken })
}

fn entries<'v>(plan: &'v Value, days: &Days<'_>, broken: &mut Vec<Broken>) -> Vec<&'v Value> {
    if plan["format"] != "planning-plan/1" {
        broken.push(Broken::new(Rule::PlanForm, "the format is another one".to_owned()));
    }
    let Some(entries) = plan["jobs"].as_array() else {
        broken.push(Broken::new(Rule::PlanForm, "there is no list of jobs".to_owned()));
        return Vec::new();
    };
    for entry in entries {
        if !days.jobs().iter().any(|job| job["id"] == entry["id"]) {
            broken.push(Broken::new(Rule::PlanForm, format!("unknown job {}", entry["id"])));
        }
    }
    entries.iter().collect()
}

/// A job that is not in the plan is left out too.
fn left_out(days: &Days<'_>, job: &Value, id: &str, broken: &mut Vec<Broken>) -> i128 {
    let fixed = job["fixed"].as_object().is_some_and(|fixed| !fixed.is_empty());
    if fixed {
        broken.push(Broken::new(Rule::LeftOut, format!("{id}: has fixed steps, but is left out")));
    }
    let Some(price) = job["leave_out_cost"].as_i64() else {
        broken.push(Broken::new(Rule::LeftOut, format!("{id}: must be planned, but is left out")));
        return 0;
    };
    let had = job["previous"].as_object().map_or(0, serde_json::Map::len);
    i128::from(price) + i128::from(days.price("change")) * had as i128
}

fn stated(plan: &Value, cost: i128, broken: &mut Vec<Broken>) {
    if plan["cost"].as_i64().map(i128::from) != Some(cost) {
        let what = format!("states cost {}, but costs {cost}", plan["cost"]);
        broken.push(Broken::new(Rule::StatedCost, what));
    }
    let bound = plan["bound"].as_i64().map(i128::from);
    if bound.is_some_and(|bound| bound > cost) {
        broken.push(Broken::new(Rule::StatedCost, "states a bound above its cost".to_owned()));
    }
    let proved = plan["status"] == "proved-best";
    if proved != (bound == Some(cost)) {
        let what = format!("states {} with bound {}", plan["status"], plan["bound"]);
        broken.push(Broken::new(Rule::StatedCost, what));
    }
}

#[cfg(test)]
mod tests;
