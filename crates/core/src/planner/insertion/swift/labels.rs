//! Labels of the quick search: kept, dropped where another is at least as good, and read back as how a
//! job stands.

use super::super::matching;
use super::super::ways::Way;
use super::{Entry, Label, NO_STAY, NONE, Search};
use crate::planner::placement::{Placed, Placement};
use std::cmp::Reverse;

impl Search<'_, '_> {
    pub(super) fn push(&mut self, parent: &Label, entry: Entry, start: i64, kept: bool) {
        let cost = self.board.shop.problem.cost;
        let way = self.ways.every[entry.way];
        let end = start + way.minutes;
        let first = parent.set == 0 && self.begun.is_none();
        let moved = !first && parent.slot as usize != way.slot;
        let changed = !kept && self.job.steps[way.step].previous.is_some();
        let paid = parent.paid
            + if moved { cost.place_change } else { 0 }
            + if changed { cost.change } else { 0 };
        let (rest, moves) = self.ways.rest(usize::from(entry.set), way.slot);
        let finish = (end + rest).max(self.finish_at_least(entry.set, end));
        let total = paid + moves * cost.place_change + self.cost_of_finish(finish);
        if total >= self.query.below {
            return;
        }
        let label = Label {
            set: entry.set,
            dead: false,
            kept,
            slot: u32::try_from(way.slot).unwrap_or(0),
            way: u32::try_from(entry.way).unwrap_or(0),
            parent: entry.parent,
            rival: self.memory.heads[usize::from(entry.set)],
            start,
            end,
            gap_end: if entry.may_stay { self.gap_end(way.slot, end) } else { NO_STAY },
            paid,
            total,
        };
        if self.drop_dominated(&label) {
            return;
        }
        let at = u32::try_from(self.memory.labels.len()).unwrap_or(NONE);
        self.memory.heads[usize::from(entry.set)] = at;
        self.memory.labels.push(label);
        let left = self.left(entry.set);
        let deep = if self.diving { left } else { 0 };
        self.memory.queue.push(Reverse((deep, total, finish * 64 + i64::from(left), at)));
    }

    /// Whether a label of the same set is at least as good; drops those that are no better.
    pub(super) fn drop_dominated(&mut self, label: &Label) -> bool {
        let mut at = label.rival;
        while at != NONE {
            let rival = &self.memory.labels[at as usize];
            let next = rival.rival;
            if !rival.dead {
                if self.dominates(rival, label) {
                    return true;
                }
                if self.dominates(label, rival) {
                    self.memory.labels[at as usize].dead = true;
                }
            }
            at = next;
        }
        false
    }

    /// Whether `one` can do whatever `other` can still do, as early and for as little.
    pub(super) fn dominates(&self, one: &Label, other: &Label) -> bool {
        let (price, pause) = if one.slot == other.slot {
            if one.gap_end != other.gap_end {
                return false;
            }
            (0, 0)
        } else if !self.query.hasty && one.gap_end < self.until {
            // The next step may need this place, and the vehicle be pushed off it by then.
            return false;
        } else {
            (self.board.shop.problem.cost.place_change, self.job.move_minutes)
        };
        if one.paid + price > other.paid || one.end + pause > other.end {
            return false;
        }
        let done = self.ways.sets[usize::from(one.set)];
        self.facts.waits.iter().all(|(earlier, later, gap)| {
            let pending = done >> earlier & 1 == 1 && done >> later & 1 == 0;
            !pending || {
                let ready = |label: &Label| {
                    self.end_from(label, *earlier).map_or(i64::MIN, |end| end + gap)
                };
                ready(one) <= ready(other).max(other.end)
            }
        })
    }

    pub(super) fn end_of(&self, at: u32, step: usize) -> Option<i64> {
        self.end_from(&self.memory.labels[at as usize], step)
    }

    /// When a step ended on the way to a label.
    pub(super) fn end_from(&self, label: &Label, step: usize) -> Option<i64> {
        let mut label = label;
        while label.parent != NONE {
            if self.ways.every[label.way as usize].step == step {
                return Some(label.end);
            }
            label = &self.memory.labels[label.parent as usize];
        }
        let fixed = self.begun?.steps.iter().find(|placed| placed.step == step);
        fixed.map(|placed| placed.end)
    }

    pub(super) fn placement(&self, at: u32) -> Placement {
        let mut steps = Vec::with_capacity(self.ways.of_step.len());
        steps.extend(self.begun.iter().flat_map(|begun| begun.steps.iter().cloned()));
        let mut label = &self.memory.labels[at as usize];
        while label.parent != NONE {
            let way = self.ways.every[label.way as usize];
            steps.push(Placed {
                step: way.step,
                option: way.option,
                start: label.start,
                end: label.end,
                uses: self.uses(way, label),
            });
            label = &self.memory.labels[label.parent as usize];
        }
        Placement::new(self.board.shop.problem.cost, self.job, steps)
    }

    pub(super) fn uses(&self, way: Way, label: &Label) -> Vec<usize> {
        let spec = &self.job.steps[way.step];
        if label.kept
            && let Some(uses) = spec.previous.as_ref().and_then(|was| was.known_uses.clone())
        {
            return uses;
        }
        let needs = &spec.options[way.option].needs;
        let free = |used: usize| self.is_free(used, label.start, way.minutes);
        matching::assign(needs, self.query.rank, free).unwrap_or_default()
    }
}
