//! The old plan repaired by right shift, worked out minute by minute from the files alone: the least that a re-plan has
//! to reach. It shares no code with the planner.
//!
//! In the order of the previous starts each step keeps its option and its uses and starts at the first minute, no
//! earlier than before, at which nothing is in its way. New jobs come last, each step in the way that ends first; a job that
//! finds no room is left out. Source: Abumaizar and Svestka, "Rescheduling job shops under random
//! disruptions", International J. of Production Research 35 (1997).

use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The repaired plan as text; whether it keeps every rule is for the referee to say.
///
/// # Errors
/// A sentence when the text is not JSON.
pub fn right_shift(problem: &str) -> Result<String, String> {
    let problem: Value = serde_json::from_str(problem).map_err(|error| error.to_string())?;
    let jobs: Vec<&Value> = items(&problem["jobs"]).collect();
    let mut shop = Shop { problem: &problem, taken: Vec::new(), vehicles: BTreeMap::new() };
    for job in &jobs {
        shop.stand_fixed(job);
    }
    let mut old: Vec<(i64, &Value, &Value)> = Vec::new();
    let mut new: Vec<&Value> = Vec::new();
    for job in &jobs {
        if job["previous"].as_object().is_none_or(serde_json::Map::is_empty) {
            new.push(job);
            continue;
        }
        let open = items(&job["steps"]).filter(|step| job["fixed"][text(&step["id"])].is_null());
        old.extend(open.map(|step| {
            let was = &job["previous"][text(&step["id"])];
            (number(&was["start"]), *job, step)
        }));
    }
    old.sort_by_key(|(start, ..)| *start);
    for (start, job, step) in old {
        let was = &job["previous"][text(&step["id"])];
        shop.push_on(job, step, was, start);
    }
    for job in new {
        for step in items(&job["steps"]) {
            shop.put_anywhere(job, step);
        }
    }
    Ok(shop.plan(&jobs).to_string())
}

fn items(value: &Value) -> impl Iterator<Item = &Value> {
    value.as_array().into_iter().flatten()
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

fn number(value: &Value) -> i64 {
    value.as_i64().unwrap_or(0)
}

/// A span during which something is taken.
struct Taken {
    what: String,
    job: String,
    from: i64,
    to: i64,
}

/// Where a job's vehicle is after its last step so far.
#[derive(Default)]
struct Vehicle {
    steps: Vec<Value>,
    ends: BTreeMap<String, i64>,
    end: i64,
    place: Value,
    stuck: bool,
}

struct Shop<'p> {
    problem: &'p Value,
    taken: Vec<Taken>,
    vehicles: BTreeMap<String, Vehicle>,
}

impl Shop<'_> {
    fn stand_fixed(&mut self, job: &Value) {
        let mut fixed: Vec<_> = job["fixed"].as_object().into_iter().flatten().collect();
        fixed.sort_by_key(|(_, step)| number(&step["start"]));
        for (id, stands) in fixed {
            let Some(step) = items(&job["steps"]).find(|step| text(&step["id"]) == id) else {
                continue;
            };
            self.stand(job, step, stands, number(&stands["start"]));
        }
    }

    fn stand(&mut self, job: &Value, step: &Value, stands: &Value, start: i64) {
        let option = option_of(step, stands);
        let minutes = stands["minutes"].as_i64().unwrap_or_else(|| number(&option["minutes"]));
        let id = text(&job["id"]).to_owned();
        let vehicle = self.vehicles.entry(id.clone()).or_default();
        let stays = !vehicle.steps.is_empty() && vehicle.place == option["place"];
        let from = if stays { vehicle.end } else { start };
        let to = start + minutes;
        if let Some(place) = option["place"].as_str() {
            self.taken.push(Taken { what: place.to_owned(), job: id.clone(), from, to });
        }
        for used in items(&stands["uses"]) {
            let what = text(used).to_owned();
            self.taken.push(Taken { what, job: String::new(), from: start, to });
        }
        vehicle.steps.push(json!({"id": step["id"], "start": start, "option": stands["option"],
            "uses": stands["uses"]}));
        vehicle.ends.insert(text(&step["id"]).to_owned(), to);
        vehicle.end = to;
        vehicle.place = option["place"].clone();
    }

    /// Lets a step stand at the first possible minute from `from` on; its job is stuck where there is none.
    fn push_on(&mut self, job: &Value, step: &Value, stands: &Value, from: i64) {
        let stands = json!({"option": stands["option"], "uses": stands["uses"]});
        match (from..=number(&self.problem["horizon"]))
            .find(|start| self.may_start(job, step, &stands, *start))
        {
            Some(start) => self.stand(job, step, &stands, start),
            None => self.vehicles.entry(text(&job["id"]).to_owned()).or_default().stuck = true,
        }
    }

    fn put_anywhere(&mut self, job: &Value, step: &Value) {
        let mut best: Option<(i64, i64, Value)> = None;
        for (at, option) in items(&step["options"]).enumerate() {
            for uses in choices(&items(&option["needs"]).collect::<Vec<_>>()) {
                let stands = json!({"option": at, "uses": uses});
                let found = (0..=number(&self.problem["horizon"]))
                    .find(|start| self.may_start(job, step, &stands, *start));
                let Some(start) = found else { continue };
                let end = start + number(&option["minutes"]);
                if best.as_ref().is_none_or(|(least, ..)| end < *least) {
                    best = Some((end, start, stands));
                }
            }
        }
        match best {
            Some((_, start, stands)) => self.stand(job, step, &stands, start),
            None => self.vehicles.entry(text(&job["id"]).to_owned()).or_default().stuck = true,
        }
    }

    fn may_start(&self, job: &Value, step: &Value, stands: &Value, start: i64) -> bool {
        let option = option_of(step, stands);
        let end = start + number(&option["minutes"]);
        let fresh = Vehicle::default();
        let vehicle = self.vehicles.get(text(&job["id"])).unwrap_or(&fresh);
        let begun = !vehicle.steps.is_empty();
        let moves = begun && vehicle.place != option["place"];
        let pause = if moves { number(&job["move_minutes"]) } else { 0 };
        let released =
            number(&self.problem["now"]).max(number(&job["release"])).max(number(&step["release"]));
        let starts = option["starts"].as_array();
        let allowed = starts.is_none_or(|starts| {
            starts.iter().any(|w| number(&w[0]) <= start && start < number(&w[1]))
        });
        let after = waits(job, step);
        let waited = after
            .iter()
            .all(|(other, gap)| vehicle.ends.get(other).is_some_and(|end| start >= end + gap));
        let uses_free = items(&stands["uses"]).all(|used| {
            self.is_open("resources", used, start, end) && self.is_free(text(used), "", start, end)
        });
        let held_from = if begun && !moves { vehicle.end } else { start };
        let place_free = option["place"].as_str().is_none_or(|place| {
            self.is_open("places", &option["place"], start, end)
                && self
                    .holds(place)
                    .all(|held| self.is_free(held, text(&job["id"]), held_from, end))
        });
        !vehicle.stuck
            && end <= number(&self.problem["horizon"])
            && start >= released
            && (!begun || start >= vehicle.end + pause)
            && (allowed && waited && uses_free && place_free)
    }

    /// A place and those that clash with it.
    fn holds<'a>(&'a self, place: &'a str) -> impl Iterator<Item = &'a str> {
        let clashing = items(&self.problem["clashes"]).filter_map(move |pair| {
            let (one, other) = (text(&pair[0]), text(&pair[1]));
            if one == place {
                Some(other)
            } else if other == place {
                Some(one)
            } else {
                None
            }
        });
        std::iter::once(place).chain(clashing)
    }

    fn is_open(&self, kind: &str, id: &Value, start: i64, end: i64) -> bool {
        let known = items(&self.problem[kind]).find(|known| known["id"] == *id);
        known.is_some_and(|known| match known["open"].as_array() {
            Some(open) => open.iter().any(|w| number(&w[0]) <= start && end <= number(&w[1])),
            None => start >= 0 && end <= number(&self.problem["horizon"]),
        })
    }

    fn is_free(&self, what: &str, own: &str, start: i64, end: i64) -> bool {
        !self.taken.iter().any(|taken| {
            taken.what == what
                && (own.is_empty() || taken.job != own)
                && taken.from < end
                && start < taken.to
        })
    }

    fn plan(&self, jobs: &[&Value]) -> Value {
        let shown = jobs.iter().map(|job| {
            match self.vehicles.get(text(&job["id"])).filter(|vehicle| !vehicle.stuck) {
                Some(vehicle) => json!({"id": job["id"], "steps": vehicle.steps}),
                None => json!({"id": job["id"], "left_out": true}),
            }
        });
        json!({"format": "planning-plan/1", "status": "feasible", "jobs": shown.collect::<Vec<_>>()})
    }
}

/// The steps that a step comes after, each with the minutes to wait.
fn waits(job: &Value, step: &Value) -> Vec<(String, i64)> {
    if let Some(after) = step["after"].as_object() {
        return after.iter().map(|(id, gap)| (id.clone(), number(gap))).collect();
    }
    let steps: Vec<&Value> = items(&job["steps"]).collect();
    let at = steps.iter().position(|other| other["id"] == step["id"]).unwrap_or(0);
    let before = at.checked_sub(1).map(|before| text(&steps[before]["id"]).to_owned());
    before.into_iter().map(|id| (id, 0)).collect()
}

fn option_of<'s>(step: &'s Value, stands: &Value) -> &'s Value {
    let option = usize::try_from(number(&stands["option"])).unwrap_or(0);
    &step["options"][option]
}

/// Every choice of one resource for each need, none twice.
fn choices(needs: &[&Value]) -> Vec<Vec<String>> {
    let mut all: Vec<Vec<String>> = vec![Vec::new()];
    for need in needs {
        let grown = all.iter().flat_map(|chosen| {
            let free =
                items(need).map(text).filter(|used| chosen.iter().all(|other| other != used));
            free.map(|used| chosen.iter().cloned().chain([used.to_owned()]).collect())
        });
        all = grown.collect();
    }
    all
}
