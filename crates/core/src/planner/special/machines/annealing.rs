//! The search over orders where each step has one machine and single finishes cost: a step of a critical way
//! goes past others by chance, and dearer plans are taken less and less often, in rounds.
//!
//! Sources: van Laarhoven, Aarts, Lenstra, "Job shop scheduling by simulated annealing", Operations Research
//! 40 (1992); Balas, Vazacopoulos, Management Science 44 (1998), for moves over part of a block; Kuhpfahl, Bierwirth, "A
//! study on local search neighborhoods for the job shop scheduling problem with total weighted tardiness
//! objective", Computers & Operations Research 66 (2016), for critical ways of single jobs.

use super::Machines;
use super::chains::Chains;
use super::sequence::{Sequence, Shift, Trial};
use crate::planner::seeded::Seeded;

/// Steps looked at in one epoch, about.
const EFFORT_PER_EPOCH: u64 = 10_000_000;
/// A round cools down in so many stages, in each by one part in [`COOLING`]: to a tenth in all.
const STAGES: u32 = 96;
const COOLING: u64 = 41;
/// Tries in a stage of the shortest round, for each step of the shop.
const TRIES_PER_STEP: usize = 50;
/// A round begins at so many times what a step later by its minutes costs.
const HEAT: u64 = 3;
/// What a heat of one is worth; so the last stages of cheap problems stay apart.
const HEAT_UNIT: u64 = 1 << 16;
/// Epochs without a gain after which the search is called settled.
const STALE_EPOCHS_MAX: u32 = 200;

/// One search under way.
#[derive(Debug, Clone)]
pub(in crate::planner::special) struct Annealing {
    chains: Chains,
    plan: Sequence,
    best: Sequence,
    trial: Trial,
    /// What a stretch of the heat is worth at the start of a round, in parts of [`HEAT_UNIT`], and now.
    heat_first: u64,
    heat: u64,
    stage: u32,
    tries: usize,
    tries_max: usize,
    stale_epochs: u32,
    effort: u64,
    /// Jobs that cost, and steps of a critical way that start when the one before on their machine ends.
    costly: Vec<(usize, i64)>,
    waiting: Vec<usize>,
    random: Seeded,
}

impl Annealing {
    pub(in crate::planner::special) fn new(shop: &Machines, mut random: Seeded) -> Self {
        let chains = shop.chains.clone();
        let plan = Sequence::any(shop, &chains, &mut random);
        let trial = Trial::new(&chains);
        let heat_first = heat(shop, &chains);
        Self {
            best: plan.clone(),
            plan,
            trial,
            heat_first,
            heat: heat_first,
            stage: 0,
            tries: 0,
            tries_max: TRIES_PER_STEP * chains.none,
            chains,
            stale_epochs: 0,
            effort: 0,
            costly: Vec::new(),
            waiting: Vec::new(),
            random,
        }
    }

    /// The cost of the best plan so far, and the start and choice of each step in it.
    pub(in crate::planner::special) fn best(&self) -> (i64, Vec<(i32, usize)>) {
        let ends = self.best.end[..self.chains.none].iter().zip(&self.chains.minutes);
        (self.best.cost, ends.map(|(end, minutes)| (end - minutes, 0)).collect())
    }

    /// The cost of the best plan so far.
    pub(in crate::planner::special) fn cost(&self) -> i64 {
        self.best.cost
    }

    /// Whether nothing better has come up for long.
    pub(in crate::planner::special) fn is_settled(&self) -> bool {
        self.stale_epochs >= STALE_EPOCHS_MAX
    }

    /// Goes on for a fixed effort, or until nothing can be better than `bound`.
    pub(in crate::planner::special) fn epoch(&mut self, shop: &Machines, bound: i64) {
        let before = self.best.cost;
        let until = self.effort + EFFORT_PER_EPOCH;
        while self.effort < until && self.best.cost > bound {
            self.one_try(shop);
            self.cool(shop);
        }
        self.stale_epochs = if self.best.cost < before { 0 } else { self.stale_epochs + 1 };
    }

    fn one_try(&mut self, shop: &Machines) {
        let Some(shift) = self.any_shift(shop) else {
            self.effort += self.chains.none as u64;
            return;
        };
        // Drawn first, how much dearer the plan may become.
        let more = u128::from(self.heat) * u128::from(exponential(&mut self.random));
        let more = i64::try_from(more / u128::from(HEAT_UNIT << 8)).unwrap_or(i64::MAX);
        let cost = self.trial.make(shop, &self.chains, &mut self.plan, shift);
        self.effort += self.trial.effort(&self.chains);
        match cost {
            Some(cost) if cost - self.plan.cost <= more => {
                self.trial.keep(&mut self.plan, cost);
                if cost < self.best.cost {
                    self.best.clone_from(&self.plan);
                }
            }
            Some(_) => self.trial.undo(&self.chains, &mut self.plan),
            None => {}
        }
    }

    fn cool(&mut self, shop: &Machines) {
        self.tries += 1;
        if self.tries < self.tries_max {
            return;
        }
        self.tries = 0;
        self.stage += 1;
        self.heat -= self.heat / COOLING;
        if self.stage == STAGES {
            self.stage = 0;
            self.heat = self.heat_first;
            self.plan = Sequence::any(shop, &self.chains, &mut self.random);
        }
    }

    /// A step of a critical way past one of its neighbours on the machine, or past several in the same block; none
    /// where the way has no such step.
    fn any_shift(&mut self, shop: &Machines) -> Option<Shift> {
        let job = self.any_costly_job(shop)?;
        self.find_waiting(shop.last[job]);
        if self.waiting.is_empty() {
            return None;
        }
        let (waiting, previous) = (&self.waiting, &self.plan.previous);
        let at = self.random.below(waiting.len());
        let (mut first, mut last) = (previous[waiting[at]], waiting[at]);
        let chance = self.random.next();
        let later = chance & 1 == 0;
        if chance & 2 == 0 {
            return Some(Shift { first, last, later });
        }
        // The way is listed from its end; the block goes on as long as the neighbours do.
        let follows = |pair: &&[usize]| pair[1] == previous[pair[0]];
        if later {
            let pairs = waiting[..=at].windows(2).rev();
            let more = pairs.take_while(follows).count();
            last = waiting[at - self.random.below(more + 1)];
        } else {
            let more = waiting[at..].windows(2).take_while(follows).count();
            first = previous[waiting[at + self.random.below(more + 1)]];
        }
        Some(Shift { first, last, later })
    }

    /// A job that costs, half of the time the oftener the more it costs.
    fn any_costly_job(&mut self, shop: &Machines) -> Option<usize> {
        self.costly.clear();
        let end = |job: usize| self.plan.end[shop.last[job]];
        let last = (0..shop.last.len()).map(end).max()?;
        let mut total = 0_i64;
        for job in 0..shop.last.len() {
            let cost = shop.goal.cost_of_job(job, end(job), last);
            if cost > 0 {
                total = total.saturating_add(cost);
                self.costly.push((job, total));
            }
        }
        if self.random.next() & 1 == 0 {
            let any = self.random.below(self.costly.len());
            return self.costly.get(any).map(|(job, _)| *job);
        }
        let any = self.random.below(usize::try_from(total).unwrap_or(usize::MAX));
        let upto = |(_, upto): &&(usize, i64)| usize::try_from(*upto).is_ok_and(|upto| any < upto);
        self.costly.iter().find(upto).map(|(job, _)| *job)
    }

    /// The steps of a critical way up to a step that start when the one before on their machine ends, the
    /// last one first.
    fn find_waiting(&mut self, last: usize) {
        self.waiting.clear();
        let Self { plan, chains, .. } = self;
        let mut chance = self.random.next();
        let mut at = last;
        loop {
            let start = plan.end[at] - chains.minutes[at];
            let (before, previous) = (chains.before[at], plan.previous[at]);
            let (in_job, on_machine) = (plan.end[before] == start, plan.end[previous] == start);
            chance = chance.rotate_left(1);
            if on_machine && (!in_job || chance & 1 == 0) {
                self.waiting.push(at);
                at = previous;
            } else if in_job {
                at = before;
            } else {
                return;
            }
        }
    }
}

/// What a round begins with: a step later by the minutes of an average one, at an average job.
fn heat(shop: &Machines, chains: &Chains) -> u64 {
    let goal = &shop.goal;
    let minutes: i64 = chains.minutes.iter().copied().map(i64::from).sum();
    let prices: i128 = goal.jobs.iter().map(|(_, late)| i128::from(late + goal.finish)).sum();
    let jobs = goal.jobs.len().max(1) as u128;
    let price =
        u128::try_from(prices).unwrap_or(0) / jobs + u128::from(goal.makespan.unsigned_abs());
    let step = u128::from(minutes.unsigned_abs()) * price / chains.none.max(1) as u128;
    let heat = step.max(1) * u128::from(HEAT * HEAT_UNIT);
    u64::try_from(heat).unwrap_or(u64::MAX)
}

/// A number that lies above x by a chance of e^-x, nearly, in parts of 256 and without a logarithm, which differs
/// between machines: its halvings are the zeros in front of a random number, and what follows in a straight line.
fn exponential(random: &mut Seeded) -> u64 {
    let bits = random.next() | 1;
    let zeros = bits.leading_zeros();
    let rest = (bits << zeros << 1) >> 56;
    let halvings = 256 * u64::from(zeros) + 256 - rest;
    (halvings * 177) >> 8
}
