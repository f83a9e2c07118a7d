//! The cheapest plan of a tiny problem, found by trying every one; only the referee's own rules are used.

use super::days::{Days, Stood, text};
use super::{left_out, occupancy};
use serde_json::Value;

/// One way for a job to stand: left out when there are no steps.
struct Way<'p> {
    cost: i128,
    finish: i64,
    steps: Vec<Stood<'p>>,
}

/// The least cost of any plan that keeps every rule; none when there is no such plan.
///
/// # Errors
/// A sentence when the problem cannot be read.
pub fn cheapest(problem: &str) -> Result<Option<i128>, String> {
    let problem: Value = serde_json::from_str(problem).map_err(|error| error.to_string())?;
    let days = Days::of(&problem)?;
    let mut ways: Vec<Vec<Way<'_>>> = Vec::new();
    for job in days.jobs() {
        let mut mine = Vec::new();
        let mut broken = Vec::new();
        let price = left_out(&days, job, text(job, "id"), &mut broken);
        if broken.is_empty() {
            mine.push(Way { cost: price, finish: 0, steps: Vec::new() });
        }
        let choices = days.ways_of_each_step(job);
        combine(&days, job, &choices, &mut Vec::new(), &mut mine);
        mine.sort_by_key(|way| way.cost);
        ways.push(mine);
    }
    let least = ways.iter().map(|mine| mine.first().map_or(0, |way| way.cost)).collect();
    let mut trial = Trial { days: &days, ways: &ways, least, best: None };
    trial.descend(0, 0, 0, &mut Vec::new());
    Ok(trial.best)
}

/// Every combination of one way per step that keeps the job's own rules.
fn combine<'p>(
    days: &Days<'p>,
    job: &Value,
    choices: &[Vec<Stood<'p>>],
    taken: &mut Vec<Stood<'p>>,
    ways: &mut Vec<Way<'p>>,
) {
    if let Some(choice) = choices.get(taken.len()) {
        for step in choice {
            taken.push(step.clone());
            combine(days, job, choices, taken, ways);
            taken.pop();
        }
        return;
    }
    let mut steps = taken.clone();
    steps.sort_by_key(|step| (step.start, step.end));
    let mut broken = Vec::new();
    days.judge_job(job, &steps, &mut broken);
    if broken.is_empty() {
        let finish = steps.iter().map(|step| step.end).max().unwrap_or(0);
        ways.push(Way { cost: days.cost_of_job(job, &steps, finish), finish, steps });
    }
}

struct Trial<'t, 'p> {
    days: &'t Days<'p>,
    ways: &'t [Vec<Way<'p>>],
    least: Vec<i128>,
    best: Option<i128>,
}

impl<'p> Trial<'_, 'p> {
    /// Jobs are taken in turn; a branch ends where even the cheapest rest costs too much.
    fn descend(&mut self, job: usize, cost: i128, last: i64, stood: &mut Vec<Stood<'p>>) {
        let span = i128::from(self.days.price("makespan")) * i128::from(last);
        let Some(ways) = self.ways.get(job) else {
            self.best = Some(self.best.map_or(cost + span, |best| best.min(cost + span)));
            return;
        };
        let rest: i128 = self.least[job + 1..].iter().sum();
        for way in ways {
            if self.best.is_some_and(|best| cost + way.cost + rest + span >= best) {
                return;
            }
            let before = stood.len();
            stood.extend(way.steps.iter().cloned());
            let mut broken = Vec::new();
            occupancy::judge(self.days, stood, &mut broken);
            if broken.is_empty() {
                self.descend(job + 1, cost + way.cost, last.max(way.finish), stood);
            }
            stood.truncate(before);
        }
    }
}
