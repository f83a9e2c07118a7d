//! Ruin and recreate: take a few jobs off the board and put them back one by one, each where it
//! costs least; keep what is not much worse, remember what is best.
//!
//! Source: Schrimpf and others, "Record breaking optimization results using the ruin and recreate
//! principle", J. of Computational Physics 159 (2000).

mod choose;
mod cooling;
mod critical;
pub(super) mod finish;
pub(super) mod overtime;
mod push_in;
pub(super) mod restore;
mod sequence;
mod shift;

use super::board::{Board, Standing, Worth};
use super::insertion::{Blink, Query};
use super::limits::OPTIONS_MAX;
use super::placement::Placement;
use super::schedule::{Starts, settle};
use super::seeded::Seeded;
use super::shop::Shop;
use cooling::Cooling;
use overtime::{LaterShop, Overtime};
use shift::Shifts;

/// With at most so many jobs some workers try overtime from the first.
const EARLY_JOBS: usize = 40;
/// Moves in one epoch.
const MOVES_PER_EPOCH: usize = 200;
/// One move in so many pushes others on: measured, it gains less for its time than the other moves.
const PUSHES_ONE_IN: usize = 6;
/// Where there was a previous plan, one move in so many lets a job stand as before.
const RESTORES_ONE_IN: usize = 6;

/// One search under way; cloned per worker.
#[derive(Debug, Clone)]
pub(super) struct Search<'s> {
    board: Board<'s>,
    worth: Worth,
    best: Vec<Standing>,
    best_worth: Worth,
    cooling: Cooling,
    /// A phase that moves single steps, while it lasts, and its own course.
    shifts: Option<Shifts>,
    shift_cooling: Cooling,
    /// A search with later closing times, while it lasts; the shops for it, and the one as it is.
    overtime: Option<Overtime<'s>>,
    later: &'s [LaterShop<'s>],
    home: &'s Shop<'s>,
    /// Whether it does so early on.
    early: bool,
    /// A better plan of another worker, to go on from when the next cycle begins.
    offered: Option<(Worth, Vec<Standing>)>,
    /// Per job, the least it can cost.
    least: &'s [i64],
    bound: i64,
    /// Per job, how it stood in the previous plan, where it still may; empty where there was none.
    previous: &'s [Option<Placement>],
    rank: Vec<u32>,
    /// An order in which the jobs may be put on an empty board.
    hint: Vec<usize>,
    random: Seeded,
}

/// Jobs taken off the board by a move, with how they stood; none where they stand so again.
#[derive(Debug, Default)]
struct Lifted {
    jobs: Vec<(usize, Option<Standing>)>,
}

impl Lifted {
    fn take(&mut self, board: &mut Board<'_>, job: usize) {
        let standing = Some(board.lift(job));
        match self.jobs.iter_mut().find(|(other, _)| *other == job) {
            Some(entry) => entry.1 = standing,
            None => self.jobs.push((job, standing)),
        }
    }

    /// Everything stands as it did.
    fn undo(self, board: &mut Board<'_>) {
        for (job, _) in self.jobs.iter().filter(|(_, was)| was.is_some()) {
            board.lift(*job);
        }
        for (job, was) in self.jobs {
            if let Some(standing) = was {
                board.put(job, standing);
            }
        }
    }
}

impl<'s> Search<'s> {
    pub(super) fn new(board: Board<'s>, least: &'s [i64], random: Seeded) -> Self {
        let worth = board.worth();
        Self {
            best: board.standing().to_vec(),
            best_worth: worth,
            cooling: Cooling::new(least.len()),
            shifts: None,
            shift_cooling: Cooling::of_shifts(least.len()),
            overtime: None,
            early: false,
            later: &[],
            home: board.shop,
            offered: None,
            least,
            bound: least.iter().sum(),
            previous: &[],
            rank: board.shop.demand.clone(),
            hint: Vec::new(),
            random,
            worth,
            board,
        }
    }

    /// May search with overtime too, in shops whose closing times are later; `early`, from the first.
    fn with_overtime(mut self, later: &'s [LaterShop<'s>], early: bool) -> Self {
        self.later = later;
        self.early = early;
        self
    }

    /// Begins with the previous plan and, for one cycle, with changes for the better only: so what has no
    /// reason to move stands as it stood.
    fn beginning_with(mut self, kept: Board<'s>) -> Self {
        self.worth = kept.worth();
        self.board = kept;
        self.cooling.cold = true;
        self
    }

    /// Goes on from a plan that something else found, where it is better.
    pub(super) fn adopt(&mut self, worth: Worth, standing: &[Standing]) {
        if worth < self.best_worth {
            self.board = Board::with(self.board.shop, standing);
            self.worth = worth;
            self.best_worth = worth;
            self.best = standing.to_vec();
            self.shifts = None;
            self.overtime = None;
        }
    }

    /// The best plan so far.
    pub(super) fn best(&self) -> (Worth, &[Standing]) {
        (self.best_worth, &self.best)
    }

    /// Makes a fixed number of moves.
    pub(super) fn epoch(&mut self) {
        if self.least.is_empty() {
            return;
        }
        if let Some(shifts) = self.shifts.take() {
            self.shift_epoch(shifts);
            return;
        }
        if let Some(overtime) = self.overtime.take() {
            self.overtime_epoch(overtime);
            return;
        }
        for _ in 0..MOVES_PER_EPOCH {
            let limit = self.limit();
            self.one_move(limit);
            if self.worth < self.best_worth && self.board.true_worth() < self.best_worth {
                self.best_worth = self.board.true_worth();
                self.cooling.gained = true;
                self.best = self.board.standing().to_vec();
            }
            if self.shifts.is_some() || self.overtime.is_some() {
                break;
            }
        }
    }

    /// How bad the plan after a move may be. A new cycle mostly starts from the best plan.
    fn limit(&mut self) -> Worth {
        if self.cooling.looks_again() {
            self.look_again();
        }
        if self.cooling.step() {
            self.look_again();
            if let Some((worth, standing)) = self.offered.take().filter(|o| o.0 < self.best_worth) {
                self.best_worth = worth;
                self.best = standing;
            }
            if self.cooling.starts_anew() {
                self.start_anew();
            } else if self.cooling.returns() {
                self.board = Board::with(self.board.shop, &self.best);
                self.worth = self.best_worth;
            }
            if !self.later.is_empty() && self.cooling.turns_to_overtime(self.early) {
                self.begin_overtime();
            } else if self.cooling.turns_to_shifts() {
                self.begin_shifts();
            } else if self.random.below(2) == 0 {
                self.look_away();
            }
        }
        if self.worth.missing > 0 {
            // Before every job has room, cost does not matter: any change may make room.
            return Worth { missing: self.worth.missing, cost: i64::MAX };
        }
        let gap = self.best_worth.cost.saturating_sub(self.bound);
        let tolerance = self.cooling.tolerance(gap, &mut self.random);
        Worth { missing: 0, cost: self.worth.cost.saturating_add(tolerance) }
    }

    /// Looks away from some of what lateness costs, job by job at random, for the first part of a cycle: other
    /// jobs become the late ones. Source: noising, Charon and Hudry, "The noising method: a new
    /// method for combinatorial optimization", Operations Research Letters 14 (1993).
    fn look_away(&mut self) {
        let problem = self.board.shop.problem;
        let some = 1 + self.random.below(4);
        let relief = problem.jobs.iter().map(|job| {
            let whole = problem.cost.lateness * job.weight;
            if self.random.below(5) < some {
                whole - (whole >> (1 + self.random.below(5)))
            } else {
                0
            }
        });
        let relief = relief.collect();
        self.board.set_relief(relief);
        self.worth = self.board.worth();
    }

    fn look_again(&mut self) {
        if self.board.relief.iter().any(|relief| *relief > 0) {
            self.board.set_relief(vec![0; self.least.len()]);
            self.worth = self.board.worth();
        }
    }

    /// Puts all jobs on an empty board in random order, those with fixed steps first.
    fn start_anew(&mut self) {
        let mut order: Vec<usize> = (0..self.least.len()).collect();
        if self.hint.is_empty() || self.random.below(4) == 0 {
            self.random.shuffle(&mut order);
        } else {
            order.clone_from(&self.hint);
            for _ in 0..self.random.below(order.len() + 1) {
                let at = self.random.below(order.len());
                let to = (at + self.random.below(4)).min(order.len() - 1);
                order[at..=to].rotate_left(1);
            }
        }
        self.fixed_first(&mut order);
        let mut board = Board::new(self.board.shop);
        for job in order {
            settle(&mut board, Query::plain(self.board.shop, job));
        }
        self.worth = board.worth();
        self.board = board;
        if self.worth < self.best_worth {
            self.best_worth = self.worth;
            self.cooling.gained = true;
            self.best = self.board.standing().to_vec();
        }
    }

    /// An order in which the jobs may be put on an empty board.
    pub(super) fn hint(&mut self, order: &[usize]) {
        self.hint = order.to_vec();
    }

    fn one_move(&mut self, limit: Worth) {
        self.shuffle_ranks();
        let stood = !self.previous.is_empty() && self.worth.missing == 0;
        let worth = if stood && self.random.below(RESTORES_ONE_IN) == 0 {
            self.restore(limit)
        } else if self.worth.missing == 0 && self.random.below(PUSHES_ONE_IN) == 0 {
            self.push_in(limit)
        } else {
            self.ruin_and_recreate(limit)
        };
        self.worth = worth.unwrap_or(self.worth);
    }

    fn ruin_and_recreate(&mut self, limit: Worth) -> Option<Worth> {
        let ruined = self.choose_jobs();
        self.put_anew(ruined, limit)
    }

    /// Takes jobs off the board and puts them back one by one; none, with all as it was, where the plan would be
    /// worth less than `limit`.
    fn put_anew(&mut self, mut ruined: Vec<usize>, limit: Worth) -> Option<Worth> {
        self.order(&mut ruined);
        let mut lifted = Lifted::default();
        for job in &ruined {
            lifted.take(&mut self.board, *job);
        }
        let worth = self.recreate(&ruined, limit);
        if worth.is_none() {
            lifted.undo(&mut self.board);
        }
        worth
    }

    /// Puts the jobs back in turn; gives up once the plan would be worth less than `limit`.
    fn recreate(&mut self, ruined: &[usize], limit: Worth) -> Option<Worth> {
        let mut left: i64 = ruined.iter().map(|job| self.least[*job]).sum();
        let base = self.board.worth();
        let mut cost = base.cost;
        let mut missing = base.missing - ruined.len();
        let bold = self.cooling.bold || limit.missing > 0 || self.random.below(4) == 0;
        let hasty = !bold && self.random.below(4) != 0;
        for job in ruined {
            left -= self.least[*job];
            // With fewer missing jobs than the limit, any cost will do.
            let below = if missing < limit.missing {
                i64::MAX
            } else {
                limit.cost.saturating_sub(cost + left).saturating_add(1)
            };
            let blink = if bold { self.blink(*job) } else { None };
            let (job, rank) = (*job, &self.rank);
            let turn = self.random.below(OPTIONS_MAX);
            let query = Query { job, below, as_before: false, rank, turn, hasty, blink };
            match settle(&mut self.board, query) {
                Some(paid) => cost += paid,
                None => missing += 1,
            }
            if missing > limit.missing {
                return None;
            }
        }
        let worth = self.board.worth();
        (worth <= limit).then_some(worth)
    }

    /// Which resource is taken among free ones is varied, so that no tie decides for good.
    fn shuffle_ranks(&mut self) {
        let demand = &self.board.shop.demand;
        let spread = match self.random.below(4) {
            0 => demand.iter().copied().max().unwrap_or(0) as usize,
            1 => 4,
            _ => 0,
        };
        for (rank, demand) in self.rank.iter_mut().zip(demand) {
            let noise = u32::try_from(self.random.below(spread + 1)).unwrap_or(0);
            *rank = demand.saturating_add(noise);
        }
    }

    /// Now and then some options, or the earliest starts of a step or of all, are passed over:
    /// others may need just those, and the job may finish as early all the same.
    fn blink(&mut self, job: usize) -> Option<Blink> {
        let steps = self.board.shop.problem.jobs[job].steps.len();
        let late_steps = match self.random.below(4) {
            0 => {
                let options = self.random.next() & self.random.next();
                return Some(Blink { options, late_steps: 0, not_before: i64::MIN });
            }
            1 => u64::MAX,
            2 => 1 << self.random.below(steps),
            _ => return None,
        };
        let (from, mut until) = self.window(job);
        if self.worth.missing > 0 {
            // Room may be made by going much later than would be best.
            until = self.board.shop.problem.horizon.max(from + 1);
        }
        let length = usize::try_from(until - from).unwrap_or(1);
        let most = if late_steps == u64::MAX { self.random.below(length) } else { length };
        let not_before = from + super::check::as_i64(self.random.below(most + 1));
        Some(Blink { options: 0, late_steps, not_before })
    }
}

/// Gives each of several workers its own stream of the seed.
pub(super) fn workers<'s>(
    starts: &'s Starts<'s>,
    least: &'s [i64],
    later: &'s [LaterShop<'s>],
    seed: u64,
    threads: u32,
) -> Vec<Search<'s>> {
    (0..u64::from(threads))
        .map(|worker| {
            // Every other worker packs days with overtime from the first: each of the two ways finds what the
            // other misses.
            let early = worker % 2 == 0 && least.len() <= EARLY_JOBS;
            let mut search = Search::new(starts.best.clone(), least, Seeded::new(seed, worker))
                .with_overtime(later, early);
            search.previous = &starts.previous;
            match &starts.kept {
                Some(kept) => search.beginning_with(kept.clone()),
                None => search,
            }
        })
        .collect()
}

/// Runs one epoch on every worker and says whose plan is best; of equal ones the first worker's.
/// The others may go on from the best plan; the first worker goes its own way always, so that more
/// workers never end with a worse plan than one.
pub(super) fn epoch(workers: &mut [Search<'_>]) -> usize {
    if let [only] = workers {
        only.epoch();
        return 0;
    }
    std::thread::scope(|scope| {
        for worker in workers.iter_mut() {
            scope.spawn(|| worker.epoch());
        }
    });
    let best = best(workers);
    let worth = workers[best].best_worth;
    let standing = workers[best].best.clone();
    for worker in workers.iter_mut().skip(1).filter(|worker| worker.best_worth > worth) {
        if worker.offered.as_ref().is_none_or(|(offered, _)| *offered > worth) {
            worker.offered = Some((worth, standing.clone()));
        }
    }
    best
}

/// Whose plan is best; of equal ones the first worker's.
pub(super) fn best(workers: &[Search<'_>]) -> usize {
    (0..workers.len()).min_by_key(|at| (workers[*at].best_worth, *at)).unwrap_or(0)
}
