//! Whether the rules by which proofs are judged let a plan pass: they must, for every plan that keeps the problem's rules and
//! costs no more than they allow. Were they too strict, a proof could claim too much.

use super::Priced;
use super::day::{Day, list, text};
use super::model::{Model, model};
use super::rules::Bound;
use serde_json::Value;

/// Whether the rules of plans that cost at most what this one does have room for it.
///
/// # Errors
/// A sentence when there is no certificate, or the plan is not one of the problem.
pub fn admits(problem: &str, plan: &str) -> Result<bool, String> {
    let problem: Value = serde_json::from_str(problem).map_err(|error| error.to_string())?;
    let plan: Value = serde_json::from_str(plan).map_err(|error| error.to_string())?;
    let day = Day::read(&problem)?;
    let priced = Priced::new(&day, &plan["certificate"])?;
    let most = i128::from(plan["cost"].as_i64().ok_or("the plan has no cost")?);
    let mut model = model(&day, &priced.known(most), most)?;
    let mut unless = Vec::new();
    for (at, job) in list(&problem["jobs"]).iter().enumerate() {
        let entry = list(&plan["jobs"]).iter().find(|entry| entry["id"] == job["id"]);
        let entry = entry.filter(|entry| entry["left_out"] != Value::Bool(true));
        unless.push(!fact(&model, &format!("planned {at}"), entry.is_some())?);
        for (step, spec) in list(&job["steps"]).iter().enumerate() {
            let steps = entry.map_or(&[][..], |entry| list(&entry["steps"]));
            let Some(stood) = steps.iter().find(|stood| stood["id"] == spec["id"]) else {
                continue;
            };
            if day.jobs[at].steps[step].fixed.is_none() {
                unless.extend(stands(&day, &model, [at, step], stood)?.map(|bound| !bound));
            }
        }
    }
    Ok(!model.rules.follows(&unless))
}

/// What a step's start, option and resources say.
fn stands(
    day: &Day,
    model: &Model<'_>,
    [at, step]: [usize; 2],
    stood: &Value,
) -> Result<impl Iterator<Item = Bound>, String> {
    let start = stood["start"].as_i64().ok_or("a step has no start")?;
    let number = model.names.get(&format!("start {at} {step}")).ok_or("a step has no number")?;
    let mut bounds = vec![Bound::AtLeast(*number, start), Bound::AtMost(*number, start)];
    bounds.push(fact(model, &format!("option {at} {step} {}", stood["option"]), true)?);
    for (need, used) in list(&stood["uses"]).iter().enumerate() {
        let used = day.resource(text(used)).ok_or("a step uses an unknown resource")?;
        bounds.push(fact(model, &format!("uses {at} {step} {need} {used}"), true)?);
    }
    Ok(bounds.into_iter())
}

fn fact(model: &Model<'_>, name: &str, holds: bool) -> Result<Bound, String> {
    let number = *model.names.get(name).ok_or_else(|| format!("there is no \"{name}\""))?;
    Ok(if holds { Bound::AtLeast(number, 1) } else { Bound::AtMost(number, 0) })
}
