//! Jobs that float: each of their steps goes in as soon as it can start, in whatever option ends first.

use super::{Sequence, Task};
use crate::planner::shop::Shop;

/// A job that floats.
#[derive(Debug, Clone, Default)]
pub(in crate::planner::ruin) struct Float {
    pub(in crate::planner::ruin) job: usize,
    /// Its steps in the order in which they are to be done, and how many are.
    pub(in crate::planner::ruin) order: Vec<usize>,
    pub(in crate::planner::ruin) done: usize,
    /// No step starts earlier.
    pub(in crate::planner::ruin) from: i64,
    /// One bit per option, counted over the job modulo 64: passed over where set.
    pub(in crate::planner::ruin) skips: u64,
}

impl Sequence {
    /// Works out all starts with some jobs floating; gives the cost unless it is above `most` or some step cannot stand.
    pub(in crate::planner::ruin) fn decode_floating(
        &mut self,
        shop: &Shop<'_>,
        floats: &mut [Float],
        most: i64,
    ) -> Option<i64> {
        let same = self.same_at_first(shop, floats).min(self.loose);
        self.go_back(same);
        self.trial_loose = same;
        let from = self.worked_out.start;
        self.reserve(shop, from);
        let mut at = from;
        for next in from..self.line.tasks.len() {
            let task = self.line.tasks[next];
            if floats.iter().any(|float| float.job == task.job) {
                continue;
            }
            let mut start = self.start_of(shop, task)?;
            while let Some((which, float_task, float_start)) = self.next_float(shop, floats, start)
            {
                floats[which].done += 1;
                self.stand_floating(shop, &mut at, (float_task, float_start), None, most)?;
                start = self.start_of(shop, task)?;
            }
            self.stand_floating(shop, &mut at, (task, start), self.next_place[next], most)?;
        }
        while floats.iter().any(|float| float.done < float.order.len()) {
            let (which, task, start) = self.next_float(shop, floats, i64::MAX)?;
            floats[which].done += 1;
            self.stand_floating(shop, &mut at, (task, start), None, most)?;
        }
        self.worked_out.end = at;
        self.trial_cost = self.state.total(shop);
        Some(self.trial_cost)
    }

    /// How many of the first positions stay as they are whatever the floating jobs do.
    fn same_at_first(&self, shop: &Shop<'_>, floats: &[Float]) -> usize {
        let ready = floats.iter().map(|float| {
            let begun = shop.jobs[float.job].begun.as_ref().map_or(i64::MIN, |begun| begun.end);
            float.from.max(shop.problem.jobs[float.job].release).max(begun)
        });
        let ready = ready.min().unwrap_or(i64::MAX);
        let line = &self.line;
        let mut tasks = line.tasks.iter().zip(&line.starts);
        let count = line.tasks.len();
        tasks
            .position(|(task, start)| {
                *start >= ready || floats.iter().any(|float| float.job == task.job)
            })
            .unwrap_or(count)
    }

    /// Which places are to be stayed at after the first steps of the line, and what follows where.
    fn reserve(&mut self, shop: &Shop<'_>, steps: usize) {
        let problem = shop.problem;
        self.last_seen.clear();
        self.last_seen.resize(problem.jobs.len(), None);
        self.next_place.clear();
        self.next_place.resize(self.line.tasks.len(), None);
        let place_of =
            |task: &Task| problem.jobs[task.job].steps[task.step].options[task.option].place;
        for (at, task) in self.line.tasks.iter().enumerate().rev() {
            self.next_place[at] = self.last_seen[task.job];
            self.last_seen[task.job] = place_of(task);
        }
        self.reserved.fill(usize::MAX);
        for (job, facts) in shop.jobs.iter().enumerate() {
            let place = facts.begun.as_ref().and_then(|begun| begun.place);
            if let Some(place) = place.filter(|place| self.last_seen[job] == Some(*place)) {
                for held in std::iter::once(&place).chain(&shop.clashing[place]) {
                    self.reserved[*held] = job;
                }
            }
        }
        for at in 0..steps {
            let task = self.line.tasks[at];
            self.reserve_after(shop, task, self.next_place[at]);
        }
    }

    /// The place of a step is kept where the job's next one, at `stays`, is there too.
    fn reserve_after(&mut self, shop: &Shop<'_>, task: Task, stays: Option<usize>) {
        let option = &shop.problem.jobs[task.job].steps[task.step].options[task.option];
        if let Some(place) = option.place {
            let keeper = if stays == Some(place) { task.job } else { usize::MAX };
            for held in std::iter::once(&place).chain(&shop.clashing[place]) {
                self.reserved[*held] = keeper;
            }
        }
    }

    fn stand_floating(
        &mut self,
        shop: &Shop<'_>,
        at: &mut usize,
        (task, start): (Task, i64),
        stays: Option<usize>,
        most: i64,
    ) -> Option<()> {
        if at.is_multiple_of(self.every) {
            self.trial_states[*at / self.every].clone_from(&self.state);
        }
        self.stand(shop, *at, (task, start), most)?;
        self.reserve_after(shop, task, stays);
        *at += 1;
        Some(())
    }

    /// The floating job whose next step can start first, at or before `until`, with the option that ends first.
    fn next_float(
        &self,
        shop: &Shop<'_>,
        floats: &[Float],
        until: i64,
    ) -> Option<(usize, Task, i64)> {
        let mut best: Option<(i64, usize, Task)> = None;
        for (which, float) in floats.iter().enumerate() {
            let Some(step) = float.order.get(float.done).copied() else { continue };
            let most = best.map_or(until, |(start, ..)| (start - 1).min(until));
            if self.ready(shop, float.job, step).max(float.from) > most {
                continue;
            }
            let found = self.float_step(shop, float, step);
            if let Some((task, start)) = found.filter(|(_, start)| *start <= most) {
                best = Some((start, which, task));
            }
        }
        best.map(|(start, which, task)| (which, task, start))
    }

    /// The option of a floating step that ends first, and its start.
    fn float_step(&self, shop: &Shop<'_>, float: &Float, step: usize) -> Option<(Task, i64)> {
        let job = float.job;
        let spec = &shop.problem.jobs[job].steps[step];
        let place_now = self.state.vehicles[job].place;
        let mut best: Option<(i64, bool, Task, i64)> = None;
        for (option, way) in spec.options.iter().enumerate() {
            if float.skips >> ((step * 11 + option) % 64) & 1 == 1 {
                continue;
            }
            let kept = way.place.is_some_and(|place| {
                self.reserved[place] != usize::MAX && self.reserved[place] != job
            });
            if kept {
                continue;
            }
            let task = Task { job, step, option, picks: 0, keeps: false };
            let start = self.start_from(shop, task, float.from);
            let Some(start) = start else { continue };
            let moves = way.place != place_now;
            let end = start + way.minutes;
            if best.is_none_or(|(least, moved, ..)| (end, moves) < (least, moved)) {
                best = Some((end, moves, task, start));
            }
        }
        best.map(|(_, _, task, start)| (task, start))
    }
}
