//! A whole problem as rules over whole numbers, exactly as the problem's format has it.
//!
//! Every step has a start and, where its options differ in length, an end; facts say which option it takes, which
//! resources it uses, which step of the job comes first and which follows at once. A place is held from the start of a step
//! until its end, or until the next step starts there. What a plan costs is a sum that has a limit.

mod cost;
mod order;
mod ways;

use super::engine::{Engine, Fact, Number, SURE};
use super::name::Name;
use super::shared;
use super::{Domain, Market, Shop, Standing};
use crate::planner::placement::{Placed, Placement};
use crate::planner::problem::{Job, Step};

/// The most steps of one job and of all; beyond, rules become too many.
const STEPS_MAX: usize = 10;
const STEPS_IN_ALL_MAX: usize = 90;
/// Costs stay below this, so that no sum leaves a 64-bit number: minutes have at most 24 bits.
const COST_MAX: i64 = 1 << 36;

/// The rules of a problem, and what its jobs are in them.
#[derive(Debug)]
pub(super) struct Encoding {
    pub(super) engine: Engine,
    jobs: Vec<JobCode>,
    /// The sum that is the plan's cost.
    total: usize,
}

/// One job in the rules.
#[derive(Debug)]
pub(super) struct JobCode {
    pub(super) planned: Fact,
    /// None where some step has no way, so that the job is left out.
    pub(super) steps: Vec<StepCode>,
    pub(super) finish: Number,
}

/// One step in the rules.
#[derive(Debug)]
pub(super) struct StepCode {
    /// Its job and its own position there.
    pub(super) id: [usize; 2],
    pub(super) fixed: bool,
    pub(super) start: Number,
    pub(super) end: Number,
    /// Until when the step's place is held because of it: its end, or the start of the next step there.
    pub(super) hold: Number,
    /// Options with what says that they are taken.
    pub(super) ways: Vec<(Fact, usize)>,
    /// Per need, resources with what says that they are used.
    pub(super) uses: Vec<Vec<(Fact, usize)>>,
    /// Places, or none, with what says that the step is there.
    pub(super) at: Vec<(Option<usize>, Fact)>,
}

/// A job while its rules are written.
struct Writer<'w> {
    engine: &'w mut Engine,
    market: &'w Market<'w>,
    shop: &'w Shop<'w>,
    job: usize,
    domain: &'w Domain,
    planned: Fact,
    /// Per step and step, whether the one comes before the other.
    before: Vec<Vec<Fact>>,
    /// Factors of numbers that are paid, and what is paid always where the job is planned.
    paid: Vec<(i64, Number)>,
    paid_planned: i64,
}

/// What is known of a problem's plans that are looked for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Known<'k> {
    /// What is left of each job's minutes.
    pub(super) domains: &'k [Domain],
    /// Per job, the least that it costs, the makespan apart.
    pub(super) least: &'k [i64],
    /// The earliest last finish.
    pub(super) last: i64,
    /// The most that a plan may cost.
    pub(super) most: i64,
}

impl Encoding {
    /// None where the problem is too large or has something that is not covered.
    pub(super) fn new(market: &Market<'_>, shop: &Shop<'_>, known: Known<'_>) -> Option<Self> {
        let problem = shop.problem;
        if !covers(shop, known.most) {
            return None;
        }
        let mut engine = Engine::new();
        let mut jobs = Vec::with_capacity(problem.jobs.len());
        let mut totals = Vec::new();
        let spanned = problem.cost.makespan * known.last.max(0);
        let spare = known.most - spanned - known.least.iter().sum::<i64>();
        for job in 0..problem.jobs.len() {
            let (code, total) = write_job(&mut engine, market, shop, (job, known, spare));
            totals.push((1, total));
            jobs.push(code);
        }
        if problem.cost.makespan > 0 {
            let finishes = jobs.iter().map(|job: &JobCode| engine.high(job.finish));
            let from = known.last.max(0);
            let latest = finishes.max().unwrap_or(0).max(from);
            let end = engine.number(Name::of("last-finish", []), from, latest);
            for job in &jobs {
                engine.gap(job.planned, job.finish, 0, end);
            }
            totals.push((problem.cost.makespan, end));
        }
        let total = engine.sum(SURE, &totals, known.most);
        shared::write(&mut engine, &jobs, shop);
        Some(Self { engine, jobs, total })
    }

    /// Looks for cheaper plans only.
    pub(super) fn lower(&mut self, most: i64) {
        self.engine.lower(self.total, most);
    }

    /// The values found as a plan.
    pub(super) fn standing(&self, shop: &Shop<'_>) -> Vec<Standing> {
        let problem = shop.problem;
        let standing = self.jobs.iter().zip(&problem.jobs).map(|(code, job)| {
            if !self.engine.holds(code.planned) {
                return Standing::LeftOut;
            }
            let steps = code.steps.iter().zip(&job.steps).enumerate();
            let placed = steps.map(|(at, (code, step))| self.placed(at, code, step)).collect();
            Standing::Placed(Placement::new(problem.cost, job, placed))
        });
        standing.collect()
    }

    fn placed(&self, at: usize, code: &StepCode, step: &Step) -> Placed {
        let taken = code.ways.iter().find(|(fact, _)| self.engine.holds(*fact));
        let option = taken.map_or(0, |(_, option)| *option);
        let start = self.engine.low(code.start);
        let needs = step.options[option].needs.iter().zip(&code.uses);
        let used = needs.filter_map(|(_, uses)| {
            let used = uses.iter().find(|(fact, _)| self.engine.holds(*fact));
            used.map(|(_, used)| *used)
        });
        let uses = step.fixed.as_ref().map_or_else(|| used.collect(), |fixed| fixed.uses.clone());
        Placed { step: at, option, start, end: start + step.minutes(option), uses }
    }
}

/// Writes a job's rules; gives it and the number that is at least what it costs.
fn write_job(
    engine: &mut Engine,
    market: &Market<'_>,
    shop: &Shop<'_>,
    (job, known, spare): (usize, Known<'_>, i64),
) -> (JobCode, Number) {
    let (least, most) = (known.least[job], known.least[job] + spare);
    let left_out = market.nets[job].left_out.map(|left| left / market.scale);
    // Dearer than any plan that is looked for: then the job is planned.
    let left_out = left_out.filter(|left| *left <= most);
    let flag = engine.switch(Name::of("planned", [job]));
    let mut writer = Writer {
        engine: &mut *engine,
        market,
        shop,
        job,
        domain: &known.domains[job],
        planned: if left_out.is_some() { flag.at_least(1) } else { SURE },
        before: Vec::new(),
        paid: Vec::new(),
        paid_planned: 0,
    };
    let code = writer.job();
    let (mut paid, paid_planned) = (writer.paid, writer.paid_planned);
    let total = engine.number(Name::of("cost", [job]), least, most);
    let left_out = left_out.unwrap_or(paid_planned);
    paid.extend([(paid_planned - left_out, flag), (-1, total)]);
    engine.sum(SURE, &paid, -left_out);
    (code, total)
}

/// Whether all that the problem has is covered, with numbers that cannot grow too large.
fn covers(shop: &Shop<'_>, most: i64) -> bool {
    let problem = shop.problem;
    let cost = problem.cost;
    let small = |number: i64| (-COST_MAX..COST_MAX).contains(&number);
    let late = |job: &Job| i128::from(cost.lateness) * i128::from(job.weight);
    let steps: usize = problem.jobs.iter().map(|job| job.steps.len()).sum();
    let paid = [most, cost.finish, cost.place_change, cost.change, cost.makespan];
    steps <= STEPS_IN_ALL_MAX
        && paid.into_iter().all(small)
        && problem.jobs.iter().enumerate().all(|(index, job)| {
            late(job) < i128::from(COST_MAX)
                && job.leave_out_cost.is_none_or(|price| price < 1 << 60)
                && job.steps.len() <= STEPS_MAX
                && fixed_are_plain(shop, index)
        })
}

/// Whether no vehicle waits at a place from one fixed step to the next.
fn fixed_are_plain(shop: &Shop<'_>, job: usize) -> bool {
    let steps = &shop.problem.jobs[job].steps;
    let stands = |step: usize| {
        let fixed = steps[step].fixed.as_ref()?;
        let place = steps[step].options[fixed.option].place?;
        Some((place, fixed.start, fixed.start + fixed.minutes))
    };
    shop.jobs[job].fixed.windows(2).all(|pair| {
        let pair = stands(pair[0]).zip(stands(pair[1]));
        pair.is_none_or(|((here, _, end), (there, start, _))| here != there || end >= start)
    })
}

impl Writer<'_> {
    fn spec(&self) -> &'_ Job {
        &self.market.problem.jobs[self.job]
    }

    /// The name of something of the job.
    fn name(&self, word: &'static str) -> Name {
        Name::of(word, [self.job])
    }

    /// The name of something of one of its steps.
    fn step_name(&self, word: &'static str, step: usize) -> Name {
        Name::of(word, [self.job, step])
    }

    /// The name of something from one of its steps to another.
    fn pair_name(&self, word: &'static str, from: usize, to: usize) -> Name {
        Name::of(word, [self.job, from, to])
    }

    fn job(&mut self) -> JobCode {
        let planned = self.planned;
        let count = self.spec().steps.len();
        let steps: Option<Vec<StepCode>> = (0..count).map(|step| self.step(step)).collect();
        let Some(mut steps) = steps else {
            self.engine.any_of(&[!planned]);
            let finish = self.engine.number(self.name("finish"), 0, 0);
            return JobCode { planned, steps: Vec::new(), finish };
        };
        self.order(&steps);
        self.stays(&mut steps);
        let finish = self.finish(&steps);
        self.changes(&steps);
        JobCode { planned, steps, finish }
    }
}
