//! Ruin and recreate: take a few jobs off the board and put them back one by one, each where it
//! costs least; keep what is not much worse, remember what is best.
//!
//! Sources: Schrimpf and others, "Record breaking optimization results using the ruin and recreate
//! principle", J. of Computational Physics 159 (2000); acceptance by Dueck
//! and Scheuer, "Threshold accepting", J. of Computational Physics 90 (1990).

use super::board::{Board, Standing, Worth};
use super::insertion::{Blink, Query};
use super::limits::OPTIONS_MAX;
use super::schedule::settle;
use super::seeded::Seeded;

/// Moves in one epoch.
const MOVES_PER_EPOCH: usize = 60;
/// The most jobs taken off in one move.
const RUINED_MAX: usize = 7;
/// The moves of the first cycle of falling tolerance, for each job, and the most of any cycle.
const CYCLE_MOVES_PER_JOB: u64 = 60;
const CYCLE_MAX: u64 = 60_000;

/// One search under way; cloned per worker.
#[derive(Debug, Clone)]
pub(super) struct Search<'s> {
    board: Board<'s>,
    worth: Worth,
    best: Vec<Standing>,
    best_worth: Worth,
    /// Moves made in this cycle, and the cycle's length.
    moves: u64,
    cycle: u64,
    /// Whether this cycle blinks in every move: better where few jobs interlock, worse where many do.
    bold: bool,
    /// Whether this cycle found a better plan.
    gained: bool,
    /// How many cycles in a row found none.
    stale: u64,
    /// Per job, the least it can cost.
    least: &'s [i64],
    bound: i64,
    rank: Vec<u32>,
    random: Seeded,
}

impl<'s> Search<'s> {
    pub(super) fn new(board: Board<'s>, least: &'s [i64], random: Seeded) -> Self {
        let worth = board.worth();
        Self {
            best: board.standing().to_vec(),
            best_worth: worth,
            moves: 0,
            cycle: CYCLE_MOVES_PER_JOB * (least.len() as u64).max(1),
            bold: false,
            gained: false,
            stale: 0,
            least,
            bound: least.iter().sum(),
            rank: board.shop.demand.clone(),
            random,
            worth,
            board,
        }
    }

    /// The best plan so far.
    pub(super) fn best(&self) -> (Worth, &[Standing]) {
        (self.best_worth, &self.best)
    }

    /// Goes on from another's best plan.
    pub(super) fn adopt(&mut self, worth: Worth, standing: &[Standing]) {
        self.board = Board::with(self.board.shop, standing);
        self.worth = worth;
        self.best_worth = worth;
        self.best = standing.to_vec();
        self.moves = 0;
    }

    /// Makes a fixed number of moves.
    pub(super) fn epoch(&mut self) {
        if self.least.is_empty() {
            return;
        }
        for _ in 0..MOVES_PER_EPOCH {
            let limit = self.limit();
            self.one_move(limit);
            if self.worth < self.best_worth {
                self.best_worth = self.worth;
                self.gained = true;
                self.best = self.board.standing().to_vec();
            }
        }
    }

    /// How bad the plan after a move may be. Over a cycle the tolerance falls from a sixteenth of
    /// what could be gained at best to next to nothing; then a longer cycle starts from the best.
    fn limit(&mut self) -> Worth {
        if self.moves == self.cycle {
            self.moves = 0;
            if self.gained || self.stale % 4 == 3 {
                self.cycle = (self.cycle * 3 / 2).min(CYCLE_MAX);
            }
            // A manner that brought something is kept, otherwise the other one has its turn.
            self.stale = if self.gained { 0 } else { self.stale + 1 };
            self.bold = if self.gained { self.bold } else { !self.bold };
            self.gained = false;
            let (worth, best) = (self.best_worth, self.best.clone());
            self.board = Board::with(self.board.shop, &best);
            self.worth = worth;
        }
        if self.worth.missing > 0 {
            // Before every job has room, cost does not matter: any change may make room.
            self.moves += 1;
            return Worth { missing: self.worth.missing, cost: i64::MAX };
        }
        let gap = (self.best_worth.cost - self.bound).max(0);
        // The longer nothing was found, the further the search may stray.
        let halvings = 4 - (self.stale / 2).min(3) + 10 * self.moves / self.cycle;
        self.moves += 1;
        let share = self.random.next() >> 54;
        let tolerance = (i128::from(gap >> halvings) * i128::from(share)) >> 10;
        let cost = self.worth.cost.saturating_add(i64::try_from(tolerance).unwrap_or(0));
        Worth { missing: self.worth.missing, cost }
    }

    fn one_move(&mut self, limit: Worth) {
        self.shuffle_ranks();
        let mut ruined = self.choose_jobs();
        self.order(&mut ruined);
        let before: Vec<(usize, Standing)> =
            ruined.iter().map(|job| (*job, self.board.lift(*job))).collect();
        if let Some(worth) = self.recreate(&ruined, limit) {
            self.worth = worth;
            return;
        }
        for job in &ruined {
            self.board.lift(*job);
        }
        for (job, standing) in before {
            self.board.put(job, standing);
        }
    }

    /// Puts the jobs back in turn; gives up once the plan would be worth less than `limit`.
    fn recreate(&mut self, ruined: &[usize], limit: Worth) -> Option<Worth> {
        let mut left: i64 = ruined.iter().map(|job| self.least[*job]).sum();
        let base = self.board.worth();
        let mut cost = base.cost;
        let mut missing = base.missing - ruined.len();
        let bold = self.bold || limit.missing > 0 || self.random.below(4) == 0;
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

    /// Now and then some options, or the earliest starts, are passed over.
    fn blink(&mut self, job: usize) -> Option<Blink> {
        let bits = |random: &mut Seeded| random.next() & random.next();
        match self.random.below(3) {
            0 => Some(Blink { options: bits(&mut self.random), not_before: i64::MIN }),
            1 => {
                let (from, mut until) = self.window(job);
                if self.worth.missing > 0 {
                    // Room may be made by going much later than would be best.
                    until = self.board.shop.problem.horizon;
                }
                let length = usize::try_from(until - from).unwrap_or(1);
                let delay = self.random.below(self.random.clone().below(length) + 1);
                let not_before = from + super::check::as_i64(delay);
                Some(Blink { options: 0, not_before })
            }
            _ => None,
        }
    }

    /// How much more a job costs than it must.
    fn excess(&self, job: usize) -> i64 {
        match self.board.standing()[job] {
            Standing::Missing => i64::MAX / 4,
            Standing::Placed(_) | Standing::LeftOut => {
                (self.board.job_cost(job) - self.least[job]).max(0)
            }
        }
    }

    fn choose_jobs(&mut self) -> Vec<usize> {
        let count = self.least.len();
        let most = RUINED_MAX.min(count);
        let size = 1 + self.random.below(most);
        let first = self.choose_first();
        let mut pool = match self.random.below(4) {
            0 => (0..count).collect(),
            1 => self.near_in_time(first),
            _ => self.rivals(first),
        };
        pool.retain(|job| *job != first);
        self.random.shuffle(&mut pool);
        pool.truncate(size.max(2) - 1);
        pool.push(first);
        pool
    }

    /// The costliest of a few, so that what could gain most comes up most.
    fn choose_first(&mut self) -> usize {
        let count = self.least.len();
        let mut first = self.random.below(count);
        for _ in 0..self.random.below(5) {
            let other = self.random.below(count);
            if self.excess(other) > self.excess(first) {
                first = other;
            }
        }
        first
    }

    /// When a job stands, or could have stood when it does not.
    fn window(&self, job: usize) -> (i64, i64) {
        let problem = self.board.shop.problem;
        let spec = &problem.jobs[job];
        let from = spec.release.max(problem.now);
        match &self.board.standing()[job] {
            Standing::Placed(placement) => (from, placement.finish),
            Standing::LeftOut | Standing::Missing => {
                (from, spec.due.unwrap_or(problem.horizon).max(from + 1))
            }
        }
    }

    fn near_in_time(&mut self, first: usize) -> Vec<usize> {
        let (from, until) = self.window(first);
        let length = usize::try_from(until - from).unwrap_or(1);
        let at = from + super::check::as_i64(self.random.below(length));
        let mut distance: Vec<(i64, usize)> = Vec::new();
        for (job, standing) in self.board.standing().iter().enumerate() {
            let near = match standing {
                Standing::Placed(placement) => {
                    let steps = placement.steps.iter();
                    steps.map(|placed| (placed.start - at).abs()).min().unwrap_or(0)
                }
                Standing::LeftOut | Standing::Missing => {
                    let (from, until) = self.window(job);
                    if (from..until).contains(&at) { 0 } else { i64::MAX }
                }
            };
            distance.push((near, job));
        }
        distance.sort_unstable();
        distance.into_iter().take(2 * RUINED_MAX).map(|(_, job)| job).collect()
    }

    /// Jobs that take, while `first` waits, what it could use.
    fn rivals(&self, first: usize) -> Vec<usize> {
        let (from, until) = self.window(first);
        let shop = self.board.shop;
        let spec = &shop.problem.jobs[first];
        let mut places = vec![false; shop.clashing.len()];
        let mut resources = vec![false; shop.demand.len()];
        for option in spec.steps.iter().flat_map(|step| &step.options) {
            if let Some(place) = option.place {
                places[place] = true;
                shop.clashing[place].iter().for_each(|other| places[*other] = true);
            }
            // A need that few can serve is where jobs get in each other's way.
            for group in option.needs.iter().filter(|group| group.len() <= 2) {
                for used in group {
                    resources[*used] = true;
                }
            }
        }
        let jobs = self.board.standing().iter().enumerate();
        let rivals = jobs.filter(|(job, standing)| match standing {
            Standing::Placed(placement) => placement.steps.iter().any(|placed| {
                let option = &shop.problem.jobs[*job].steps[placed.step].options[placed.option];
                let meets = option.place.is_some_and(|place| places[place])
                    || placed.uses.iter().any(|used| resources[*used]);
                meets && placed.start < until && placed.end > from
            }),
            Standing::LeftOut | Standing::Missing => true,
        });
        rivals.map(|(job, _)| job).collect()
    }

    /// The order in which jobs are put back; those with fixed steps first.
    fn order(&mut self, jobs: &mut [usize]) {
        self.random.shuffle(jobs);
        let problem = self.board.shop.problem;
        match self.random.below(3) {
            0 => jobs.sort_by_key(|job| problem.jobs[*job].due),
            1 => jobs.sort_by_key(|job| -problem.jobs[*job].weight),
            2 => jobs.sort_by_key(|job| std::cmp::Reverse(self.excess(*job))),
            3 => jobs.sort_by_key(|job| problem.jobs[*job].release),
            _ => {}
        }
        jobs.sort_by_key(|job| !problem.jobs[*job].has_fixed());
    }
}

/// Gives each of several workers its own stream of the seed.
pub(super) fn workers<'s>(
    board: &Board<'s>,
    least: &'s [i64],
    seed: u64,
    threads: u32,
) -> Vec<Search<'s>> {
    (0..u64::from(threads))
        .map(|worker| Search::new(board.clone(), least, Seeded::new(seed, worker)))
        .collect()
}

/// Runs one epoch on every worker, then lets the best plan be everyone's; of equal ones the first
/// worker's. Says whose it was.
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
    let best = (0..workers.len()).min_by_key(|at| (workers[*at].best_worth, *at)).unwrap_or(0);
    let worth = workers[best].best_worth;
    let standing = workers[best].best.clone();
    for worker in workers.iter_mut().filter(|worker| worker.best_worth > worth) {
        worker.adopt(worth, &standing);
    }
    best
}
