//! What a job's insertion needs to know and never changes: which sets of steps can be done first, the
//! ways of each step, and the least that is still to come after each set.

use crate::planner::begun::Begun;
use crate::planner::problem::{Job, StepOption};
use std::collections::BTreeMap;

/// The most sets of steps done; jobs with more take the slower search.
const SETS_MAX: usize = 1_024;
/// The most table entries worked out for one job.
const WORK_MAX: usize = 400_000;
/// No such set.
pub(super) const NO_SET: u16 = u16::MAX;

/// One option of one step.
#[derive(Debug, Clone, Copy)]
pub(super) struct Way {
    pub(super) step: usize,
    pub(super) option: usize,
    pub(super) minutes: i64,
    /// The place's position in the job's places plus one; 0 for none.
    pub(super) slot: usize,
    /// Which of the job's classes its resources and start windows make.
    pub(super) class: usize,
}

/// Options that start at the same minutes, the place apart: same minutes, needs and start windows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Class {
    pub(super) minutes: i64,
    /// An option of the class.
    pub(super) step: usize,
    pub(super) option: usize,
    /// Whether some resource could serve two of the needs.
    pub(super) tangled: bool,
}

/// The tables of one job.
#[derive(Debug)]
pub(in crate::planner) struct Ways {
    /// The sets of steps, each after its subsets.
    pub(super) sets: Vec<u64>,
    /// Per set and step, the set once the step is done too, or [`NO_SET`].
    pub(super) next: Vec<u16>,
    pub(super) every: Vec<Way>,
    /// Per step, its first way and its number of ways.
    pub(super) of_step: Vec<(usize, usize)>,
    pub(super) classes: Vec<Class>,
    /// The steps, each after those that have to be done before it.
    pub(super) in_order: Vec<usize>,
    pub(super) slots: usize,
    /// Where the vehicle is at first.
    pub(super) slot: usize,
    begun: bool,
    /// Per set and slot, the least minutes and changes of place still to come.
    rest: Vec<(i64, i64)>,
}

impl Ways {
    /// The tables of a job without fixed steps, or where they all come first; none where they would be too large.
    pub(in crate::planner) fn new(
        job: &Job,
        places: &[usize],
        before: &[u64],
        begun: Option<&Begun>,
    ) -> Option<Self> {
        if job.has_fixed() && begun.is_none() {
            return None;
        }
        let (sets, next) = sets(before, begun.map_or(0, |begun| begun.done))?;
        let slot_of = |place: Option<usize>| {
            place.and_then(|place| places.binary_search(&place).ok()).map_or(0, |at| at + 1)
        };
        let (mut ways, mut of_step, mut classes) = (Vec::new(), Vec::new(), Vec::new());
        for (step, spec) in job.steps.iter().enumerate() {
            of_step.push((ways.len(), spec.options.len()));
            for (option, way) in spec.options.iter().enumerate() {
                let class = class_of(job, &mut classes, step, option, way);
                let slot = slot_of(way.place);
                ways.push(Way { step, option, minutes: way.minutes, slot, class });
            }
        }
        let slots = places.len() + 1;
        if sets.len() * slots * ways.len() > WORK_MAX {
            return None;
        }
        let slot = begun.map_or(0, |begun| slot_of(begun.place));
        let begun = begun.is_some();
        let rest = Vec::new();
        let in_order = in_order(before);
        let mut made =
            Self { sets, next, every: ways, of_step, classes, in_order, slots, slot, begun, rest };
        made.rest = made.least_rests(job.move_minutes);
        Some(made)
    }

    /// The least minutes and changes of place still to come.
    pub(super) fn rest(&self, set: usize, slot: usize) -> (i64, i64) {
        self.rest[set * self.slots + slot]
    }

    /// Backwards from all steps done; the two minima are taken apart, so both are lower bounds.
    fn least_rests(&self, move_minutes: i64) -> Vec<(i64, i64)> {
        let steps = self.of_step.len();
        let mut rest = vec![(0, 0); self.sets.len() * self.slots];
        for set in (0..self.sets.len().saturating_sub(1)).rev() {
            for slot in 0..self.slots {
                let mut least = (i64::MAX, i64::MAX);
                for step in 0..steps {
                    let next = self.next[set * steps + step];
                    if next == NO_SET {
                        continue;
                    }
                    let (first, count) = self.of_step[step];
                    for way in &self.every[first..first + count] {
                        let moves = (set != 0 || self.begun) && way.slot != slot;
                        let moved = i64::from(moves);
                        let after = rest[usize::from(next) * self.slots + way.slot];
                        least.0 = least.0.min(way.minutes + moved * move_minutes + after.0);
                        least.1 = least.1.min(moved + after.1);
                    }
                }
                rest[set * self.slots + slot] = least;
            }
        }
        rest
    }
}

/// The steps, each after those before it.
fn in_order(before: &[u64]) -> Vec<usize> {
    let (mut order, mut done) = (Vec::with_capacity(before.len()), 0_u64);
    while let Some(step) =
        (0..before.len()).find(|step| done >> step & 1 == 0 && before[*step] & !done == 0)
    {
        done |= 1 << step;
        order.push(step);
    }
    order
}

/// All sets that hold the steps done at first, and with each step those before it, by size.
fn sets(before: &[u64], done: u64) -> Option<(Vec<u64>, Vec<u16>)> {
    let steps = before.len();
    let mut sets = vec![done];
    let mut known = BTreeMap::from([(done, 0_u16)]);
    let mut next = Vec::new();
    let mut at = 0;
    while at < sets.len() {
        let set = sets[at];
        for (step, needed) in before.iter().enumerate() {
            if set >> step & 1 == 1 || needed & !set != 0 {
                next.push(NO_SET);
                continue;
            }
            let grown = set | 1 << step;
            let index = if let Some(index) = known.get(&grown) {
                *index
            } else {
                let index = u16::try_from(sets.len()).ok()?;
                sets.push(grown);
                known.insert(grown, index);
                index
            };
            next.push(index);
        }
        at += 1;
        if sets.len() > SETS_MAX || next.len() > SETS_MAX * 64 || steps == 0 {
            return None;
        }
    }
    Some((sets, next))
}

fn class_of(
    job: &Job,
    classes: &mut Vec<Class>,
    step: usize,
    option: usize,
    way: &StepOption,
) -> usize {
    let same = |class: &Class| {
        let other = &job.steps[class.step].options[class.option];
        class.minutes == way.minutes && other.needs == way.needs && other.starts == way.starts
    };
    classes.iter().position(same).unwrap_or_else(|| {
        let shares = |at: usize| {
            way.needs[at]
                .iter()
                .any(|used| way.needs[..at].iter().any(|other| other.contains(used)))
        };
        let tangled = (1..way.needs.len()).any(shares);
        classes.push(Class { minutes: way.minutes, step, option, tangled });
        classes.len() - 1
    })
}
