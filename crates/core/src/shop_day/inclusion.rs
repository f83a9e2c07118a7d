//! Which tasks of a job can be planned, from when, after what, and why the others cannot.

use super::{Unplanned, minutes};
use crate::demand::TaskKind;
use crate::ids::TaskId;
use crate::readiness::{ReadinessState, gap_before, looks_through, readiness, tasks_before};
use crate::work::{AskedWhen, Job, Task, TaskState};
use chrono::{DateTime, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// Whether one of the ways of doing a task drives the vehicle on the road.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct OnRoad(pub(super) bool);

/// A task that can be planned.
#[derive(Debug, Clone)]
pub(super) struct Included {
    /// The task.
    pub(super) task: TaskId,
    /// Steps of the plan that end first, and minutes that go by after each.
    pub(super) after: BTreeMap<TaskId, i64>,
    /// It starts no earlier, minutes.
    pub(super) release: i64,
    /// It starts before this minute, where a sign-off lapses.
    pub(super) starts_before: Option<i64>,
}

/// The tasks of `job` that can be planned at `now`, and the others with their reasons.
///
/// `possible` says which open tasks have at least one way of doing them, and whether one of them is
/// on the road, or why there is none.
pub(super) fn included(
    job: &Job,
    now: DateTime<Utc>,
    zero: DateTime<Utc>,
    possible: &BTreeMap<TaskId, Result<OnRoad, Vec<String>>>,
) -> (Vec<Included>, Vec<Unplanned>) {
    let mut chosen: BTreeMap<TaskId, Included> = BTreeMap::new();
    let mut refused: BTreeMap<TaskId, Vec<String>> = BTreeMap::new();
    for task in job.tasks.iter().filter(|task| task.state == TaskState::Open) {
        let mut reasons = Vec::new();
        if let Some(Err(why)) = possible.get(&task.id) {
            reasons.extend(why.iter().cloned());
        }
        let ready = readiness(job, task, now);
        let mut release = 0;
        for reason in ready.reasons {
            match reason.state {
                ReadinessState::Waiting | ReadinessState::Overdue => reasons.push(reason.sentence),
                ReadinessState::ReadyBy(by) => release = release.max(minutes::minute_up(zero, by)),
                ReadinessState::Ready | ReadinessState::After | ReadinessState::NotOpen(_) => {}
            }
        }
        let on_road = matches!(possible.get(&task.id), Some(Ok(OnRoad(true))));
        let after = match tasks_to_wait_for(job, task, on_road, now) {
            Ok(after) => after,
            Err(sentence) => {
                reasons.push(sentence);
                BTreeMap::new()
            }
        };
        if reasons.is_empty() {
            let starts_before = ready.lapses_at.map(|at| minutes::minute_up(zero, at));
            let included = Included { task: task.id.clone(), after, release, starts_before };
            chosen.insert(task.id.clone(), included);
        } else {
            refused.insert(task.id.clone(), reasons);
        }
    }
    drop_what_comes_after_the_refused(job, &mut chosen, &mut refused);
    let order = |id: &TaskId| job.tasks.iter().position(|task| task.id == *id);
    let mut chosen: Vec<_> = chosen.into_values().collect();
    chosen.sort_by_key(|included| order(&included.task));
    let mut unplanned: Vec<_> = refused
        .into_iter()
        .map(|(task, reasons)| Unplanned { job: job.id.clone(), task: Some(task), reasons })
        .collect();
    unplanned.sort_by_key(|unplanned| unplanned.task.as_ref().and_then(order));
    (chosen, unplanned)
}

/// Tasks of the job, open or held, that end before `task` starts, with the gap after each.
fn tasks_to_wait_for(
    job: &Job,
    task: &Task,
    on_road: bool,
    now: DateTime<Utc>,
) -> Result<BTreeMap<TaskId, i64>, String> {
    let mut after: BTreeMap<TaskId, i64> = BTreeMap::new();
    let mut wait_for = |id: &TaskId, gap: i64| {
        let known = after.entry(id.clone()).or_insert(0);
        *known = (*known).max(gap);
    };
    for (before, gap) in tasks_before(&job.tasks, task) {
        // What is sent out is no step of the plan; its expected time is the release.
        if !matches!(before.state, TaskState::Passed | TaskState::Sublet) {
            wait_for(&before.id, gap.into());
        }
    }
    for prerequisite in job.prerequisites.iter().filter(|prerequisite| {
        prerequisite.asked == AskedWhen::Ahead
            && prerequisite.gates(task)
            && !prerequisite.is_met(now)
    }) {
        let provider = prerequisite.provided_by.as_ref().and_then(|id| job.task(id));
        if let Some(provider) = provider
            && !provider.state.is_given_up()
            && !matches!(provider.state, TaskState::Passed | TaskState::Sublet)
        {
            wait_for(&provider.id, 0);
        }
    }
    for glass in job.tasks.iter().filter(|other| {
        other.kind == TaskKind::Glass
            && other.id != task.id
            && (other.state == TaskState::Open || other.state.is_held())
    }) {
        if comes_before(job, task, glass, &mut BTreeSet::new()) {
            continue;
        }
        let driven = on_road || task.kind == TaskKind::RoadDrive;
        let must_follow = looks_through(task, glass) || driven;
        let until_driven = glass.planned_cure.filter(|_| driven).map_or(0, |cure| cure.driven());
        match gap_before(task, glass).map(|gap| gap.max(until_driven)) {
            Some(0) if !must_follow => {}
            Some(gap) => wait_for(&glass.id, gap.into()),
            None => {
                return Err(format!(
                    "No minutes of the adhesive maker are stated for task {}; it is planned once \
                     the glass is set and the minutes are recorded.",
                    glass.id
                ));
            }
        }
    }
    Ok(after)
}

/// Whether `first` comes before `second` in the order of the job, directly or through others.
fn comes_before<'a>(
    job: &'a Job,
    first: &Task,
    second: &'a Task,
    seen: &mut BTreeSet<&'a TaskId>,
) -> bool {
    if !seen.insert(&second.id) {
        return false;
    }
    let provided = job.prerequisites.iter().filter(|prerequisite| prerequisite.gates(second));
    let providers =
        provided.filter_map(|prerequisite| job.task(prerequisite.provided_by.as_ref()?));
    let direct = tasks_before(&job.tasks, second).into_iter().map(|(task, _)| task);
    let before: Vec<&Task> = direct.chain(providers).collect();
    before.iter().any(|task| task.id == first.id)
        || before.into_iter().any(|task| comes_before(job, first, task, seen))
}

fn drop_what_comes_after_the_refused(
    job: &Job,
    chosen: &mut BTreeMap<TaskId, Included>,
    refused: &mut BTreeMap<TaskId, Vec<String>>,
) {
    loop {
        let lost: Vec<(TaskId, TaskId)> = chosen
            .values()
            .filter_map(|included| {
                let missing = included.after.keys().find(|&id| {
                    let held = job.task(id).is_some_and(|task| task.state.is_held());
                    !chosen.contains_key(id) && !held
                })?;
                Some((included.task.clone(), missing.clone()))
            })
            .collect();
        if lost.is_empty() {
            return;
        }
        for (task, missing) in lost {
            chosen.remove(&task);
            refused.insert(
                task,
                vec![format!("It comes after task {missing}, which is not planned.")],
            );
        }
    }
}
