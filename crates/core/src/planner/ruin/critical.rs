//! Moves on the chain of steps that makes a job late: each step of it starts when the one before lets it, the same
//! vehicle's or one that had the place or a resource; swapping two of different vehicles is what can help.
//!
//! Source: moves on critical paths generalised to a tail per job, Mati, Dauzere-Peres and Lahlou, "A
//! general approach for optimizing regular criteria in the job-shop scheduling problem", European J. of
//! Operational Research 212 (2011); the walk is made anew for each move, with random choice among equal blockers.

use super::Search;
use super::sequence::{Sequence, Task};
use super::shift::{Shifts, costly_job};

/// The most steps that a walk goes back.
const DEPTH_MAX: usize = 14;

impl Search<'_> {
    /// Moves one step on a costly job's chain; says whether anything changed.
    pub(super) fn critical(&mut self, shifts: &mut Shifts) -> bool {
        let line = &shifts.sequence.line;
        let job = costly_job(line, self.least, 5, &mut self.random);
        let Some(mut at) = line.tasks.iter().rposition(|task| task.job == job) else {
            return false;
        };
        let mut left = self.random.below(DEPTH_MAX);
        let mut found: Option<(usize, usize)> = None;
        while let Some(blocker) = self.blocker(&shifts.sequence, at) {
            let line = &shifts.sequence.line;
            if line.tasks[blocker].job != line.tasks[at].job {
                found = Some((at, blocker));
                if left == 0 {
                    break;
                }
            }
            left = left.saturating_sub(1);
            at = blocker;
        }
        let Some((at, blocker)) = found else { return false };
        let tasks = &mut shifts.sequence.line.tasks;
        match self.random.below(8) {
            0..=3 => bring_before(tasks, at, blocker),
            4 | 5 => bring_behind(tasks, blocker, at),
            6 => return self.another_way(tasks, at),
            _ => return self.another_way(tasks, blocker),
        }
        true
    }

    /// Does a step in another option or with another resource, or lets it keep its previous start or no longer.
    pub(super) fn another_way(&mut self, tasks: &mut [Task], at: usize) -> bool {
        let jobs = &self.board.shop.problem.jobs;
        let Some(task) = tasks.get_mut(at) else { return false };
        let was = *task;
        let spec = &jobs[task.job].steps[task.step];
        let options = &spec.options;
        if spec.previous.is_some() && self.random.below(2) == 0 {
            task.keeps = !task.keeps;
        } else if self.random.below(3) > 0 {
            task.option = self.random.below(options.len());
            task.picks = 0;
        } else {
            let needs = &options[task.option].needs;
            if !needs.is_empty() {
                let need = self.random.below(needs.len());
                task.set_pick(need, self.random.below(needs[need].len()));
            }
        }
        *task != was
    }

    /// The task before which another cannot start: of those that it could have had to wait for, one that ends last.
    fn blocker(&mut self, sequence: &Sequence, at: usize) -> Option<usize> {
        let shop = self.board.shop;
        let line = &sequence.line;
        let task = line.tasks[at];
        let spec = &shop.problem.jobs[task.job];
        let option = &spec.steps[task.step].options[task.option];
        let mut last = i64::MIN;
        let mut some = 0;
        let mut chosen = None;
        for (k, other) in line.tasks[..at].iter().enumerate() {
            let way = &shop.problem.jobs[other.job].steps[other.step].options[other.option];
            let end = line.starts[k] + way.minutes;
            let (meets, free) = if other.job == task.job {
                let gap = spec.steps[task.step].after.iter().find(|(step, _)| *step == other.step);
                let pause = if way.place == option.place { 0 } else { spec.move_minutes };
                (true, end + gap.map_or(0, |(_, gap)| *gap).max(pause))
            } else if end < last {
                continue;
            } else {
                let place = option.place.is_some_and(|place| {
                    way.place.is_some_and(|of| of == place || shop.clashing[place].contains(&of))
                });
                let meets = place
                    || option
                        .needs
                        .iter()
                        .any(|group| line.uses[k].iter().any(|used| group.contains(used)));
                (meets, end)
            };
            if !meets || free > line.starts[at] || free < last {
                continue;
            }
            some = if free > last { 1 } else { some + 1 };
            last = free;
            if self.random.below(some) == 0 {
                chosen = Some(k);
            }
        }
        // A step that starts at its release waits for nothing.
        let release = spec.release.max(spec.steps[task.step].release).max(shop.problem.now);
        chosen.filter(|_| last > release || line.starts[at] > release)
    }
}

/// Puts a task before an earlier one, with those of its own job that stand between them.
fn bring_before(tasks: &mut [Task], at: usize, before: usize) {
    let job = tasks[at].job;
    let mut to = before;
    for from in before..=at {
        if tasks[from].job == job {
            tasks[to..=from].rotate_right(1);
            to += 1;
        }
    }
}

/// Puts a task behind a later one, with those of its own job that stand between them.
fn bring_behind(tasks: &mut [Task], at: usize, behind: usize) {
    let job = tasks[at].job;
    let mut to = behind;
    for from in (at..=behind).rev() {
        if tasks[from].job == job {
            tasks[from..=to].rotate_left(1);
            to -= 1;
        }
    }
}
