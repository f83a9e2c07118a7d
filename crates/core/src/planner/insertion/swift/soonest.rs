//! How soon a job can be done with the board as it is, at the least.

use super::Search;

/// The earliest that a step can end with the board as it is, by itself.
#[derive(Debug, Clone, Copy)]
pub(super) struct Soonest {
    step: usize,
    end: i64,
    minutes: i64,
}

impl Search<'_, '_> {
    /// Works out how soon each step can end by itself; says whether all can.
    pub(super) fn know_soonest(&mut self) -> bool {
        let mut soonest = std::mem::take(&mut self.memory.soonest);
        soonest.clear();
        let done = self.ways.sets[0];
        let all = self.ways.in_order.iter().filter(|step| done >> **step & 1 == 0);
        let can = all.copied().all(|step| {
            let spec = &self.job.steps[step];
            let mut from = self.base.max(spec.release);
            from = from.max(self.begun.map_or(from, |begun| begun.end));
            for (earlier, gap) in &spec.after {
                let before = soonest.iter().find(|other| other.step == *earlier);
                from = from.max(before.map_or(from, |before| before.end + gap));
            }
            let (first, count) = self.ways.of_step[step];
            let mut end = i64::MAX;
            for way in first..first + count {
                let way = self.ways.every[way];
                if end != i64::MAX && from + way.minutes >= end {
                    continue;
                }
                let until = self.until.min(end);
                if let Some(start) = self.earliest_start(way, from, until) {
                    end = end.min(start + way.minutes);
                }
            }
            soonest.push(Soonest { step, end, minutes: self.facts.least_minutes[step] });
            end < i64::MAX
        });
        soonest.sort_unstable_by_key(|step| (step.end - step.minutes, step.step));
        self.memory.soonest = soonest;
        can
    }

    /// When all can be done at the earliest once a set of steps is done and the last of them ended: the others in
    /// the order in which they can begin (Jackson's rule for one machine with release times).
    pub(super) fn finish_at_least(&self, set: u16, end: i64) -> i64 {
        let done = self.ways.sets[usize::from(set)];
        let left = self.memory.soonest.iter().filter(|step| done >> step.step & 1 == 0);
        left.fold(end, |end, step| (end + step.minutes).max(step.end))
    }
}
