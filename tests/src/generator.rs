//! Makes planning problems from a seed: days shaped like a calibration shop's, and tiny nasty ones.
//!
//! All figures are invented. A problem is made as JSON text, so that the planner's reader is
//! exercised too.

use rand::{Rng as _, RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use serde_json::{Map, Value, json};

/// What kind of problem to make.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Up to three jobs of up to three steps within a short time: small enough to try every plan.
    Tiny,
    /// Up to eight jobs with everything the format knows: fixed, previous, cures, start windows.
    Nasty,
    /// A day of `jobs` jobs: scans, aims at few bays, road drives, breaks, breakable promises.
    Day {
        /// How many jobs.
        jobs: usize,
    },
}

/// Makes the problem of a seed.
pub fn problem(shape: Shape, seed: u64) -> String {
    let random = ChaCha8Rng::seed_from_u64(seed);
    let mut maker = match shape {
        Shape::Tiny => Maker::new(random, Size { horizon: 8, jobs: 3, steps: 3, minutes: 3 }),
        Shape::Nasty => Maker::new(random, Size { horizon: 120, jobs: 8, steps: 5, minutes: 20 }),
        Shape::Day { jobs } => {
            let steps = 6;
            let mut maker = Maker::new(random, Size { horizon: 1200, jobs, steps, minutes: 60 });
            maker.plain = true;
            maker
        }
    };
    maker.problem(seed).to_string()
}

/// How many problems to make: as many as a plain run of the tests has time for, unless the environment
/// asks for more in `BAYWRIGHT_CASES`.
pub fn cases(plain: u64) -> u64 {
    std::env::var("BAYWRIGHT_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(plain)
}

#[derive(Clone, Copy)]
struct Size {
    horizon: i64,
    jobs: usize,
    steps: usize,
    minutes: i64,
}

struct Maker {
    random: ChaCha8Rng,
    size: Size,
    places: usize,
    resources: usize,
    /// Whether the nastier parts (fixed, previous, closed places) stay out.
    plain: bool,
}

impl Maker {
    fn new(mut random: ChaCha8Rng, size: Size) -> Self {
        let places = random.random_range(1..=4);
        let resources = random.random_range(1..=if size.horizon < 20 { 2 } else { 4 });
        Self { random, size, places, resources, plain: false }
    }

    fn chance(&mut self, percent: u32) -> bool {
        self.random.next_u32() % 100 < percent
    }

    fn minutes(&mut self, least: i64, most: i64) -> i64 {
        self.random.random_range(least..=most.max(least))
    }

    fn windows(&mut self) -> Value {
        let horizon = self.size.horizon;
        let cut = self.minutes(horizon / 4, horizon / 2);
        let pause = self.minutes(0, horizon / 6);
        if !self.plain && self.chance(15) {
            // Overlapping and touching windows are not the same as one window.
            return json!([[cut, horizon], [0, cut + pause], [cut, cut]]);
        }
        json!([[0, cut], [cut + pause, horizon]])
    }

    fn calendars(&mut self, name: &str, count: usize) -> Vec<Value> {
        let mut out = Vec::new();
        for at in 0..count {
            let id = format!("{name} {at}");
            out.push(match self.random.next_u32() % 10 {
                0 if !self.plain => json!({"id": id, "open": []}),
                0..=4 => json!({"id": id, "open": self.windows()}),
                _ => json!({"id": id}),
            });
        }
        out
    }

    fn problem(&mut self, seed: u64) -> Value {
        let now = if self.chance(30) { self.minutes(1, 3) } else { 0 };
        let places = self.calendars("place", self.places);
        let resources = self.calendars("resource", self.resources);
        let mut clashes = Vec::new();
        for one in 0..self.places {
            for other in 0..one {
                if self.chance(30) {
                    clashes.push(json!([format!("place {one}"), format!("place {other}")]));
                }
            }
        }
        let jobs =
            if self.plain { self.size.jobs } else { self.random.random_range(1..=self.size.jobs) };
        let jobs: Vec<Value> = (0..jobs).map(|at| self.job(at)).collect();
        let mut price = |dear: i64| if self.chance(70) { self.minutes(0, dear) } else { 0 };
        let cost = json!({"lateness": price(9), "finish": price(2), "move": price(4),
            "change": price(6), "makespan": price(3)});
        json!({
            "format": "planning-problem/1", "name": format!("seed {seed}"), "now": now,
            "horizon": self.size.horizon, "places": places, "resources": resources,
            "clashes": clashes, "jobs": jobs, "cost": cost,
        })
    }

    fn job(&mut self, at: usize) -> Value {
        let count = self.random.random_range(1..=self.size.steps);
        let steps: Vec<Value> = (0..count).map(|step| self.step(step)).collect();
        let mut job = json!({"id": format!("J{at}"), "steps": steps});
        let horizon = self.size.horizon;
        if self.chance(60) {
            job["release"] = json!(self.minutes(0, horizon / 3));
        }
        if self.chance(80) {
            job["due"] = json!(self.minutes(horizon / 8, horizon));
        }
        if self.chance(50) {
            job["weight"] = json!(self.minutes(0, 5));
        }
        if self.chance(if self.plain { 100 } else { 75 }) {
            job["leave_out_cost"] = json!(self.minutes(10, 40 * horizon));
        } else if self.chance(50) {
            job["leave_out_cost"] = Value::Null;
        }
        if self.chance(60) {
            job["move_minutes"] = json!(self.minutes(0, self.size.minutes / 2));
        }
        if !self.plain {
            self.add_fixed_and_previous(&mut job);
        }
        job
    }

    fn step(&mut self, at: usize) -> Value {
        let options: Vec<Value> =
            (0..self.random.random_range(1..=3)).map(|_| self.option()).collect();
        let mut step = json!({"id": format!("s{at}"), "options": options});
        if self.chance(60) {
            let mut after = Map::new();
            for other in 0..at {
                if self.chance(35) {
                    let gap = if self.chance(50) { self.minutes(1, self.size.minutes) } else { 0 };
                    after.insert(format!("s{other}"), json!(gap));
                }
            }
            step["after"] = Value::Object(after);
        }
        if self.chance(20) {
            step["release"] = json!(self.minutes(0, self.size.horizon / 2));
        }
        step
    }

    fn option(&mut self) -> Value {
        let mut option = json!({"minutes": self.minutes(1, self.size.minutes)});
        if self.chance(75) {
            option["place"] = json!(format!("place {}", self.random.random_range(0..self.places)));
        }
        if self.chance(20) {
            let from = self.minutes(0, self.size.horizon / 2);
            let to = self.minutes(from, self.size.horizon);
            option["starts"] = json!([[from, from + 1], [to, to + self.size.minutes]]);
        }
        let groups = self.random.random_range(0..=2.min(self.resources));
        let mut needs = Vec::new();
        for _ in 0..groups {
            let first = self.random.random_range(0..self.resources);
            let mut group = vec![format!("resource {first}")];
            for other in (0..self.resources).filter(|other| *other != first) {
                if self.chance(50) {
                    group.push(format!("resource {other}"));
                }
            }
            needs.push(group);
        }
        if !needs.is_empty() {
            option["needs"] = json!(needs);
        }
        option
    }

    /// Some steps stand fixed, some stood somewhere before, one of those in an option that is gone.
    fn add_fixed_and_previous(&mut self, job: &mut Value) {
        let steps = job["steps"].as_array().cloned().unwrap_or_default();
        let (mut fixed, mut previous) = (Map::new(), Map::new());
        let any_fixed = self.chance(20);
        for step in &steps {
            let options = step["options"].as_array().map_or(1, Vec::len);
            let number = self.random.random_range(0..options);
            let Some(uses) = distinct_uses(&step["options"][number]["needs"]) else { continue };
            let name = step["id"].as_str().unwrap_or_default().to_owned();
            if any_fixed && self.chance(50) {
                let start = self.minutes(-self.size.minutes, self.size.horizon / 2);
                let mut stands = json!({"start": start, "option": number, "uses": uses});
                if self.chance(40) {
                    stands["minutes"] = json!(self.minutes(1, self.size.minutes));
                }
                fixed.insert(name.clone(), stands);
            }
            if self.chance(30) {
                let start = self.minutes(0, self.size.horizon);
                let option = if self.chance(80) { json!(number) } else { Value::Null };
                previous.insert(name, json!({"start": start, "option": option, "uses": uses}));
            }
        }
        if !fixed.is_empty() {
            job["fixed"] = Value::Object(fixed);
        }
        if !previous.is_empty() {
            job["previous"] = Value::Object(previous);
        }
    }
}

/// The first resource of each need that no earlier need took; none when one is left without.
fn distinct_uses(needs: &Value) -> Option<Vec<String>> {
    let mut uses: Vec<String> = Vec::new();
    for group in needs.as_array().into_iter().flatten() {
        let names = group.as_array().into_iter().flatten().filter_map(Value::as_str);
        let free = names.map(str::to_owned).find(|name| !uses.contains(name))?;
        uses.push(free);
    }
    Some(uses)
}
