//! A whole problem as rules over named numbers, read off the problem's format alone.
//!
//! For every plan that costs at most so much and in which no job costs more than leaving it out, the numbers have values
//! that keep all rules: those that their names say, and for a job left out any that do. So where the rules cannot be kept,
//! there is no such plan. What can be no fact in any such plan stays in as a number that is 0.

mod cost;
mod order;
mod shared;
mod steps;

use super::alone::Starts;
use super::day::{Day, Job};
use super::rules::{ALWAYS, Bound, Rules};
use std::collections::BTreeMap;

/// What is known of each job before: the starts left to each option, and the least that it costs by itself.
pub(super) struct Known {
    pub(super) kept: Vec<Starts<i128>>,
    pub(super) least: Vec<i128>,
    /// The earliest last finish.
    pub(super) last: i64,
}

/// Rules, and the numbers by their names.
pub(super) struct Model<'d> {
    pub(super) rules: Rules,
    pub(super) names: BTreeMap<String, usize>,
    day: &'d Day,
}

/// One job's numbers.
struct JobCode {
    planned: usize,
    steps: Vec<StepCode>,
}

/// One step's numbers.
struct StepCode {
    fixed: bool,
    start: usize,
    end: usize,
    /// Until when its place is held because of it.
    hold: usize,
    /// Per option, whether it is taken, and whether it can be.
    options: Vec<(usize, bool)>,
    /// Per need and resource, whether the one serves the other.
    uses: BTreeMap<(usize, usize), usize>,
    /// Per place, or none, whether the step is there, and whether it can be.
    at: BTreeMap<Option<usize>, (usize, bool)>,
}

/// A job while its rules are written.
struct Writer<'w, 'd> {
    model: &'w mut Model<'d>,
    at: usize,
    job: &'d Job,
    kept: &'w Starts<i128>,
    planned: usize,
    /// Factors of numbers that are paid, and what is paid whenever the job is planned.
    paid: Vec<(i128, usize)>,
    paid_planned: i128,
}

fn yes(number: usize) -> Bound {
    Bound::AtLeast(number, 1)
}

fn no(number: usize) -> Bound {
    Bound::AtMost(number, 0)
}

/// The rules of plans that cost at most so much.
pub(super) fn model<'d>(day: &'d Day, known: &Known, most: i128) -> Result<Model<'d>, String> {
    let mut model = Model { rules: Rules::new(), names: BTreeMap::new(), day };
    let makespan = i128::from(day.cost.makespan);
    let spare = most - makespan * i128::from(known.last) - known.least.iter().sum::<i128>();
    if spare < 0 {
        model.rules.impossible = true;
        return Ok(model);
    }
    let mut total = Vec::new();
    let mut jobs = Vec::new();
    for (at, job) in day.jobs.iter().enumerate() {
        let planned = model.fact(format!("planned {at}"));
        if job.left_out.is_none() {
            model.rules.one_of(&[yes(planned)]);
        }
        let kept = &known.kept[at];
        let (paid, paid_planned) = (Vec::new(), 0);
        let mut writer = Writer { model: &mut model, at, job, kept, planned, paid, paid_planned };
        let (steps, finish) = writer.job()?;
        let (mut paid, paid_planned) = (writer.paid, writer.paid_planned);
        let cost = model.cost(at, known.least[at], spare)?;
        let left_out = job.left_out.unwrap_or(paid_planned);
        paid.extend([(paid_planned - left_out, planned), (-1, cost)]);
        model.rules.sum(ALWAYS, &paid, -left_out);
        total.push((1, cost));
        jobs.push((JobCode { planned, steps }, finish));
    }
    if makespan > 0 {
        let latest = jobs.iter().map(|(_, finish)| model.rules.high(*finish)).max();
        let last =
            model.number("last-finish".to_owned(), known.last, latest.unwrap_or(0).max(known.last));
        for (job, finish) in &jobs {
            model.rules.gap(yes(job.planned), *finish, 0, last);
        }
        total.push((makespan, last));
    }
    model.rules.sum(ALWAYS, &total, most);
    let jobs: Vec<JobCode> = jobs.into_iter().map(|(job, _)| job).collect();
    shared::write(&mut model, &jobs);
    model.rules.settle();
    Ok(model)
}

impl Model<'_> {
    fn number(&mut self, name: String, low: i64, high: i64) -> usize {
        let number = self.rules.number(low, high);
        self.names.insert(name, number);
        number
    }

    fn fact(&mut self, name: String) -> usize {
        self.number(name, 0, 1)
    }

    /// What a job costs, the last finish apart.
    fn cost(&mut self, job: usize, least: i128, spare: i128) -> Result<usize, String> {
        let large = |error| format!("what job {job} may cost: {error}");
        let low = i64::try_from(least).map_err(large)?;
        let high = i64::try_from(least + spare).map_err(large)?;
        Ok(self.number(format!("cost {job}"), low, high))
    }
}

impl Writer<'_, '_> {
    fn fact(&mut self, word: &str, about: &[usize]) -> usize {
        let name = self.name(word, about);
        self.model.fact(name)
    }

    fn number(&mut self, word: &str, about: &[usize], low: i64, high: i64) -> usize {
        let name = self.name(word, about);
        self.model.number(name, low, high)
    }

    fn name(&self, word: &str, about: &[usize]) -> String {
        let about = about.iter().map(|at| format!(" {at}"));
        format!("{word} {}{}", self.at, about.collect::<String>())
    }

    fn one_of(&mut self, bounds: &[Bound]) {
        self.model.rules.one_of(bounds);
    }

    fn gap(&mut self, when: Bound, from: usize, plus: i64, to: usize) {
        self.model.rules.gap(when, from, plus, to);
    }

    /// One fact is the other.
    fn same(&mut self, one: usize, other: usize) {
        self.one_of(&[no(one), yes(other)]);
        self.one_of(&[yes(one), no(other)]);
    }

    fn job(&mut self) -> Result<(Vec<StepCode>, usize), String> {
        let mut steps = Vec::new();
        for step in 0..self.job.steps.len() {
            let code = self.step(step);
            steps.push(code);
        }
        let before = self.order(&steps);
        self.follow(&mut steps, &before)?;
        let finish = self.finish(&steps)?;
        self.changes(&steps);
        Ok((steps, finish))
    }
}
