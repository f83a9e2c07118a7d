//! When resources and places are free for a step.

use super::super::ways::Way;
use super::super::{matching, minutes};
use super::{Scratch, Search};
use crate::planner::span::{Span, earliest};

impl Search<'_, '_> {
    pub(super) fn is_free(&self, used: usize, start: i64, minutes: i64) -> bool {
        earliest(&self.board.free[used], start, minutes) == Some(start)
    }

    /// The earliest start from `from` that ends at or before `until`.
    pub(super) fn earliest_start(&mut self, way: Way, from: i64, until: i64) -> Option<i64> {
        self.know_class(way.class);
        if way.slot > 0 {
            self.know_view(way.slot);
        }
        let class = self.ways.classes[way.class];
        let bits = &self.memory.bits[way.class * self.words..(way.class + 1) * self.words];
        let last = until - way.minutes;
        let mut from = from;
        let usable = &self.memory.views[way.slot].usable;
        let mut span = if way.slot > 0 {
            usable.partition_point(|span| span.end < from + way.minutes)
        } else {
            0
        };
        loop {
            if way.slot > 0 {
                from = from.max(usable.get(span)?.start);
            }
            if from > last {
                return None;
            }
            let offset = usize::try_from(from - self.base).ok()?;
            from = self.base + i64::try_from(minutes::next(bits, offset)?).ok()?;
            if from > last {
                return None;
            }
            if way.slot > 0 && usable.get(span)?.end < from + way.minutes {
                span += 1;
                continue;
            }
            if class.tangled && !self.matches(way, from) {
                from += 1;
                continue;
            }
            return Some(from);
        }
    }

    /// Whether there is a resource for each need where one could serve two.
    fn matches(&self, way: Way, start: i64) -> bool {
        let needs = &self.job.steps[way.step].options[way.option].needs;
        let free = |used: usize| self.is_free(used, start, way.minutes);
        matching::assign(needs, self.query.rank, free).is_some()
    }

    /// Works out at which minutes the resources of a class are free.
    fn know_class(&mut self, index: usize) {
        if std::mem::replace(&mut self.memory.known[index], true) {
            return;
        }
        let class = self.ways.classes[index];
        let option = &self.job.steps[class.step].options[class.option];
        let (base, last) = (self.base, self.until - class.minutes);
        let Scratch { bits, spare, .. } = &mut *self.memory;
        let bits = &mut bits[index * self.words..(index + 1) * self.words];
        let fill = |bits: &mut [u64], from: i64, to: i64| {
            let (from, to) = (from.max(base) - base, to.min(last) - base);
            if from <= to
                && let (Ok(from), Ok(to)) = (usize::try_from(from), usize::try_from(to))
            {
                minutes::fill(bits, from, to);
            }
        };
        let mut begun = false;
        let mut meet = |bits: &mut [u64], put: &dyn Fn(&mut [u64])| {
            if begun {
                spare.clear();
                spare.resize(bits.len(), 0);
                put(spare);
                bits.iter_mut().zip(spare.iter()).for_each(|(bits, other)| *bits &= other);
            } else {
                begun = true;
                bits.fill(0);
                put(bits);
            }
        };
        for group in &option.needs {
            meet(bits, &|bits| {
                for used in group {
                    let spans = &self.board.free[*used];
                    let first = spans.partition_point(|span| span.end < base + class.minutes);
                    for span in spans[first..].iter().take_while(|span| span.start <= last) {
                        fill(bits, span.start, span.end - class.minutes);
                    }
                }
            });
        }
        if let Some(starts) = &option.starts {
            meet(bits, &|bits| {
                for span in starts {
                    fill(bits, span.start, span.end - 1);
                }
            });
        }
        if option.needs.is_empty() && option.starts.is_none() {
            meet(bits, &|bits| fill(bits, base, last));
        }
    }

    /// Works out when a place is free of others.
    pub(super) fn know_view(&mut self, slot: usize) {
        let view = &mut self.memory.views[slot];
        if std::mem::replace(&mut view.known, true) {
            return;
        }
        let place = self.facts.places[slot - 1];
        view.gaps.clear();
        view.usable.clear();
        let mut at = i64::MIN / 4;
        // Holds are ordered by start only, because clashing places may be held at the same time.
        let own = self.query.job;
        for taken in self.board.blocked[place].iter().filter(|taken| taken.job != own) {
            if taken.span.start >= self.until {
                break;
            }
            if taken.span.start > at && taken.span.start > self.base {
                view.gaps.push(Span { start: at, end: taken.span.start });
            }
            at = at.max(taken.span.end);
        }
        view.gaps.push(Span { start: at, end: i64::MAX / 4 });
        let open = &self.board.shop.problem.places[place].open;
        let mut window = open.partition_point(|span| span.end <= self.base);
        for gap in &view.gaps {
            while window > 0 && open[window - 1].end > gap.start.max(self.base) {
                window -= 1;
            }
            while let Some(span) = open.get(window).filter(|span| span.start < gap.end) {
                let piece = Span { start: span.start.max(gap.start), end: span.end.min(gap.end) };
                if piece.start < piece.end && view.usable.last().is_none_or(|l| l.end < piece.end) {
                    while view.usable.last().is_some_and(|last| last.start >= piece.start) {
                        view.usable.pop();
                    }
                    view.usable.push(piece);
                }
                window += 1;
            }
        }
    }

    /// Until when a vehicle that is at a place at a minute could stay there.
    pub(super) fn gap_end(&self, slot: usize, minute: i64) -> i64 {
        let gaps = &self.memory.views[slot].gaps;
        let at = gaps.partition_point(|gap| gap.end <= minute);
        // Held by another from that very minute: staying is not possible.
        gaps.get(at).filter(|gap| gap.start <= minute).map_or(minute, |gap| gap.end)
    }
}
