//! Puts one whole job onto a board at the least cost, all other jobs standing as they are.
//!
//! A best-first search (Hart, Nilsson, Raphael 1968) over labels: the set of steps done, where the
//! vehicle stands, when the last step ended and what was paid. Each label is extended by every step
//! whose turn it may be, in every option, at its earliest start; where a later step could stay at
//! the place, also at the earliest start in each later gap of that place; and at the start it had in
//! the previous plan. Starting earlier in the same gap never hurts, so the first finished
//! label is the cheapest way, and when none is left there is no way. Past [`LABELS_MAX`] labels
//! the search dives for any way, and the result says that it is not proved.

mod blink;
mod label;
mod matching;
mod minutes;
mod swift;
mod ways;

use super::board::Board;
use super::placement::{Placed, Placement, finish_cost};
use super::problem::{Job, Step, StepOption};
use super::shop::{JobFacts, Shop};
use super::span::{Span, earliest, earliest_inside, subtract};
pub(super) use blink::Blink;
use label::{Label, Labels};
pub(super) use swift::Scratch;
pub(super) use ways::Ways;

/// The most labels of one search before it dives.
pub(super) const LABELS_MAX: usize = 20_000;

/// What one search is asked.
#[derive(Debug, Clone, Copy)]
pub(super) struct Query<'q> {
    pub(super) job: usize,
    /// Only ways that cost less are of interest; the makespan's growth counts too.
    pub(super) below: i64,
    /// Whether steps with a previous start may only stand exactly so.
    pub(super) as_before: bool,
    /// Per resource, its rank: among free ones the lowest is taken.
    pub(super) rank: &'q [u32],
    /// Which option of each step is tried first, modulo their number.
    pub(super) turn: usize,
    /// Whether to drop labels too where a vehicle that stays might be pushed off its place later:
    /// faster, but a way may be missed, so nothing is proved.
    pub(super) hasty: bool,
    /// Ways to pass over at random, so that a search does not always take the same best one.
    pub(super) blink: Option<Blink>,
}

impl<'q> Query<'q> {
    /// Any way at any cost.
    pub(super) fn plain(shop: &'q Shop<'_>, job: usize) -> Self {
        Self {
            job,
            below: i64::MAX,
            as_before: false,
            rank: &shop.demand,
            turn: 0,
            hasty: false,
            blink: None,
        }
    }
}

/// What one search found.
#[derive(Debug)]
pub(super) struct Found {
    /// The way found and what it costs, the makespan's growth included.
    pub(super) best: Option<(i64, Placement)>,
    /// No way costs less than this, as far as the search got; `below` when there is none.
    pub(super) bound: i64,
    /// Whether the search came to its end, so that the way is cheapest, or there is none.
    pub(super) proved: bool,
}

/// Searches for the cheapest way to put a job, which is off the board, onto it.
pub(super) fn find(board: &Board<'_>, query: Query<'_>) -> Found {
    let search = Search::new(board, query);
    let mut labels = Labels::new(query.below);
    let mut proved = !query.hasty && query.blink.is_none();
    let mut bound = if proved { query.below } else { i64::MIN };
    labels.push(Label::root(), &search);
    while let Some(at) = labels.pop() {
        let label = labels.get(at);
        if label.done == search.all {
            let cost = label.total;
            let placement = search.placement(&labels, at);
            return Found {
                best: Some((cost, placement)),
                bound: if proved { cost } else { bound },
                proved,
            };
        }
        if labels.len() > LABELS_MAX && !labels.diving() {
            bound = if proved { label.total } else { bound };
            proved = false;
            labels.dive();
        }
        if labels.len() > 2 * LABELS_MAX {
            return Found { best: None, bound, proved };
        }
        search.extend(&mut labels, at);
    }
    Found { best: None, bound, proved }
}

/// Searches quickly for a cheap way where the job allows it; a way may be missed. Falls back to
/// [`find`] for jobs with fixed steps among others or too many sets of steps, and to keep previous starts only.
pub(super) fn find_quickly(board: &mut Board<'_>, query: Query<'_>) -> Option<(i64, Placement)> {
    let ways = board.shop.jobs[query.job].ways.as_ref().filter(|_| !query.as_before);
    if let Some(ways) = ways {
        let mut scratch = std::mem::take(&mut board.scratch);
        let found = swift::find(board, &mut scratch, query, ways);
        board.scratch = scratch;
        if let Ok(found) = found {
            return found;
        }
    }
    find(board, query).best
}

/// When one place is open to the job and free of others.
struct PlaceView {
    /// Free of others, open or not.
    gaps: Vec<Span>,
    /// Free of others and open, ordered.
    usable: Vec<Span>,
    /// Which steps can stand here.
    steps: u64,
}

struct Search<'b> {
    board: &'b Board<'b>,
    query: Query<'b>,
    job: &'b Job,
    facts: &'b JobFacts,
    views: Vec<PlaceView>,
    /// All steps done.
    all: u64,
    others_finish: i64,
}

/// A step about to be placed in one option.
#[derive(Clone, Copy)]
struct Trial<'t> {
    step: usize,
    spec: &'t Step,
    option: usize,
    way: &'t StepOption,
    /// The earliest start, and the latest end.
    from: i64,
    until: i64,
}

impl<'b> Search<'b> {
    fn new(board: &'b Board<'b>, query: Query<'b>) -> Self {
        let problem = board.shop.problem;
        let facts = &board.shop.jobs[query.job];
        let job = &problem.jobs[query.job];
        let views = facts.places.iter().zip(&facts.steps_at).map(|(place, steps)| {
            let taken = board.taken(query.job, *place);
            let whole = [Span { start: i64::MIN / 4, end: i64::MAX / 4 }];
            let (mut gaps, mut usable) = (Vec::new(), Vec::new());
            subtract(&whole, &taken, &mut gaps);
            subtract(&problem.places[*place].open, &taken, &mut usable);
            PlaceView { gaps, usable, steps: *steps }
        });
        let others_finish =
            if problem.cost.makespan > 0 { board.last_finish_without(query.job) } else { 0 };
        Self {
            board,
            query,
            job,
            facts,
            views: views.collect(),
            all: if job.steps.len() >= 64 { u64::MAX } else { (1 << job.steps.len()) - 1 },
            others_finish,
        }
    }

    fn view(&self, place: usize) -> Option<&PlaceView> {
        self.facts.places.binary_search(&place).ok().map(|at| &self.views[at])
    }

    /// The gap of a place around a minute.
    fn gap_at(&self, place: usize, minute: i64) -> Option<Span> {
        let gaps = &self.view(place)?.gaps;
        let at = gaps.partition_point(|gap| gap.end <= minute);
        gaps.get(at).copied().filter(|gap| gap.start <= minute)
    }

    /// A lower bound on what a label will cost in the end: with the least minutes still to do.
    fn least_total(&self, label: &Label) -> (i64, i64) {
        let to_do = self.to_do(label.done);
        let begun = label.end.max(self.board.shop.problem.now).max(self.job.release) + to_do;
        let finish = if to_do > 0 { begun } else { label.end }.max(self.facts.fixed_end);
        (label.paid + self.cost_of_finish(finish), finish)
    }

    /// The least minutes of the steps that are neither done nor fixed.
    fn to_do(&self, done: u64) -> i64 {
        let steps = self.job.steps.iter().zip(&self.facts.least_minutes).enumerate();
        let left = steps.filter(|(at, (step, _))| done >> at & 1 == 0 && !step.is_fixed());
        left.map(|(_, (_, minutes))| minutes).sum()
    }

    /// What finishing at a minute costs, the makespan's growth included; it never falls.
    fn cost_of_finish(&self, finish: i64) -> i64 {
        let cost = self.board.shop.problem.cost;
        let growth = cost.makespan * (finish - self.others_finish).max(0);
        let late = self.job.due.map_or(0, |due| (finish - due).max(0));
        finish_cost(cost, self.job, finish) - self.board.relief[self.query.job] * late + growth
    }

    /// The latest finish within the horizon that still costs little enough.
    fn latest_finish(&self, label: &Label) -> i64 {
        let problem = self.board.shop.problem;
        let (mut fits, mut too_late) = (label.end.max(problem.now), problem.horizon + 1);
        while fits + 1 < too_late {
            let middle = fits + (too_late - fits) / 2;
            let finish = middle.max(self.facts.fixed_end);
            if label.paid + self.cost_of_finish(finish) < self.query.below {
                fits = middle;
            } else {
                too_late = middle;
            }
        }
        fits
    }

    fn extend(&self, labels: &mut Labels, at: usize) {
        let label = labels.get(at).clone();
        let next_fixed = self.facts.fixed.iter().copied().find(|step| label.done >> step & 1 == 0);
        let job = self.job;
        let (to_do, latest) = (self.to_do(label.done), self.latest_finish(&label));
        for (step, spec) in job.steps.iter().enumerate() {
            let done = label.done >> step & 1 == 1;
            if done || self.facts.before[step] & !label.done != 0 {
                continue;
            }
            let ready = self.ready(labels, at, step);
            if spec.is_fixed() {
                if next_fixed == Some(step) {
                    self.extend_fixed(labels, at, step, ready);
                }
                continue;
            }
            let problem = self.board.shop.problem;
            let fixed_start =
                next_fixed.and_then(|step| job.steps[step].fixed.as_ref()).map(|f| f.start);
            // The other steps still to do come after this one.
            let rest = to_do - self.facts.least_minutes[step];
            let until = fixed_start.unwrap_or(i64::MAX).min(latest - rest);
            let from = ready.max(problem.now).max(job.release).max(spec.release).max(label.end);
            let blink = self.query.blink;
            let from = blink.map_or(from, |blink| from.max(blink.delay(step)));
            let count = spec.options.len();
            for at_option in 0..count {
                // Of equally good ways the first tried stays, so the first one varies.
                let option = (at_option + self.query.turn) % count;
                let way = &spec.options[option];
                if blink.is_some_and(|blink| blink.skips(step, option)) {
                    continue;
                }
                let trial = Trial { step, spec, option, way, from, until };
                self.extend_option(labels, at, &label, trial);
            }
        }
    }

    /// When the waits after earlier steps are over, by the ends of those steps.
    fn ready(&self, labels: &Labels, at: usize, step: usize) -> i64 {
        let after = &self.job.steps[step].after;
        after
            .iter()
            .filter(|(earlier, _)| self.facts.before[step] >> earlier & 1 == 1)
            .map(|(earlier, gap)| labels.end_of(at, *earlier).map_or(i64::MIN, |end| end + gap))
            .max()
            .unwrap_or(i64::MIN)
    }

    fn extend_fixed(&self, labels: &mut Labels, at: usize, step: usize, ready: i64) {
        let label = labels.get(at);
        let spec = &self.job.steps[step];
        let Some(fixed) = &spec.fixed else { return };
        let place = spec.options[fixed.option].place;
        let first = label.done == 0;
        let both_fixed = !first && self.job.steps[label.step].is_fixed();
        let moves = !first && place != label.place;
        if !first && !both_fixed {
            let pause = if moves { self.job.move_minutes } else { 0 };
            if fixed.start < label.end.max(label.last_end + pause) {
                return;
            }
        }
        if fixed.start < ready {
            return;
        }
        if let Some(place) = place.filter(|_| !first && !moves && fixed.start > label.last_end) {
            let wait = Span { start: label.last_end, end: fixed.start };
            let free = if both_fixed {
                self.board.wait_is_free(self.query.job, place, wait)
            } else {
                self.gap_at(place, wait.start).is_some_and(|gap| wait.end <= gap.end)
            };
            if !free {
                return;
            }
        }
        let placed = Placed {
            step,
            option: fixed.option,
            start: fixed.start,
            end: fixed.start + fixed.minutes,
            uses: fixed.uses.clone(),
        };
        self.push(labels, at, place, placed);
    }

    fn extend_option(&self, labels: &mut Labels, at: usize, label: &Label, trial: Trial<'_>) {
        let first = label.done == 0;
        let mut trial = trial;
        let Some(place) = trial.way.place else {
            if !first && label.place.is_some() {
                trial.from = trial.from.max(label.last_end + self.job.move_minutes);
            }
            self.try_starts(labels, at, None, trial);
            return;
        };
        if !first && label.place == Some(place) {
            // The vehicle stays, so the wait before this step lies in the same gap.
            if let Some(gap) = self.gap_at(place, label.last_end) {
                trial.until = trial.until.min(gap.end);
                self.try_starts(labels, at, Some(place), trial);
            }
            return;
        }
        if !first {
            trial.from = trial.from.max(label.last_end + self.job.move_minutes);
        }
        let later = self.all & !label.done & !(1 << trial.step);
        let may_stay = self.view(place).is_some_and(|view| view.steps & later != 0);
        while let Some(start) = self.try_starts(labels, at, Some(place), trial) {
            let Some(gap) = self.gap_at(place, start).filter(|_| may_stay) else { break };
            if gap.end >= trial.until {
                break;
            }
            trial.from = gap.end;
        }
    }

    /// Tries the earliest start and the previous one; gives the earliest.
    fn try_starts(
        &self,
        labels: &mut Labels,
        at: usize,
        place: Option<usize>,
        trial: Trial<'_>,
    ) -> Option<i64> {
        let was = trial.spec.previous.as_ref();
        if let Some(was) = was.filter(|was| was.option == Some(trial.option)) {
            let exact = Trial { from: was.start, until: was.start + trial.way.minutes, ..trial };
            let within = trial.from <= exact.from && exact.until <= trial.until;
            let uses = was.known_uses.as_deref();
            if within && let Some(uses) = uses.filter(|uses| self.stands(exact, place, uses)) {
                self.push(labels, at, place, trial.placed(was.start, uses.to_vec()));
            }
        }
        if self.query.as_before && was.is_some() {
            return None;
        }
        let (start, uses) = self.earliest_start(place, trial)?;
        self.push(labels, at, place, trial.placed(start, uses));
        Some(start)
    }

    /// Whether a step can stand exactly at `trial.from` with these resources.
    fn stands(&self, trial: Trial<'_>, place: Option<usize>, uses: &[usize]) -> bool {
        let (start, minutes) = (trial.from, trial.way.minutes);
        let place_fits = place.is_none_or(|place| {
            self.view(place)
                .is_some_and(|view| earliest(&view.usable, start, minutes) == Some(start))
        });
        let starts = trial.way.starts.as_ref();
        let starts_fit = starts.is_none_or(|starts| earliest_inside(starts, start) == Some(start));
        let needs = &trial.way.needs;
        place_fits
            && starts_fit
            && uses.len() == needs.len()
            && uses.iter().zip(needs).all(|(used, group)| group.contains(used))
            && (1..uses.len()).all(|at| !uses[..at].contains(&uses[at]))
            && uses
                .iter()
                .all(|used| earliest(&self.board.free[*used], start, minutes) == Some(start))
    }

    /// The earliest start within the trial's limits, and resources for it.
    fn earliest_start(&self, place: Option<usize>, trial: Trial<'_>) -> Option<(i64, Vec<usize>)> {
        let minutes = trial.way.minutes;
        let usable = match place {
            Some(place) => Some(&self.view(place)?.usable),
            None => None,
        };
        let mut start = trial.from;
        loop {
            let before = start;
            if let Some(usable) = usable {
                start = earliest(usable, start, minutes)?;
            }
            if let Some(starts) = &trial.way.starts {
                start = earliest_inside(starts, start)?;
            }
            for group in &trial.way.needs {
                let free = |used: &usize| earliest(&self.board.free[*used], start, minutes);
                start = group.iter().filter_map(free).min()?;
            }
            if start + minutes > trial.until {
                return None;
            }
            if start > before {
                continue;
            }
            let free = &self.board.free;
            let uses = matching::assign(&trial.way.needs, self.query.rank, |used| {
                earliest(&free[used], start, minutes) == Some(start)
            });
            if let Some(uses) = uses {
                return Some((start, uses));
            }
            // Only a resource that becomes free later can mend the matching.
            let named = trial.way.needs.iter().flatten();
            start = named
                .filter_map(|used| earliest(&free[*used], start + 1, minutes))
                .filter(|next| *next > start)
                .min()?;
        }
    }

    fn push(&self, labels: &mut Labels, at: usize, place: Option<usize>, placed: Placed) {
        let cost = self.board.shop.problem.cost;
        let label = labels.get(at);
        let moves = label.done != 0 && label.place != place;
        let changes =
            self.job.steps[placed.step].differs(placed.start, placed.option, &placed.uses);
        let paid = label.paid
            + if moves { cost.place_change } else { 0 }
            + if changes { cost.change } else { 0 };
        let next = Label {
            done: label.done | 1 << placed.step,
            end: label.end.max(placed.end),
            last_end: placed.end,
            place,
            gap: place.and_then(|place| self.stay_gap(place, label.done, &placed)),
            paid,
            total: 0,
            finish: 0,
            parent: at,
            step: placed.step,
            placed: Some(placed),
        };
        labels.push(next, self);
    }

    /// The gap that a later step at the same place would have to stay in, if one can.
    fn stay_gap(&self, place: usize, done: u64, placed: &Placed) -> Option<Span> {
        let later = self.all & !done & !(1 << placed.step);
        self.view(place).filter(|view| view.steps & later != 0)?;
        // Held by another from that very minute: staying is not possible.
        let closed = Span { start: placed.end, end: placed.end };
        Some(self.gap_at(place, placed.end).unwrap_or(closed))
    }

    fn placement(&self, labels: &Labels, at: usize) -> Placement {
        let cost = self.board.shop.problem.cost;
        Placement::new(cost, self.job, labels.chain(at))
    }
}

impl Trial<'_> {
    fn placed(&self, start: i64, uses: Vec<usize>) -> Placed {
        let (step, option) = (self.step, self.option);
        Placed { step, option, start, end: start + self.way.minutes, uses }
    }
}
