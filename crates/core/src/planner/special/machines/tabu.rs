//! The search over orders and choices: always the best move of a step on a critical way, what was just
//! undone being forbidden for a while; when nothing better comes up for long, on from another plan.
//!
//! Sources: Nowicki, Smutnicki, "A fast taboo search algorithm for the job shop problem", Management
//! Science 42 (1996); Balas, Vazacopoulos, "Guided local search with shifting bottleneck for job shop
//! scheduling", Management Science 44 (1998), for moves over a whole block; Mastrolilli, Gambardella
//! (2000), see `removal`, for moves to other machines; Zhang and others, "A very fast TS/SA algorithm for
//! the job shop scheduling problem", Computers & Operations Research 35 (2008), for how long a move is forbidden.

use super::Machines;
use super::line::{Line, Spot};
use super::pool::Pool;
use super::removal::{Removal, Value};
use super::start;
use crate::planner::seeded::Seeded;

/// Steps looked at in one epoch, about.
const EFFORT_PER_EPOCH: u64 = 4_000_000;
/// Moves in vain after which the search goes on from another plan, in its shortest round.
const STALE_MOVES_LEAST: u32 = 800;
/// The most critical ways whose steps may move, where each is that of one job's finish.
const WAYS_MAX: usize = 5;
/// Epochs without a gain after which the search is called settled.
const STALE_EPOCHS_MAX: u32 = 40;

/// One search under way.
#[derive(Debug, Clone)]
pub(in crate::planner::special) struct Tabu {
    line: Line,
    best: Line,
    /// The best plan since the search last went on from another one, and the moves in vain since then.
    round: Line,
    pool: Pool,
    stale_moves: u32,
    stale_epochs: u32,
    effort: u64,
    moves: u32,
    /// By two steps: until when the first may not be put before the second again.
    before: Vec<u32>,
    /// By step and machine: until when it may not go there again.
    machine: Vec<u32>,
    manner: Manner,
    way: Vec<usize>,
    removal: Removal,
    random: Seeded,
}

/// How one round of the search is done; which way is best differs from shop to shop.
#[derive(Debug, Clone, Copy)]
struct Manner {
    /// Of moves that cost the same, that with the shorter way through the step, or that to the
    /// quicker machine.
    shorter_first: bool,
    stale_moves_max: u32,
    ways: usize,
}

impl Manner {
    fn any(random: &mut Seeded) -> Self {
        Self {
            shorter_first: random.below(2) == 0,
            stale_moves_max: STALE_MOVES_LEAST << random.below(3),
            ways: 1 + random.below(WAYS_MAX),
        }
    }
}

/// A step and where it could go.
#[derive(Debug, Clone, Copy)]
struct Candidate {
    step: usize,
    spot: Spot,
}

impl Tabu {
    /// None where no first plan can be built.
    pub(in crate::planner::special) fn new(shop: &Machines, random: Seeded) -> Option<Self> {
        let line = start::build(shop, None)?;
        Some(Self {
            best: line.clone(),
            round: line.clone(),
            pool: Pool::default(),
            line,
            stale_moves: 0,
            stale_epochs: 0,
            effort: 0,
            moves: 0,
            before: vec![0; shop.count() * shop.count()],
            machine: vec![0; shop.count() * shop.machine_count],
            manner: Manner { shorter_first: true, stale_moves_max: 3 * STALE_MOVES_LEAST, ways: 3 },
            way: Vec::new(),
            removal: Removal::default(),
            random,
        })
    }

    /// The cost of the best plan so far, and the start and choice of each step in it.
    pub(in crate::planner::special) fn best(&self) -> (i64, Vec<(i32, usize)>) {
        let steps = self.best.start.iter().copied().zip(self.best.choice.iter().copied());
        (self.best.cost, steps.collect())
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
            if self.stale_moves >= self.manner.stale_moves_max {
                self.go_elsewhere(shop);
            }
            self.one_move(shop);
        }
        self.stale_epochs = if self.best.cost < before { 0 } else { self.stale_epochs + 1 };
    }

    /// Makes so many moves.
    #[cfg(test)]
    pub(super) fn moves_for_test(&mut self, shop: &Machines, moves: u32) {
        (0..moves).for_each(|_| self.one_move(shop));
    }

    fn one_move(&mut self, shop: &Machines) {
        self.moves += 1;
        self.stale_moves += 1;
        self.effort += shop.count() as u64;
        self.find_ways(shop);
        if let Some(candidate) = self.best_candidate(shop) {
            self.forbid_return(shop, candidate);
            if !self.line.put(shop, candidate.step, candidate.spot) {
                // Spots make no circle; should one, the search goes on from what it knows.
                self.line = self.best.clone();
            }
        }
        self.remember();
    }

    fn remember(&mut self) {
        if self.line.cost < self.round.cost {
            self.round.clone_from(&self.line);
            self.stale_moves = 0;
        }
        if self.line.cost < self.best.cost {
            self.best.clone_from(&self.line);
        }
    }

    /// The steps of a critical way, or of several where single finishes count.
    fn find_ways(&mut self, shop: &Machines) {
        self.find_way(shop);
        if shop.goal.jobs.is_empty() {
            return;
        }
        for _ in 1..self.manner.ways {
            let mut all = std::mem::take(&mut self.way);
            self.find_way(shop);
            let more = self.way.iter().filter(|step| !all.contains(step)).copied();
            let more: Vec<usize> = more.collect();
            all.extend(more);
            self.way = all;
        }
    }

    /// The steps of a critical way: each starts when the one before it ends.
    fn find_way(&mut self, shop: &Machines) {
        self.way.clear();
        let lane = self.costly_lane(shop);
        let ends = |step: usize| self.line.end[step];
        let last = if let Some(job) = lane {
            shop.last[job]
        } else {
            let latest = |step: &usize| ends(*step) == self.line.finish[0];
            let latest: Vec<usize> = shop.last.iter().copied().filter(latest).collect();
            latest[self.random.below(latest.len())]
        };
        let mut at = Some(last);
        while let Some(step) = at {
            self.way.push(step);
            let tight = |other: &usize| ends(*other) == self.line.start[step];
            let one = Some(shop.chains.before[step]).filter(tight);
            let other = Some(self.line.previous[step]).filter(tight);
            at = match (one, other) {
                (Some(one), Some(other)) => {
                    Some(if self.random.below(2) == 0 { one } else { other })
                }
                (one, other) => one.or(other),
            };
        }
        self.way.reverse();
    }

    /// A job whose own finish costs, or which is the last where that costs; none where only the
    /// last finish of all counts.
    fn costly_lane(&mut self, shop: &Machines) -> Option<usize> {
        let goal = &shop.goal;
        if goal.lanes() == 1 && goal.jobs.is_empty() {
            return None;
        }
        let last = self.line.finish.iter().copied().max();
        let costs = |job: &usize| {
            let finish = self.line.finish[*job];
            let (due, late) = goal.jobs[*job];
            goal.finish > 0 || late > 0 && finish > due || goal.makespan > 0 && Some(finish) == last
        };
        let costly: Vec<usize> = (0..goal.jobs.len()).filter(costs).collect();
        Some(costly.get(self.random.below(costly.len())).copied().unwrap_or(0))
    }

    /// The best move of a step on the way that is not forbidden, or that gives a new best plan; where
    /// all are forbidden, any.
    fn best_candidate(&mut self, shop: &Machines) -> Option<Candidate> {
        let mut best: Option<(Value, u64, Candidate)> = None;
        let mut any: Option<Candidate> = None;
        let mut seen = 0;
        let shorter_first = self.manner.shorter_first;
        let way = std::mem::take(&mut self.way);
        let mut removal = std::mem::take(&mut self.removal);
        for (at, step) in way.iter().copied().enumerate() {
            if shop.goal.jobs.is_empty()
                && shop.choices[step].len() == 1
                && !self.stands_in_block(&way, at)
            {
                continue;
            }
            removal.take_out(shop, &self.line, step);
            self.effort += shop.count() as u64;
            let (line, random) = (&self.line, &mut self.random);
            let (best_cost, tabu) =
                (self.best.cost, (self.before.as_slice(), self.machine.as_slice()));
            removal.each_spot(shop, line, |spot, value| {
                let candidate = Candidate { step, spot };
                seen += 1;
                if random.below(seen) == 0 {
                    any = Some(candidate);
                }
                let chance = random.next();
                let longer = shop.choices[step][spot.choice].minutes - line.minutes[step];
                let value = if shorter_first { value } else { (value.0, longer) };
                if best.is_some_and(|(least, luck, _)| (least, luck) <= (value, chance)) {
                    return;
                }
                if value.0 < best_cost || !is_forbidden(shop, line, tabu, self.moves, candidate) {
                    best = Some((value, chance, candidate));
                }
            });
            self.effort += 4 * seen as u64 / (at as u64 + 1);
        }
        self.way = way;
        self.removal = removal;
        best.map(|(_, _, candidate)| candidate).or(any)
    }

    /// Whether a step's neighbour on the way is its neighbour on the machine too.
    fn stands_in_block(&self, way: &[usize], at: usize) -> bool {
        let step = way[at];
        let before = at.checked_sub(1).map(|before| way[before]);
        let after = way.get(at + 1).copied();
        before == Some(self.line.previous[step]) || after == Some(self.line.next[step])
    }

    fn forbid_return(&mut self, shop: &Machines, candidate: Candidate) {
        let Candidate { step, spot } = candidate;
        let from = self.line.chosen(shop, step).machine;
        let to = shop.choices[step][spot.choice].machine;
        let least = 10 + shop.last.len() / shop.machine_count.max(1);
        let length = least + self.random.below(least / 2 + 1);
        let until = self.moves.saturating_add(u32::try_from(length).unwrap_or(u32::MAX));
        if from != to {
            self.machine[step * shop.machine_count + from] = until;
            return;
        }
        let count = shop.count();
        let (passed, later) = passed(&self.line.order[from], step, spot.at);
        for other in passed {
            let (one, next) = if later { (step, *other) } else { (*other, step) };
            self.before[one * count + next] = until;
        }
    }

    /// Goes on from another plan: built by chance, joined from two good ones, or near the best.
    fn go_elsewhere(&mut self, shop: &Machines) {
        self.stale_moves = 0;
        self.manner = Manner::any(&mut self.random);
        self.pool.keep(&self.round);
        let way = if self.pool.has_room() { 0 } else { 1 + self.random.below(8) };
        let elsewhere = match way {
            0 | 1 => start::build(shop, Some(&mut self.random)),
            2..=6 => self.pool.join(shop, &mut self.random),
            _ => None,
        };
        if let Some(line) = elsewhere {
            self.line = line;
        } else {
            self.line.clone_from(&self.best);
            let kicks = 5 + self.random.below(15);
            (0..kicks).for_each(|_| self.kick(shop));
        }
        self.round.clone_from(&self.line);
        self.before.fill(0);
        self.machine.fill(0);
    }

    /// Moves a step of a critical way anywhere.
    fn kick(&mut self, shop: &Machines) {
        self.find_way(shop);
        let step = self.way[self.random.below(self.way.len())];
        let mut spots: Vec<Spot> = Vec::new();
        self.removal.take_out(shop, &self.line, step);
        self.removal.each_spot(shop, &self.line, |spot, _| spots.push(spot));
        let spot = spots.get(self.random.below(spots.len()));
        if spot.is_some_and(|spot| !self.line.put(shop, step, *spot)) {
            self.line = self.best.clone();
        }
    }
}

/// The steps that a step passes when it goes to a place in its machine's order without it, and
/// whether it goes later.
fn passed(order: &[usize], step: usize, to: usize) -> (&[usize], bool) {
    let from = order.iter().position(|other| *other == step).unwrap_or(0);
    if to > from { (&order[from + 1..=to], true) } else { (&order[to..from], false) }
}

fn is_forbidden(
    shop: &Machines,
    line: &Line,
    (before, machine): (&[u32], &[u32]),
    moves: u32,
    candidate: Candidate,
) -> bool {
    let Candidate { step, spot } = candidate;
    let to = shop.choices[step][spot.choice].machine;
    if line.chosen(shop, step).machine != to {
        return machine[step * shop.machine_count + to] > moves;
    }
    let count = shop.count();
    let (passed, later) = passed(&line.order[to], step, spot.at);
    passed.iter().any(|other| {
        let (one, next) = if later { (*other, step) } else { (step, *other) };
        before[one * count + next] > moves
    })
}
