//! The order of a job's tasks: which come before which, and how long after.

use crate::demand::TaskKind;
use crate::ids::TaskId;
use crate::work::{Task, UndoTarget};
use std::collections::BTreeMap;

/// The tasks that must have passed before `task`, each with the minutes that must go by after it.
///
/// Tasks that were declined or cancelled do not count. A selector that matches the task itself
/// leaves the task itself out, so that a rule may say "after every calibration" of a calibration.
pub fn tasks_before<'a>(tasks: &'a [Task], task: &Task) -> Vec<(&'a Task, u32)> {
    let mut before: BTreeMap<usize, u32> = BTreeMap::new();
    for after in &task.after {
        for (index, other) in tasks.iter().enumerate() {
            if other.id != task.id && !other.state.is_given_up() && after.before.matches(other) {
                let gap = before.entry(index).or_insert(0);
                *gap = (*gap).max(after.gap_minutes);
            }
        }
    }
    before.into_iter().filter_map(|(index, gap)| tasks.get(index).map(|task| (task, gap))).collect()
}

/// The minutes of cure that must go by between the glass task's end and `task`, as the adhesive
/// maker's sheet is quoted for planning; none where no sheet was quoted.
///
/// A sensor that looks through the glass (what the glass work undoes) waits until it may be
/// calibrated, a drive until the vehicle may be driven, everything else until it may be moved.
pub fn gap_before(task: &Task, glass: &Task) -> Option<u32> {
    let cure = glass.planned_cure?;
    Some(if task.kind == TaskKind::RoadDrive {
        cure.driven()
    } else if looks_through(task, glass) {
        cure.calibrated().max(cure.moved())
    } else {
        cure.moved()
    })
}

/// Whether the work on `glass` undoes `task`, that is: whether its sensor looks through that glass.
pub(crate) fn looks_through(task: &Task, glass: &Task) -> bool {
    let mut named = glass.undoes.iter().filter_map(|target| match target {
        UndoTarget::Tasks(selector) => Some(selector),
        UndoTarget::Prerequisite(_) => None,
    });
    let Some(first) = named.next() else {
        // Where nobody wrote down which sensors look through this glass, any may.
        return task.kind == TaskKind::Calibration;
    };
    first.matches(task) || named.any(|selector| selector.matches(task))
}

/// The first circle in the order of `tasks`, as the names on it; none when there is no circle.
pub fn cycle_in(tasks: &[Task]) -> Option<Vec<TaskId>> {
    // Kahn's algorithm; what it leaves lies on a circle or behind one.
    let before: Vec<Vec<usize>> = tasks
        .iter()
        .map(|task| {
            let ids: Vec<_> = tasks_before(tasks, task).iter().map(|(task, _)| &task.id).collect();
            (0..tasks.len()).filter(|&index| ids.contains(&&tasks[index].id)).collect()
        })
        .collect();
    let mut done = vec![false; tasks.len()];
    while let Some(next) = (0..tasks.len())
        .find(|&index| !done[index] && before[index].iter().all(|&other| done[other]))
    {
        done[next] = true;
    }
    let start = done.iter().position(|&done| !done)?;
    let mut path = vec![start];
    loop {
        let last = *path.last()?;
        let next = *before[last].iter().find(|&&other| !done[other])?;
        if let Some(from) = path.iter().position(|&index| index == next) {
            let mut circle: Vec<_> =
                path[from..].iter().rev().map(|&index| tasks[index].id.clone()).collect();
            circle.push(circle.first()?.clone());
            return Some(circle);
        }
        path.push(next);
    }
}
