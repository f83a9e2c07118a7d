//! When a step can start behind what stands, and with which resources.

use super::{Sequence, Task};
use crate::planner::shop::Shop;
use crate::planner::span::{earliest, earliest_inside};

impl Sequence {
    /// The earliest start of a task behind what stands, or its previous one where it keeps that.
    pub(super) fn start_of(&self, shop: &Shop<'_>, task: Task) -> Option<i64> {
        let start = self.start_from(shop, task, i64::MIN)?;
        if task.keeps {
            let spec = &shop.problem.jobs[task.job].steps[task.step];
            let was = spec.kept_start(task.option).filter(|was| *was > start);
            if let Some(was) = was.filter(|was| self.start_from(shop, task, *was) == Some(*was)) {
                return Some(was);
            }
        }
        Some(start)
    }

    /// The earliest such start from `from` on.
    pub(super) fn start_from(&self, shop: &Shop<'_>, task: Task, from: i64) -> Option<i64> {
        let job = &shop.problem.jobs[task.job];
        let vehicle = self.state.vehicles[task.job];
        if shop.jobs[task.job].before[task.step] & !vehicle.done != 0 {
            return None;
        }
        let spec = &job.steps[task.step];
        let option = &spec.options[task.option];
        let mut from = self.ready(shop, task.job, task.step).max(from);
        let moves = vehicle.done != 0 && vehicle.place != option.place;
        if moves {
            from = from.max(vehicle.end + job.move_minutes);
        }
        if let Some(place) = option.place {
            let stays = vehicle.done != 0 && !moves;
            if stays && self.state.place_last[place] != task.job {
                return None;
            }
            if !stays {
                from = from.max(self.state.place_free[place]);
            }
        }
        loop {
            let before = from;
            if let Some(place) = option.place {
                from = earliest(&shop.problem.places[place].open, from, option.minutes)?;
            }
            if let Some(starts) = &option.starts {
                from = earliest_inside(starts, from)?;
            }
            for group in &option.needs {
                let free = |used: &usize| {
                    earliest(
                        &shop.free[*used],
                        from.max(self.state.resource_free[*used]),
                        option.minutes,
                    )
                };
                let mut least = i64::MAX;
                for used in group {
                    least = least.min(free(used).unwrap_or(i64::MAX));
                    if least == from {
                        break;
                    }
                }
                if least == i64::MAX {
                    return None;
                }
                from = least;
            }
            if from == before {
                break;
            }
        }
        (from + option.minutes <= shop.problem.horizon).then_some(from)
    }

    /// When a step may start by its releases, the vehicle and the waits.
    pub(super) fn ready(&self, shop: &Shop<'_>, job: usize, step: usize) -> i64 {
        let problem = shop.problem;
        let spec = &problem.jobs[job].steps[step];
        let release = problem.jobs[job].release.max(spec.release).max(problem.now);
        let mut from = self.state.vehicles[job].end.max(release);
        for (earlier, gap) in spec.after.iter().filter(|(_, gap)| *gap > 0) {
            from = from.max(self.state.end(shop, job, *earlier) + gap);
        }
        from
    }

    /// Chooses a task's resources among those free: as in the previous plan, or as picked, or the one that was
    /// busy last, so that the others' gaps stay whole; none where one would have to serve two needs.
    pub(super) fn take_resources(
        &mut self,
        shop: &Shop<'_>,
        task: Task,
        start: i64,
        uses: &mut Vec<usize>,
    ) -> Option<()> {
        let spec = &shop.problem.jobs[task.job].steps[task.step];
        let option = &spec.options[task.option];
        let free = |used: usize| {
            self.state.resource_free[used] <= start
                && earliest(&shop.free[used], start, option.minutes) == Some(start)
        };
        uses.clear();
        let was = spec.previous.as_ref().filter(|was| was.option == Some(task.option));
        let was = was.and_then(|was| was.known_uses.as_ref());
        for (need, group) in option.needs.iter().enumerate() {
            let may = |used: &usize| !uses.contains(used) && free(*used);
            let before = was.and_then(|was| was.get(need)).filter(|used| group.contains(used));
            let picked = task.pick(need).and_then(|member| group.get(member));
            let wished = before.into_iter().chain(picked).copied().find(|used| may(used));
            let best = wished.or_else(|| {
                let free = group.iter().copied().filter(|used| may(used));
                free.max_by_key(|used| {
                    let demand = std::cmp::Reverse(shop.demand[*used]);
                    (self.state.resource_free[*used], demand, std::cmp::Reverse(*used))
                })
            });
            uses.push(best?);
        }
        Some(())
    }
}
