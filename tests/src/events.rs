//! Makes the day after something happened out of a day and a plan of it.
//!
//! A step runs over, a technician leaves, a place closes, a part is late, an urgent job comes. The plan becomes the previous one; what has begun stands fixed.
//!
//! All figures are invented.

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use serde_json::{Map, Value, json};

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Event {
    /// Nothing at all.
    Nothing,
    /// A running step takes longer.
    Overrun,
    /// A resource is gone for a third of the time.
    Absence,
    /// A place is closed for a while.
    Closure,
    /// A job's next step cannot start for a while.
    LatePart,
    /// A short, heavy job arrives.
    Urgent,
}

/// All events.
pub const EVENTS: [Event; 6] = [
    Event::Nothing,
    Event::Overrun,
    Event::Absence,
    Event::Closure,
    Event::LatePart,
    Event::Urgent,
];

/// The problem after an event, given the day's problem and a plan of it, both as text.
///
/// # Errors
/// A sentence when a text is not JSON.
pub fn after(problem: &str, plan: &str, event: Event, seed: u64) -> Result<String, String> {
    let mut problem: Value = serde_json::from_str(problem).map_err(|error| error.to_string())?;
    let plan: Value = serde_json::from_str(plan).map_err(|error| error.to_string())?;
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let horizon = problem["horizon"].as_i64().unwrap_or(0);
    let now = random.random_range(0..=horizon / 3);
    problem["now"] = json!(now);
    problem["cost"]["change"] = json!(random.random_range(1..10));
    stand_as_planned(&mut problem, &plan, now);
    match event {
        Event::Nothing => {}
        Event::Overrun => overrun(&mut problem, now, &mut random),
        Event::Absence => {
            let count = problem["resources"].as_array().map_or(0, Vec::len);
            if count > 0 {
                let which = random.random_range(0..count);
                close(&mut problem["resources"][which], horizon, (now, now + horizon / 3));
            }
        }
        Event::Closure => {
            let count = problem["places"].as_array().map_or(0, Vec::len);
            if count > 0 {
                let which = random.random_range(0..count);
                close(&mut problem["places"][which], horizon, (now, now + horizon / 8));
            }
        }
        Event::LatePart => late_part(&mut problem, now + horizon / 6, &mut random),
        Event::Urgent => urgent(&mut problem, now, horizon),
    }
    Ok(problem.to_string())
}

fn list(value: &mut Value) -> impl Iterator<Item = &mut Value> {
    value.as_array_mut().into_iter().flatten()
}

/// Previous places for every step that was planned; fixed ones for those that have begun.
fn stand_as_planned(problem: &mut Value, plan: &Value, now: i64) {
    let planned = plan["jobs"].as_array().cloned().unwrap_or_default();
    for job in list(&mut problem["jobs"]) {
        let Some(entry) = planned.iter().find(|entry| entry["id"] == job["id"]) else { continue };
        let (mut fixed, mut previous) = (Map::new(), Map::new());
        for step in entry["steps"].as_array().into_iter().flatten() {
            let name = step["id"].as_str().unwrap_or_default().to_owned();
            let stands =
                json!({"start": step["start"], "option": step["option"], "uses": step["uses"]});
            if step["start"].as_i64().is_some_and(|start| start < now) {
                fixed.insert(name.clone(), stands.clone());
            }
            previous.insert(name, stands);
        }
        job["fixed"] = Value::Object(fixed);
        job["previous"] = Value::Object(previous);
    }
}

/// The last step begun of a job takes a third longer than a step may take.
fn overrun(problem: &mut Value, now: i64, random: &mut ChaCha8Rng) {
    let mut running: Vec<&mut Value> = Vec::new();
    for job in list(&mut problem["jobs"]) {
        let fixed = job["fixed"].as_object_mut().into_iter().flatten();
        running.extend(fixed.max_by_key(|(_, step)| step["start"].as_i64()).map(|(_, step)| step));
    }
    if !running.is_empty() {
        let which = random.random_range(0..running.len());
        let start = running[which]["start"].as_i64().unwrap_or(0);
        running[which]["minutes"] = json!(now - start + 60);
    }
}

fn close(calendar: &mut Value, horizon: i64, (from, to): (i64, i64)) {
    let open = calendar["open"].as_array().cloned().unwrap_or_else(|| vec![json!([0, horizon])]);
    let mut left = Vec::new();
    for window in open {
        let (begin, end) = (window[0].as_i64().unwrap_or(0), window[1].as_i64().unwrap_or(0));
        let pieces = [[begin, end.min(from)], [begin.max(to), end]];
        left.extend(
            pieces.into_iter().filter(|piece| piece[0] < piece[1]).map(|piece| json!(piece)),
        );
    }
    calendar["open"] = Value::Array(left);
}

fn late_part(problem: &mut Value, from: i64, random: &mut ChaCha8Rng) {
    let mut waiting: Vec<&mut Value> = Vec::new();
    for job in list(&mut problem["jobs"]) {
        let fixed = job["fixed"].as_object().cloned().unwrap_or_default();
        let begun = |step: &Value| step["id"].as_str().is_some_and(|id| fixed.contains_key(id));
        waiting.extend(list(&mut job["steps"]).find(|step| !begun(step)));
    }
    if !waiting.is_empty() {
        let which = random.random_range(0..waiting.len());
        waiting[which]["release"] = json!(from);
    }
}

fn urgent(problem: &mut Value, now: i64, horizon: i64) {
    let jobs = problem["jobs"].as_array_mut();
    let Some(jobs) = jobs else { return };
    let shortest = jobs.iter().min_by_key(|job| job["steps"].as_array().map_or(0, Vec::len));
    let Some(mut job) = shortest.cloned() else { return };
    if let Some(fields) = job.as_object_mut() {
        fields.remove("fixed");
        fields.remove("previous");
    }
    for step in list(&mut job["steps"]) {
        step["release"] = json!(0);
    }
    job["id"] = json!("urgent");
    job["release"] = json!(now);
    job["due"] = json!(now + horizon / 10);
    job["weight"] = json!(8);
    job["leave_out_cost"] = json!(1_000 * horizon);
    jobs.push(job);
}
