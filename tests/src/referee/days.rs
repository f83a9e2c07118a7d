//! The problem's side of the referee: calendars, orders and prices, read straight from its JSON.

use super::{Broken, Rule};
use serde_json::Value;

/// A problem as the referee sees it.
pub(super) struct Days<'p> {
    problem: &'p Value,
    jobs: &'p [Value],
}

/// One step as it stands in the plan.
#[derive(Clone)]
pub(super) struct Stood<'p> {
    pub(super) job: &'p str,
    pub(super) step: &'p str,
    pub(super) spec: &'p Value,
    pub(super) option_number: i64,
    pub(super) option: &'p Value,
    pub(super) start: i64,
    pub(super) end: i64,
    pub(super) uses: Vec<String>,
    pub(super) fixed: bool,
}

impl Stood<'_> {
    pub(super) fn name(&self) -> String {
        format!("{}/{}", self.job, self.step)
    }

    pub(super) fn place(&self) -> Option<&str> {
        self.option["place"].as_str()
    }
}

/// A text of an object, empty when there is none.
pub(super) fn text<'v>(value: &'v Value, key: &str) -> &'v str {
    value[key].as_str().unwrap_or("")
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn texts(value: &Value) -> Vec<String> {
    list(value).iter().filter_map(Value::as_str).map(str::to_owned).collect()
}

fn windows(value: &Value) -> Vec<(i64, i64)> {
    let pair = |window: &Value| Some((window[0].as_i64()?, window[1].as_i64()?));
    list(value).iter().filter_map(pair).collect()
}

impl<'p> Days<'p> {
    pub(super) fn of(problem: &'p Value) -> Result<Self, String> {
        let jobs = problem["jobs"].as_array().ok_or("the problem has no list of jobs")?;
        problem["horizon"].as_i64().ok_or("the problem has no horizon")?;
        Ok(Self { problem, jobs })
    }

    pub(super) fn jobs(&self) -> &'p [Value] {
        self.jobs
    }

    pub(super) fn price(&self, of: &str) -> i64 {
        self.problem["cost"][of].as_i64().unwrap_or(0)
    }

    fn horizon(&self) -> i64 {
        self.problem["horizon"].as_i64().unwrap_or(0)
    }

    /// The places that clash with one.
    pub(super) fn clash(&self, one: &str, other: &str) -> bool {
        list(&self.problem["clashes"]).iter().any(|pair| {
            (pair[0] == one && pair[1] == other) || (pair[0] == other && pair[1] == one)
        })
    }

    fn open(&self, kind: &str, id: &str, start: i64, end: i64) -> bool {
        let Some(owner) = list(&self.problem[kind]).iter().find(|owner| owner["id"] == id) else {
            return false;
        };
        let open = if owner["open"].is_null() {
            vec![(0, self.horizon())]
        } else {
            windows(&owner["open"])
        };
        open.iter().any(|(from, to)| *from <= start && end <= *to)
    }

    /// The job's steps as planned, in the order of time; none when they are not the problem's.
    pub(super) fn steps_of(
        job: &'p Value,
        entry: &Value,
        broken: &mut Vec<Broken>,
    ) -> Option<Vec<Stood<'p>>> {
        let id = text(job, "id");
        let mut refuse = |what: &str| {
            broken.push(Broken::new(Rule::PlanForm, format!("{id}: {what}")));
        };
        let specs = list(&job["steps"]);
        let planned = list(&entry["steps"]);
        let once = |spec: &Value| planned.iter().filter(|step| step["id"] == spec["id"]).count();
        if planned.len() != specs.len() || specs.iter().any(|spec| once(spec) != 1) {
            refuse("its steps are not the problem's, each once");
            return None;
        }
        let mut steps = Vec::new();
        for spec in specs {
            let step = planned.iter().find(|step| step["id"] == spec["id"])?;
            let number = step["option"].as_i64().and_then(|number| usize::try_from(number).ok());
            let option = number.and_then(|number| list(&spec["options"]).get(number));
            let (Some(option), Some(start)) = (option, step["start"].as_i64()) else {
                refuse("a step has no option that exists or no whole minute as its start");
                return None;
            };
            let fixed = &job["fixed"][text(spec, "id")];
            let minutes = fixed["minutes"].as_i64().or(option["minutes"].as_i64())?;
            steps.push(Stood {
                job: id,
                step: text(spec, "id"),
                spec,
                option_number: step["option"].as_i64()?,
                option,
                start,
                end: start + minutes,
                uses: texts(&step["uses"]),
                fixed: !fixed.is_null(),
            });
        }
        steps.sort_by_key(|step| (step.start, step.end));
        Some(steps)
    }

    /// Per step every way to stand that keeps the rules about the step alone.
    pub(super) fn ways_of_each_step(&self, job: &'p Value) -> Vec<Vec<Stood<'p>>> {
        let specs = list(&job["steps"]).iter();
        specs.map(|spec| self.ways_of_step(job, spec)).collect()
    }

    fn ways_of_step(&self, job: &'p Value, spec: &'p Value) -> Vec<Stood<'p>> {
        let fixed = &job["fixed"][text(spec, "id")];
        let mut ways = Vec::new();
        for (number, option) in list(&spec["options"]).iter().enumerate() {
            let minutes = fixed["minutes"].as_i64().or(option["minutes"].as_i64()).unwrap_or(1);
            let starts = match fixed["start"].as_i64() {
                Some(start) => start..start + 1,
                None => 0..self.horizon(),
            };
            for (start, uses) in starts.flat_map(|start| {
                choices(list(&option["needs"])).into_iter().map(move |uses| (start, uses))
            }) {
                let stood = Stood {
                    job: text(job, "id"),
                    step: text(spec, "id"),
                    spec,
                    option_number: i64::try_from(number).unwrap_or(i64::MAX),
                    option,
                    start,
                    end: start + minutes,
                    uses,
                    fixed: !fixed.is_null(),
                };
                let mut broken = Vec::new();
                self.judge_step(job, &stood, &mut broken);
                if broken.is_empty() {
                    ways.push(stood);
                }
            }
        }
        ways
    }

    fn judge_step(&self, job: &Value, step: &Stood<'_>, broken: &mut Vec<Broken>) {
        judge_needs(step, broken);
        if step.fixed {
            judge_fixed(job, step, broken);
        } else {
            self.judge_calendar(job, step, broken);
        }
    }

    /// Every rule that concerns one job by itself.
    pub(super) fn judge_job(&self, job: &Value, steps: &[Stood<'_>], broken: &mut Vec<Broken>) {
        for step in steps {
            self.judge_step(job, step, broken);
        }
        judge_order(job, steps, broken);
        let pause = job["move_minutes"].as_i64().unwrap_or(0);
        for pair in steps.windows(2) {
            let both_fixed = pair.iter().all(|step| step.fixed);
            let moves = pair[0].place() != pair[1].place();
            if moves && !both_fixed && pair[1].start < pair[0].end + pause {
                let what = format!("{}: no time to move before it", pair[1].name());
                broken.push(Broken::new(Rule::MoveTime, what));
            }
        }
        for (at, one) in steps.iter().enumerate() {
            for other in &steps[at + 1..] {
                if !(one.fixed && other.fixed) && one.start < other.end && other.start < one.end {
                    let what = format!("{} runs while {} does", other.name(), one.name());
                    broken.push(Broken::new(Rule::OneAtATime, what));
                }
            }
        }
    }

    fn judge_calendar(&self, job: &Value, step: &Stood<'_>, broken: &mut Vec<Broken>) {
        let mut refuse = |rule: Rule, what: String| {
            broken.push(Broken::new(rule, format!("{}: {what}", step.name())));
        };
        let now = self.problem["now"].as_i64().unwrap_or(0);
        let releases = [&job["release"], &step.spec["release"]].map(|r| r.as_i64().unwrap_or(0));
        let earliest = now.max(releases[0]).max(releases[1]);
        if step.start < earliest {
            refuse(Rule::Release, format!("starts at {}, before {earliest}", step.start));
        }
        if step.end > self.horizon() {
            refuse(Rule::Horizon, format!("ends at {}, after the horizon", step.end));
        }
        let starts = windows(&step.option["starts"]);
        let inside = starts.iter().any(|(from, to)| *from <= step.start && step.start < *to);
        if !step.option["starts"].is_null() && !inside {
            refuse(Rule::StartWindow, format!("begins at {}, outside its windows", step.start));
        }
        if let Some(place) = step.place()
            && !self.open("places", place, step.start, step.end)
        {
            refuse(Rule::PlaceOpen, format!("{place} is not open all the time"));
        }
        for used in &step.uses {
            if !self.open("resources", used, step.start, step.end) {
                refuse(Rule::ResourceOpen, format!("{used} is not open all the time"));
            }
        }
    }

    /// What a job costs that is planned, the makespan apart.
    pub(super) fn cost_of_job(&self, job: &Value, steps: &[Stood<'_>], finish: i64) -> i128 {
        let wide = |number: i64| i128::from(number);
        let late = job["due"].as_i64().map_or(0, |due| (finish - due).max(0));
        let weight = job["weight"].as_i64().unwrap_or(1);
        let moves = steps.windows(2).filter(|pair| pair[0].place() != pair[1].place()).count();
        let changes = steps.iter().filter(|step| {
            let was = &job["previous"][step.step];
            !was.is_null()
                && (was["start"].as_i64() != Some(step.start)
                    || was["option"].as_i64() != Some(step.option_number)
                    || texts(&was["uses"]) != step.uses)
        });
        wide(self.price("lateness")) * wide(weight) * wide(late)
            + wide(self.price("finish")) * wide(finish)
            + wide(self.price("move")) * moves as i128
            + wide(self.price("change")) * changes.count() as i128
    }
}

/// Every choice of one resource out of each group.
fn choices(groups: &[Value]) -> Vec<Vec<String>> {
    let mut all = vec![Vec::new()];
    for group in groups {
        let longer = |so_far: Vec<String>| {
            let members = texts(group).into_iter();
            members.map(move |used| so_far.iter().cloned().chain([used]).collect())
        };
        all = all.into_iter().flat_map(longer).collect();
    }
    all
}

fn judge_needs(step: &Stood<'_>, broken: &mut Vec<Broken>) {
    let groups = list(&step.option["needs"]);
    let mut refuse = |what: String| {
        broken.push(Broken::new(Rule::Needs, format!("{}: {what}", step.name())));
    };
    if groups.len() != step.uses.len() {
        refuse(format!("{} resources for {} needs", step.uses.len(), groups.len()));
    }
    for (at, used) in step.uses.iter().enumerate() {
        if step.uses[..at].contains(used) {
            refuse(format!("{used} serves two needs"));
        }
        if groups.get(at).is_some_and(|group| !texts(group).contains(used)) {
            refuse(format!("{used} is not in the need"));
        }
    }
}

fn judge_fixed(job: &Value, step: &Stood<'_>, broken: &mut Vec<Broken>) {
    let fixed = &job["fixed"][step.step];
    let same = fixed["start"].as_i64() == Some(step.start)
        && fixed["option"].as_i64() == Some(step.option_number)
        && texts(&fixed["uses"]) == step.uses;
    if !same {
        broken.push(Broken::new(Rule::Fixed, format!("{}: is fixed otherwise", step.name())));
    }
}

fn judge_order(job: &Value, steps: &[Stood<'_>], broken: &mut Vec<Broken>) {
    let mut listed_before: Option<&str> = None;
    for spec in list(&job["steps"]) {
        let id = text(spec, "id");
        let mut after: Vec<(&str, i64)> = Vec::new();
        if let Some(named) = spec["after"].as_object() {
            after
                .extend(named.iter().map(|(name, gap)| (name.as_str(), gap.as_i64().unwrap_or(0))));
        } else {
            after.extend(listed_before.map(|before| (before, 0)));
        }
        let find = |id: &str| steps.iter().find(|step| step.step == id);
        for (earlier, gap) in after {
            let (Some(first), Some(then)) = (find(earlier), find(id)) else { continue };
            if !(first.fixed && then.fixed) && then.start < first.end + gap {
                let what = format!("{}: too soon after {earlier}", then.name());
                broken.push(Broken::new(Rule::Order, what));
            }
        }
        listed_before = Some(id);
    }
}
