//! The problem as the reader of a certificate takes it: straight from its JSON, with positions for ids.

use serde_json::Value;

/// Half-open spans of minutes.
pub(super) type Windows = Vec<(i64, i64)>;

/// A whole problem.
pub(super) struct Day {
    pub(super) now: i64,
    pub(super) horizon: i64,
    pub(super) places: Vec<Owner>,
    pub(super) resources: Vec<Owner>,
    clashes: Vec<(usize, usize)>,
    /// What fixed steps hold: the job, the place and when.
    pub(super) held: Vec<(usize, usize, (i64, i64))>,
    /// What they use: the resource and when.
    pub(super) used: Vec<(usize, (i64, i64))>,
    pub(super) jobs: Vec<Job>,
    pub(super) cost: Cost,
}

/// A place or a resource.
pub(super) struct Owner {
    pub(super) id: String,
    pub(super) open: Windows,
}

pub(super) struct Cost {
    pub(super) lateness: i64,
    pub(super) finish: i64,
    pub(super) moves: i64,
    pub(super) change: i64,
    pub(super) makespan: i64,
}

pub(super) struct Job {
    pub(super) release: i64,
    pub(super) due: Option<i64>,
    pub(super) weight: i64,
    /// What leaving it out costs, changes included; none where it must be planned.
    pub(super) left_out: Option<i128>,
    /// The minutes of a move.
    pub(super) pause: i64,
    pub(super) steps: Vec<Step>,
    /// Its fixed steps, in the order of time.
    pub(super) fixed: Vec<usize>,
}

pub(super) struct Step {
    pub(super) release: i64,
    /// The steps before it and the minutes after each; none between two fixed steps.
    pub(super) after: Vec<(usize, i64)>,
    pub(super) options: Vec<Choice>,
    pub(super) fixed: Option<Fixed>,
    pub(super) previous: Option<Previous>,
}

/// One option of a step.
pub(super) struct Choice {
    pub(super) minutes: i64,
    pub(super) place: Option<usize>,
    pub(super) starts: Option<Windows>,
    pub(super) needs: Vec<Vec<usize>>,
}

pub(super) struct Fixed {
    pub(super) span: (i64, i64),
    pub(super) place: Option<usize>,
    pub(super) uses: Vec<usize>,
    /// Whether it stood otherwise before.
    pub(super) changed: bool,
}

/// How a step stood before.
pub(super) struct Previous {
    pub(super) start: i64,
    pub(super) option: Option<usize>,
    /// None where a resource is gone.
    pub(super) uses: Option<Vec<usize>>,
}

pub(super) fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn number(value: &Value, key: &str, default: i64) -> i64 {
    value[key].as_i64().unwrap_or(default)
}

pub(super) fn text(value: &Value) -> &str {
    value.as_str().unwrap_or("")
}

fn windows(value: &Value) -> Option<Windows> {
    let pair = |pair: &Value| Some((pair[0].as_i64()?, pair[1].as_i64()?));
    value.as_array().map(|list| list.iter().filter_map(pair).collect())
}

fn position(number: &Value) -> Option<usize> {
    number.as_u64().and_then(|number| usize::try_from(number).ok())
}

impl Day {
    pub(super) fn read(problem: &Value) -> Result<Self, String> {
        let horizon = problem["horizon"].as_i64().ok_or("the problem has no horizon")?;
        let owners = |kind: &str| {
            let owner = |owner: &Value| Owner {
                id: text(&owner["id"]).to_owned(),
                open: windows(&owner["open"]).unwrap_or_else(|| vec![(0, horizon)]),
            };
            list(&problem[kind]).iter().map(owner).collect()
        };
        let cost = |of: &str| number(&problem["cost"], of, 0);
        let mut day = Self {
            now: number(problem, "now", 0),
            horizon,
            places: owners("places"),
            resources: owners("resources"),
            clashes: Vec::new(),
            held: Vec::new(),
            used: Vec::new(),
            jobs: Vec::new(),
            cost: Cost {
                lateness: cost("lateness"),
                finish: cost("finish"),
                moves: cost("move"),
                change: cost("change"),
                makespan: cost("makespan"),
            },
        };
        for pair in list(&problem["clashes"]) {
            let pair = day.place(text(&pair[0])).zip(day.place(text(&pair[1])));
            day.clashes.push(pair.ok_or("a clash names an unknown place")?);
        }
        for job in list(&problem["jobs"]) {
            let job = day.job(job)?;
            day.jobs.push(job);
        }
        for (at, job) in day.jobs.iter().enumerate() {
            for fixed in job.steps.iter().filter_map(|step| step.fixed.as_ref()) {
                day.held.extend(fixed.place.map(|place| (at, place, fixed.span)));
                day.used.extend(fixed.uses.iter().map(|used| (*used, fixed.span)));
            }
        }
        Ok(day)
    }

    pub(super) fn place(&self, id: &str) -> Option<usize> {
        self.places.iter().position(|place| place.id == id)
    }

    pub(super) fn resource(&self, id: &str) -> Option<usize> {
        self.resources.iter().position(|resource| resource.id == id)
    }

    pub(super) fn clash(&self, one: usize, other: usize) -> bool {
        self.clashes.iter().any(|pair| *pair == (one, other) || *pair == (other, one))
    }

    /// Whether two vehicles cannot be at two places at once.
    pub(super) fn meet(&self, one: usize, other: usize) -> bool {
        one == other || self.clash(one, other)
    }

    fn job(&self, job: &Value) -> Result<Job, String> {
        let specs = list(&job["steps"]);
        let mut steps = Vec::new();
        for spec in specs {
            steps.push(self.step(job, spec)?);
        }
        for at in 0..steps.len() {
            let mut after = after(specs, at);
            after.retain(|(other, _)| steps[at].fixed.is_none() || steps[*other].fixed.is_none());
            steps[at].after = after;
        }
        let span = |step: usize| steps[step].fixed.as_ref().map(|fixed| (fixed.span, step));
        let mut fixed: Vec<_> = (0..steps.len()).filter_map(span).collect();
        fixed.sort_unstable();
        let had = job["previous"].as_object().map_or(0, serde_json::Map::len) as i128;
        let price = job["leave_out_cost"].as_i64().filter(|_| fixed.is_empty());
        Ok(Job {
            release: number(job, "release", 0),
            due: job["due"].as_i64(),
            weight: number(job, "weight", 1),
            left_out: price.map(|price| i128::from(price) + i128::from(self.cost.change) * had),
            pause: number(job, "move_minutes", 0),
            fixed: fixed.into_iter().map(|(_, step)| step).collect(),
            steps,
        })
    }

    fn step(&self, job: &Value, spec: &Value) -> Result<Step, String> {
        let id = text(&spec["id"]);
        let mut options = Vec::new();
        for option in list(&spec["options"]) {
            options.push(self.option(option)?);
        }
        let was = &job["previous"][id];
        let stands = &job["fixed"][id];
        let fixed = match position(&stands["option"]).and_then(|at| options.get(at)) {
            Some(option) => {
                let start = number(stands, "start", 0);
                let same = ["start", "option", "uses"].iter().all(|key| {
                    let blank = *key == "uses" && list(&was[*key]).is_empty();
                    was[*key] == stands[*key] || (blank && list(&stands[*key]).is_empty())
                });
                Some(Fixed {
                    span: (start, start + number(stands, "minutes", option.minutes)),
                    place: option.place,
                    uses: self.uses(&stands["uses"]).ok_or("a fixed step uses the unknown")?,
                    changed: !was.is_null() && !same,
                })
            }
            None if stands.is_null() => None,
            None => return Err("a fixed step has no such option".to_owned()),
        };
        let previous = (!was.is_null()).then(|| Previous {
            start: number(was, "start", i64::MIN),
            option: position(&was["option"]).filter(|at| *at < options.len()),
            uses: self.uses(&was["uses"]),
        });
        let release = number(spec, "release", 0);
        Ok(Step { release, after: Vec::new(), options, fixed, previous })
    }

    fn option(&self, option: &Value) -> Result<Choice, String> {
        let place = match option["place"].as_str() {
            Some(id) => Some(self.place(id).ok_or("an option names an unknown place")?),
            None => None,
        };
        let group = |group: &Value| self.uses(group);
        let needs: Option<Vec<Vec<usize>>> = list(&option["needs"]).iter().map(group).collect();
        Ok(Choice {
            minutes: number(option, "minutes", 1),
            place,
            starts: windows(&option["starts"]),
            needs: needs.ok_or("an option needs an unknown resource")?,
        })
    }

    fn uses(&self, named: &Value) -> Option<Vec<usize>> {
        list(named).iter().map(|id| self.resource(text(id))).collect()
    }
}

fn after(specs: &[Value], at: usize) -> Vec<(usize, i64)> {
    let find = |id: &str| specs.iter().position(|step| step["id"] == id);
    match specs[at]["after"].as_object() {
        Some(named) => {
            let pair = |(id, gap): (&String, &Value)| Some((find(id)?, gap.as_i64().unwrap_or(0)));
            named.iter().filter_map(pair).collect()
        }
        None => at.checked_sub(1).map(|before| (before, 0)).into_iter().collect(),
    }
}

impl Job {
    /// What finishing at a minute costs.
    pub(super) fn finish(&self, cost: &Cost, minute: i64) -> i128 {
        let late = self.due.map_or(0, |due| (minute - due).max(0));
        i128::from(cost.lateness) * i128::from(self.weight) * i128::from(late)
            + i128::from(cost.finish) * i128::from(minute)
    }
}
