//! A first plan: always the step that can start soonest, on the machine where it ends first; of equal
//! ones that of the job with the most work left, or, when chance decides, any.

use super::Machines;
use super::line::Line;
use crate::planner::seeded::Seeded;

/// Builds a plan; without `random` by the rule alone.
pub(super) fn build(shop: &Machines, mut random: Option<&mut Seeded>) -> Option<Line> {
    let count = shop.count();
    let mut left = vec![0_i64; count];
    for step in (0..count).rev() {
        let quickest = shop.choices[step].iter().map(|choice| choice.minutes).min().unwrap_or(0);
        left[step] = i64::from(quickest) + shop.after(step).map_or(0, |after| left[after]);
    }
    let mut next: Vec<Option<usize>> = vec![None; shop.last.len()];
    for step in (0..count).rev() {
        next[shop.job[step]] = Some(step);
    }
    let mut job_free = vec![i32::MIN; shop.last.len()];
    let mut machine_free = vec![i32::MIN; shop.machine_count];
    let mut choice = vec![0; count];
    let mut order = vec![Vec::new(); shop.machine_count];
    for _ in 0..count {
        let mut best = None;
        for step in next.iter().copied().flatten() {
            let ready = job_free[shop.job[step]].max(shop.release[step]);
            let ways = shop.choices[step].iter().enumerate().map(|(at, c)| {
                let start = ready.max(machine_free[c.machine]);
                (start + c.minutes, start, at)
            });
            let Some((end, start, at)) = ways.min() else { continue };
            let rule = match random.as_deref_mut() {
                Some(random) => i64::try_from(random.below(1 << 20)).unwrap_or(0),
                None => -left[step],
            };
            let key = (start, rule, end);
            if best.is_none_or(|(least, _, _)| key < least) {
                best = Some((key, step, at));
            }
        }
        let Some(((_, _, end), step, at)) = best else { break };
        let machine = shop.choices[step][at].machine;
        choice[step] = at;
        order[machine].push(step);
        job_free[shop.job[step]] = end;
        machine_free[machine] = end;
        next[shop.job[step]] = shop.after(step);
    }
    Line::new(shop, choice, order)
}
