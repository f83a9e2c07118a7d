//! The quick search for the cheapest way to put a job onto the board whose fixed steps, if any, come first.
//!
//! The same best-first search over labels as the careful one beside it, with these differences: for each kind
//! of option the minutes at which its resources are free are worked out once, as bits; what is still to come is
//! bounded with the least minutes and changes of place after each set of steps, from tables; and it gives
//! up early where there are too many labels. Nothing is proved. All memory is kept between searches.

mod free;
mod labels;
mod soonest;

use super::Query;
use super::ways::{NO_SET, Ways};
use crate::planner::begun::Begun;
use crate::planner::board::Board;
use crate::planner::placement::Placement;
use crate::planner::problem::Job;
use crate::planner::shop::JobFacts;
use crate::planner::span::Span;
use soonest::Soonest;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// The most labels before the search dives for any way; at twice as many it gives up.
const LABELS_MAX: usize = 4_000;
/// The most words of minutes held at once; larger jobs take the careful search.
const WORDS_MAX: usize = 1 << 21;
const NONE: u32 = u32::MAX;
/// No later step can stay at the place.
const NO_STAY: i64 = i64::MAX;

/// A partial way: some steps placed, the last of them by `way` from `start` to `end`.
#[derive(Debug, Clone, Copy)]
struct Label {
    set: u16,
    dead: bool,
    /// Whether the last step stands as in the previous plan.
    kept: bool,
    slot: u32,
    way: u32,
    parent: u32,
    /// The next label of the same set.
    rival: u32,
    start: i64,
    end: i64,
    /// Until when the vehicle could stay where it is.
    gap_end: i64,
    paid: i64,
    total: i64,
}

/// When one place is free of others, and when it is open too.
#[derive(Debug, Clone, Default)]
struct View {
    known: bool,
    gaps: Vec<Span>,
    usable: Vec<Span>,
}

/// Memory kept between searches.
#[derive(Debug, Clone, Default)]
pub(in crate::planner) struct Scratch {
    labels: Vec<Label>,
    queue: BinaryHeap<Reverse<(u32, i64, i64, u32)>>,
    /// Per set, its newest label.
    heads: Vec<u32>,
    bits: Vec<u64>,
    spare: Vec<u64>,
    known: Vec<bool>,
    views: Vec<View>,
    /// The steps to be done, by the earliest end of each by itself.
    soonest: Vec<Soonest>,
}

/// Finds a cheap way for less than the query's limit; the cost includes the makespan's growth.
/// The error says that the job is too large for this search.
pub(super) fn find(
    board: &Board<'_>,
    scratch: &mut Scratch,
    query: Query<'_>,
    ways: &Ways,
) -> Result<Option<(i64, Placement)>, TooLarge> {
    let Some(mut search) = Search::new(board, scratch, query, ways)? else { return Ok(None) };
    Ok(search.run())
}

/// The job's time is too long for bits.
#[derive(Debug)]
pub(super) struct TooLarge;

struct Search<'b, 'm> {
    board: &'b Board<'b>,
    query: Query<'b>,
    job: &'b Job,
    facts: &'b JobFacts,
    ways: &'b Ways,
    begun: Option<&'b Begun>,
    memory: &'m mut Scratch,
    /// The first minute of interest, and the first one past it.
    base: i64,
    until: i64,
    words: usize,
    others_finish: i64,
    diving: bool,
}

impl<'b, 'm> Search<'b, 'm> {
    fn new(
        board: &'b Board<'b>,
        memory: &'m mut Scratch,
        query: Query<'b>,
        ways: &'b Ways,
    ) -> Result<Option<Self>, TooLarge> {
        let problem = board.shop.problem;
        let facts = &board.shop.jobs[query.job];
        let job = &problem.jobs[query.job];
        let others_finish =
            if problem.cost.makespan > 0 { board.last_finish_without(query.job) } else { 0 };
        let base = problem.now.max(job.release);
        let mut search = Self {
            board,
            query,
            job,
            facts,
            ways,
            begun: facts.begun.as_ref(),
            memory,
            base,
            until: base,
            words: 0,
            others_finish,
            diving: false,
        };
        if search.begun.is_some_and(|begun| !begun.may_stand(board, query.job)) {
            return Ok(None);
        }
        search.until = search.latest_finish();
        if search.until <= base {
            return Ok(None);
        }
        search.words = usize::try_from((search.until - base) / 64 + 1).unwrap_or(usize::MAX);
        let classes = ways.classes.len();
        let most = search.words.saturating_mul(classes + 1);
        if most > WORDS_MAX {
            return Err(TooLarge);
        }
        let memory = &mut *search.memory;
        if memory.bits.len() < most {
            memory.bits.resize(most, 0);
        }
        memory.known.clear();
        memory.known.resize(classes, false);
        memory.labels.clear();
        memory.queue.clear();
        memory.heads.clear();
        memory.heads.resize(ways.sets.len(), NONE);
        if memory.views.len() < ways.slots {
            memory.views.resize_with(ways.slots, View::default);
        }
        memory.views[..ways.slots].iter_mut().for_each(|view| view.known = false);
        Ok(Some(search))
    }

    fn run(&mut self) -> Option<(i64, Placement)> {
        let all = self.ways.sets.len() - 1;
        let root = Label {
            set: 0,
            dead: false,
            kept: false,
            slot: u32::try_from(self.ways.slot).unwrap_or(0),
            way: NONE,
            parent: NONE,
            rival: NONE,
            start: i64::MIN,
            end: self.begun.map_or(self.base, |begun| begun.end),
            gap_end: NO_STAY,
            paid: self.begun.map_or(0, |begun| begun.paid),
            total: 0,
        };
        let mut root = root;
        if self.ways.slot > 0 {
            self.know_view(self.ways.slot);
            root.gap_end = self.gap_end(self.ways.slot, root.end);
        }
        if !self.know_soonest() {
            return None;
        }
        let finish = self.finish_at_least(root.set, root.end);
        if root.paid + self.cost_of_finish(finish) >= self.query.below {
            return None;
        }
        self.memory.labels.push(root);
        self.extend(0);
        while let Some(Reverse((.., at))) = self.memory.queue.pop() {
            let label = self.memory.labels[at as usize];
            if label.dead {
                continue;
            }
            if usize::from(label.set) == all {
                return Some((label.total, self.placement(at)));
            }
            if self.memory.labels.len() > LABELS_MAX && !self.diving {
                self.dive();
            }
            if self.memory.labels.len() > 2 * LABELS_MAX {
                return None;
            }
            self.extend(at);
        }
        None
    }

    /// From now on prefers labels with the most steps done.
    fn dive(&mut self) {
        self.diving = true;
        let waiting = std::mem::take(&mut self.memory.queue);
        for Reverse((_, total, end, at)) in waiting {
            let left = self.left(self.memory.labels[at as usize].set);
            self.memory.queue.push(Reverse((left, total, end, at)));
        }
    }

    fn left(&self, set: u16) -> u32 {
        64 - self.ways.sets[usize::from(set)].count_ones()
    }

    /// What finishing at a minute costs, the makespan's growth included; it never falls.
    fn cost_of_finish(&self, finish: i64) -> i64 {
        let cost = self.board.shop.problem.cost;
        let late = self.job.due.map_or(0, |due| (finish - due).max(0));
        let growth = (finish - self.others_finish).max(0);
        let minute = cost.lateness * self.job.weight - self.board.relief[self.query.job];
        minute * late + cost.finish * finish + cost.makespan * growth
    }

    /// The latest finish within the horizon that still costs little enough.
    fn latest_finish(&self) -> i64 {
        let horizon = self.board.shop.problem.horizon;
        let (rest, moves) = self.ways.rest(0, self.ways.slot);
        let paid = moves * self.board.shop.problem.cost.place_change
            + self.begun.map_or(0, |begun| begun.paid);
        let below = self.query.below.saturating_sub(paid);
        let (mut fits, mut too_late) = (self.base, horizon + 1);
        if self.base + rest > horizon || self.cost_of_finish(self.base + rest) >= below {
            return self.base;
        }
        while fits + 1 < too_late {
            let middle = fits + (too_late - fits) / 2;
            if self.cost_of_finish(middle) < below {
                fits = middle;
            } else {
                too_late = middle;
            }
        }
        fits
    }

    fn extend(&mut self, at: u32) {
        let label = self.memory.labels[at as usize];
        let ways = self.ways;
        let steps = ways.of_step.len();
        let set = usize::from(label.set);
        for step in 0..steps {
            let next = ways.next[set * steps + step];
            if next == NO_SET {
                continue;
            }
            let spec = &self.job.steps[step];
            let mut from = label.end.max(self.base).max(spec.release);
            from = self.query.blink.map_or(from, |blink| from.max(blink.delay(step)));
            for (earlier, gap) in spec.after.iter().filter(|(_, gap)| *gap > 0) {
                from = from.max(self.end_of(at, *earlier).map_or(i64::MIN, |end| end + gap));
            }
            let (first, count) = ways.of_step[step];
            let mut turn = self.query.turn % count;
            for _ in 0..count {
                let way = first + turn;
                // Of equally good ways the first tried stays, so the first one varies.
                turn = if turn + 1 == count { 0 } else { turn + 1 };
                let option = ways.every[way].option;
                if self.query.blink.is_some_and(|blink| blink.skips(step, option)) {
                    continue;
                }
                self.extend_by(at, label, next, way, from);
            }
        }
    }

    fn extend_by(&mut self, at: u32, label: Label, next: u16, index: usize, from: i64) {
        let way = self.ways.every[index];
        let first = label.set == 0 && self.begun.is_none();
        let stays = !first && label.slot as usize == way.slot;
        let mut from =
            if first || stays { from } else { from.max(label.end + self.job.move_minutes) };
        let rest = self.ways.rest(usize::from(next), way.slot).0;
        let mut until = self.until - rest;
        if stays && way.slot > 0 {
            until = until.min(label.gap_end);
        }
        let later = !self.ways.sets[usize::from(next)];
        let may_stay = way.slot > 0 && self.facts.steps_at[way.slot - 1] & later != 0;
        let entry = Entry { parent: at, set: next, way: index, may_stay };
        self.try_previous(&label, entry, from, until);
        while let Some(start) = self.earliest_start(way, from, until) {
            self.push(&label, entry, start, false);
            if stays || !may_stay {
                break;
            }
            // A later gap of the place is longer, perhaps.
            let gap_end = self.gap_end(way.slot, start);
            if gap_end >= until {
                break;
            }
            from = gap_end;
        }
    }

    /// Tries to let the step stand exactly as in the previous plan.
    fn try_previous(&mut self, label: &Label, entry: Entry, from: i64, until: i64) {
        let way = self.ways.every[entry.way];
        let spec = &self.job.steps[way.step];
        let Some(was) = spec.previous.as_ref().filter(|was| was.option == Some(way.option)) else {
            return;
        };
        let Some(uses) = was.known_uses.as_deref() else { return };
        let needs = &spec.options[way.option].needs;
        let fits = was.start >= from
            && was.start + way.minutes <= until
            && self.earliest_start(way, was.start, was.start + way.minutes) == Some(was.start)
            && uses.len() == needs.len()
            && uses.iter().zip(needs).all(|(used, group)| group.contains(used))
            && (1..uses.len()).all(|at| !uses[..at].contains(&uses[at]))
            && uses.iter().all(|used| self.is_free(*used, was.start, way.minutes));
        if fits {
            self.push(label, entry, was.start, true);
        }
    }
}

/// Where a new label comes from.
#[derive(Clone, Copy)]
struct Entry {
    parent: u32,
    set: u16,
    way: usize,
    may_stay: bool,
}

#[cfg(test)]
mod tests;
