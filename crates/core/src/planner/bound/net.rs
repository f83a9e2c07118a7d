//! The ways of one job as a net: its states are sets of steps done and where the vehicle stands,
//! its arcs are steps taken next in one of their options.
//!
//! Time is not part of it; the sweep gives each state a value per minute. A state remembers its last
//! step only where that still matters: while a wait after it is pending, or when it is fixed.
//! A wait that other steps come between is kept only as far as the earliest end of the step before it,
//! which lets more ways pass than the rules allow and so never raises the bound.

use crate::planner::check::as_i64;
use crate::planner::placement::{changed_steps, finish_cost, left_out_cost};
use crate::planner::problem::Step;
use crate::planner::shop::{Shop, fixed_steps};
use std::collections::BTreeMap;
use std::ops::Range;

/// The most states and arcs of one job's net; a job with more gets no prices.
const STATES_MAX: usize = 600;
const ARCS_MAX: usize = 20_000;
/// The most ways of choosing resources that are tried one by one where groups share members.
const TEAMS_MAX: usize = 64;

/// One job's net.
#[derive(Debug)]
pub(in crate::planner) struct Net {
    pub(in crate::planner) job: usize,
    /// The minute of index 0, and the last index at which a step may end.
    pub(in crate::planner) base: i64,
    pub(in crate::planner) len: usize,
    pub(in crate::planner) ways: Vec<Way>,
    pub(in crate::planner) crews: Vec<Crew>,
    /// By the steps done, most first.
    pub(super) layers: Vec<Layer>,
    pub(super) states: Vec<State>,
    /// Scaled: what leaving it out costs, and per index what finishing then costs, with the changes of fixed steps.
    pub(in crate::planner) left_out: Option<i64>,
    pub(super) finish: Vec<i64>,
    /// The same for finishing with the last fixed step, also where that ended before now.
    pub(super) finish_fixed: i64,
    pub(super) move_cost: i64,
    pub(super) move_minutes: usize,
    pub(super) change_cost: i64,
    /// Whether one resource might be counted for two needs at once.
    pub(in crate::planner) loose_crew: bool,
}

/// One option of a step that is not fixed.
#[derive(Debug)]
pub(in crate::planner) struct Way {
    pub(in crate::planner) step: usize,
    pub(in crate::planner) option: usize,
    pub(in crate::planner) minutes: usize,
    pub(in crate::planner) place: Option<usize>,
    pub(in crate::planner) crew: usize,
    /// The earliest start by the job's own order.
    pub(in crate::planner) from: i64,
}

/// The resources that ways of the same length and needs choose from.
#[derive(Debug, PartialEq, Eq)]
pub(in crate::planner) struct Crew {
    pub(in crate::planner) minutes: usize,
    pub(in crate::planner) needs: Vec<Vec<usize>>,
    /// Where needs share members: every choice of one resource for each, all different.
    pub(in crate::planner) teams: Option<Vec<Vec<usize>>>,
}

/// All states with the same steps done.
#[derive(Debug)]
pub(super) struct Layer {
    pub(super) states: Range<usize>,
    pub(super) arcs: Vec<Arc>,
    /// No arc but one between fixed steps starts earlier.
    pub(super) floor: i64,
}

/// A step taken next.
#[derive(Debug)]
pub(super) struct Arc {
    pub(super) step: usize,
    pub(super) place: Option<usize>,
    /// A way, or the start of a fixed step.
    pub(super) start: Start,
    pub(super) to: usize,
    /// No earlier, because of waits after fixed steps.
    pub(super) floor: i64,
}

#[derive(Debug, Clone, Copy)]
pub(super) enum Start {
    Way(usize),
    Fixed(i64),
}

#[derive(Debug)]
pub(super) struct State {
    pub(super) place: Option<usize>,
    pub(super) last: Last,
    /// Whether all steps are done.
    pub(super) complete: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Last {
    /// Nothing done yet.
    Nothing,
    /// It does not matter which.
    Any,
    /// This one, after which a wait is pending.
    Step(usize),
    /// A fixed one, ending then.
    Fixed(usize, i64),
}

impl Net {
    /// The net of a job; none where it would be too large.
    pub(super) fn new(shop: &Shop<'_>, job: usize, scale: i64) -> Option<Self> {
        let problem = shop.problem;
        let spec = &problem.jobs[job];
        let base = problem.now.max(spec.release).min(problem.horizon);
        let left_out = left_out_cost(problem.cost, spec);
        let fixed_end = shop.jobs[job].fixed_end;
        let changed = problem.cost.change * as_i64(changed_steps(spec, &fixed_steps(problem, job)));
        let cost_at =
            |minute: i64| changed + finish_cost(problem.cost, spec, minute.max(fixed_end));
        let mut finish: Vec<i64> = Vec::new();
        for minute in base..=problem.horizon {
            // Finishing later than this is worse than leaving the job out.
            if left_out.is_some_and(|price| cost_at(minute) > price) && minute > base {
                break;
            }
            finish.push(cost_at(minute) * scale);
        }
        let mut net = Self {
            job,
            base,
            len: finish.len() - 1,
            ways: Vec::new(),
            crews: Vec::new(),
            layers: Vec::new(),
            states: Vec::new(),
            left_out: left_out.map(|price| price * scale),
            finish,
            finish_fixed: if spec.has_fixed() { cost_at(fixed_end) * scale } else { 0 },
            move_cost: problem.cost.place_change * scale,
            move_minutes: index(spec.move_minutes),
            change_cost: problem.cost.change * scale,
            loose_crew: false,
        };
        net.add_ways(shop);
        net.add_states(shop)?;
        Some(net)
    }

    /// How many numbers one sweep computes, about.
    pub(super) fn cells(&self) -> u64 {
        let arcs: usize =
            self.layers.iter().map(|layer| layer.arcs.len() * (1 + layer.states.len())).sum();
        (arcs + self.ways.len() + self.states.len()) as u64 * (self.len as u64 + 1)
    }

    fn add_ways(&mut self, shop: &Shop<'_>) {
        let job = &shop.problem.jobs[self.job];
        let from = earliest_starts(&job.steps, &shop.jobs[self.job].before, self.base);
        for (step, spec) in job.steps.iter().enumerate().filter(|(_, spec)| !spec.is_fixed()) {
            for (option, way) in spec.options.iter().enumerate() {
                let minutes = index(way.minutes);
                let crew = Crew::new(minutes, &way.needs);
                let known = self.crews.iter().position(|other| *other == crew);
                let at = known.unwrap_or(self.crews.len());
                if known.is_none() {
                    self.loose_crew |= crew.is_loose();
                    self.crews.push(crew);
                }
                let (place, from) = (way.place, from[step]);
                self.ways.push(Way { step, option, minutes, place, crew: at, from });
            }
        }
    }

    fn add_states(&mut self, shop: &Shop<'_>) -> Option<()> {
        let mut builder = Builder {
            steps: &shop.problem.jobs[self.job].steps,
            facts: &shop.jobs[self.job],
            known: BTreeMap::new(),
            by_done: BTreeMap::new(),
            states: Vec::new(),
        };
        builder.state(0, None, Last::Nothing);
        let mut arcs_of: BTreeMap<u64, Vec<Arc>> = BTreeMap::new();
        let mut arcs_count = 0;
        let mut round = 0;
        // Sets with more steps done come later, so one walk in that order sees every set.
        while let Some((count, done)) = builder.set(round) {
            let arcs = builder.arcs(&self.ways, done);
            arcs_count += arcs.len();
            if arcs_count > ARCS_MAX || builder.states.len() > STATES_MAX {
                return None;
            }
            arcs_of.insert(done, arcs);
            round = builder.after(count, done);
        }
        self.finish_states(builder, arcs_of);
        Some(())
    }

    /// Numbers the states set by set, the fullest set first.
    fn finish_states(&mut self, mut builder: Builder<'_>, arcs_of: BTreeMap<u64, Vec<Arc>>) {
        let mut number = vec![0; builder.states.len()];
        let sets: Vec<(u32, u64)> = builder.by_done.keys().copied().rev().collect();
        let mut next = 0;
        let mut ranges = BTreeMap::new();
        for key in &sets {
            let members = &builder.by_done[key];
            for member in members {
                number[*member] = next;
                next += 1;
            }
            ranges.insert(key.1, next - members.len()..next);
        }
        let mut states: Vec<(usize, State)> =
            std::mem::take(&mut builder.states).into_iter().enumerate().collect();
        states.sort_by_key(|(old, _)| number[*old]);
        self.states = states.into_iter().map(|(_, state)| state).collect();
        let mut arcs_of = arcs_of;
        for (_, done) in sets {
            let arcs = arcs_of.remove(&done).unwrap_or_default().into_iter();
            let arcs = arcs.map(|arc| Arc { to: number[arc.to], ..arc }).collect();
            let states = ranges.remove(&done).unwrap_or(0..0);
            self.layers.push(Layer { states, arcs, floor: builder.floor(done) });
        }
    }
}

struct Builder<'b> {
    steps: &'b [Step],
    facts: &'b crate::planner::shop::JobFacts,
    known: BTreeMap<(u64, Option<usize>, Last), usize>,
    /// Per (count, set) its states.
    by_done: BTreeMap<(u32, u64), Vec<usize>>,
    states: Vec<State>,
}

impl Builder<'_> {
    /// The first set at or after a position in the order by count.
    fn set(&self, from: u128) -> Option<(u32, u64)> {
        let count = u32::try_from(from >> 64).unwrap_or(u32::MAX);
        let done = u64::try_from(from & u128::from(u64::MAX)).unwrap_or(0);
        self.by_done.range((count, done)..).next().map(|(key, _)| *key)
    }

    /// The position after a set.
    #[expect(clippy::unused_self, reason = "it belongs to `set`")]
    fn after(&self, count: u32, done: u64) -> u128 {
        (u128::from(count) << 64 | u128::from(done)) + 1
    }

    fn state(&mut self, done: u64, place: Option<usize>, last: Last) -> usize {
        if let Some(at) = self.known.get(&(done, place, last)) {
            return *at;
        }
        let at = self.states.len();
        let complete = done.count_ones() as usize == self.steps.len();
        self.states.push(State { place, last, complete });
        self.known.insert((done, place, last), at);
        self.by_done.entry((done.count_ones(), done)).or_default().push(at);
        at
    }

    /// No step that is not fixed starts before the fixed ones done have ended.
    fn floor(&self, done: u64) -> i64 {
        let fixed = self.fixed_done(done).map(|(_, end)| end);
        fixed.max().unwrap_or(i64::MIN / 4)
    }

    fn fixed_done(&self, done: u64) -> impl Iterator<Item = (usize, i64)> + '_ {
        let all = self.steps.iter().enumerate();
        all.filter(move |(at, _)| done >> at & 1 == 1)
            .filter_map(|(at, step)| step.fixed.as_ref().map(|f| (at, f.start + f.minutes)))
    }

    fn last(&self, done: u64, step: usize) -> Last {
        if let Some(fixed) = &self.steps[step].fixed {
            return Last::Fixed(step, fixed.start + fixed.minutes);
        }
        let pending = self
            .facts
            .waits
            .iter()
            .any(|(earlier, later, _)| *earlier == step && done >> later & 1 == 0);
        if pending { Last::Step(step) } else { Last::Any }
    }

    fn arcs(&mut self, ways: &[Way], done: u64) -> Vec<Arc> {
        let next_fixed = self.facts.fixed.iter().copied().find(|step| done >> step & 1 == 0);
        let mut arcs = Vec::new();
        for step in 0..self.steps.len() {
            if done >> step & 1 == 1 || self.facts.before[step] & !done != 0 {
                continue;
            }
            let after = done | 1 << step;
            let last = self.last(after, step);
            let waits = self.facts.waits.iter().filter(|(_, later, _)| *later == step);
            let ends: BTreeMap<usize, i64> = self.fixed_done(done).collect();
            let floor = waits.filter_map(|(earlier, _, gap)| Some(ends.get(earlier)? + gap));
            let floor = floor.max().unwrap_or(i64::MIN / 4);
            if let Some(fixed) = &self.steps[step].fixed {
                if next_fixed == Some(step) {
                    let place = self.steps[step].options[fixed.option].place;
                    let start = Start::Fixed(fixed.start);
                    let to = self.state(after, place, last);
                    arcs.push(Arc { step, place, start, to, floor });
                }
                continue;
            }
            for (at, way) in ways.iter().enumerate().filter(|(_, way)| way.step == step) {
                let to = self.state(after, way.place, last);
                let start = Start::Way(at);
                arcs.push(Arc { step, place: way.place, start, to, floor });
            }
        }
        arcs
    }
}

impl Crew {
    fn new(minutes: usize, needs: &[Vec<usize>]) -> Self {
        let shared = needs.iter().enumerate().any(|(at, group)| {
            needs[..at].iter().any(|other| other.iter().any(|used| group.contains(used)))
        });
        let count = needs.iter().fold(1_usize, |all, group| all.saturating_mul(group.len()));
        let teams = (shared && count <= TEAMS_MAX).then(|| {
            let mut teams: Vec<Vec<usize>> = vec![Vec::new()];
            for group in needs {
                let longer = |team: &Vec<usize>| {
                    let free = group.iter().filter(|used| !team.contains(used));
                    let with = |used: &usize| team.iter().chain([used]).copied().collect();
                    free.map(with).collect::<Vec<Vec<usize>>>()
                };
                teams = teams.iter().flat_map(longer).collect();
            }
            teams
        });
        Self { minutes, needs: needs.to_vec(), teams }
    }

    /// Whether one resource might be counted for two needs.
    fn is_loose(&self) -> bool {
        self.teams.is_none()
            && self.needs.iter().enumerate().any(|(at, group)| {
                self.needs[..at].iter().any(|other| other.iter().any(|used| group.contains(used)))
            })
    }
}

/// Per step, the earliest start that releases and the steps before it allow.
fn earliest_starts(steps: &[Step], before: &[u64], base: i64) -> Vec<i64> {
    let mut from: Vec<i64> = steps.iter().map(|step| base.max(step.release)).collect();
    // Each round settles at least one more step of any chain.
    for _ in 0..steps.len() {
        for (at, step) in steps.iter().enumerate() {
            for (earlier, gap) in
                step.after.iter().filter(|(other, _)| before[at] >> other & 1 == 1)
            {
                let shortest = steps[*earlier].options.iter().map(|way| way.minutes).min();
                let end = steps[*earlier].fixed.as_ref().map_or_else(
                    || from[*earlier] + shortest.unwrap_or(0),
                    |fixed| fixed.start + fixed.minutes,
                );
                from[at] = from[at].max(end + gap);
            }
        }
    }
    from
}

/// A count of minutes as an index; negative ones become 0.
pub(super) fn index(minutes: i64) -> usize {
    usize::try_from(minutes).unwrap_or(0)
}
