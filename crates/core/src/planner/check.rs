//! Checks a draft and turns ids into indices, noting every fault with its path in the file.
//!
//! Reversed windows are refused; empty ones are dropped and windows inside others too. The worst
//! cost of any plan is added up in wide numbers, so that no later sum can overflow.

mod job;

use super::draft::{CalendarDraft, CostWeights, ProblemDraft, WindowDraft};
use super::limits::{
    CLASHES_MAX, COST_MAX, HORIZON_MAX, ID_BYTES_MAX, JOBS_MAX, MINUTE_MAX, PLACES_MAX,
    RESOURCES_MAX, UNIT_COST_MAX, WINDOWS_MAX,
};
use super::problem::{Calendar, Job, Problem};
use super::span::{Span, ordered};
use crate::fault::{Fault, FaultList, Faults};
use std::collections::BTreeMap;
use std::fmt::Display;

/// The index of each id.
pub(super) type Index = BTreeMap<String, usize>;

/// An index as the file's number.
pub(super) fn as_i64(index: usize) -> i64 {
    i64::try_from(index).unwrap_or(i64::MAX)
}

/// Checks the whole problem.
pub(super) fn problem(mut draft: ProblemDraft) -> Result<Problem, Faults> {
    let mut checker = Checker { faults: FaultList::new() };
    checker.within("now", draft.now, -MINUTE_MAX, MINUTE_MAX);
    checker.within("horizon", draft.horizon, 0, HORIZON_MAX);
    checker.count("places", draft.places.len(), PLACES_MAX);
    checker.count("resources", draft.resources.len(), RESOURCES_MAX);
    checker.count("clashes", draft.clashes.len(), CLASHES_MAX);
    checker.count("jobs", draft.jobs.len(), JOBS_MAX);
    draft.jobs.truncate(JOBS_MAX);
    checker.cost(draft.cost);
    let place_ids = checker.index("places", draft.places.iter().map(|place| place.id.as_str()));
    let resource_ids =
        checker.index("resources", draft.resources.iter().map(|resource| resource.id.as_str()));
    let places = checker.calendars("places", draft.places, draft.horizon);
    let resources = checker.calendars("resources", draft.resources, draft.horizon);
    let clashes = checker.clashes(&draft.clashes, &place_ids);
    checker.index("jobs", draft.jobs.iter().map(|job| job.id.as_str()));
    let ids = Ids { places: &place_ids, resources: &resource_ids };
    let jobs: Vec<Job> = draft
        .jobs
        .into_iter()
        .enumerate()
        .map(|(index, job)| checker.job(&format!("jobs[{index}]"), job, ids))
        .collect();
    if checker.faults.is_empty() {
        checker.worst_cost(draft.horizon, draft.cost, &jobs);
    }
    checker.faults.finish(Problem {
        name: draft.name,
        now: draft.now,
        horizon: draft.horizon,
        places,
        resources,
        clashes,
        jobs,
        cost: draft.cost,
    })
}

/// What ids there are.
#[derive(Clone, Copy)]
struct Ids<'a> {
    places: &'a Index,
    resources: &'a Index,
}

struct Checker {
    faults: FaultList,
}

impl Checker {
    fn fault(&mut self, path: impl Into<String>, value: impl Display, limit: &str, remedy: &str) {
        self.faults.push(Fault::new(path, value, limit, remedy));
    }

    fn within(&mut self, path: &str, value: i64, least: i64, most: i64) {
        if !(least..=most).contains(&value) {
            let limit = format!("be a whole number from {least} to {most}");
            self.fault(path, value, &limit, "correct the number or its unit");
        }
    }

    fn count(&mut self, path: &str, count: usize, most: usize) {
        if count > most {
            let limit = format!("have at most {most} entries");
            self.fault(path, format!("a list of {count}"), &limit, "split the problem");
        }
    }

    fn id(&mut self, path: &str, id: &str) {
        if id.is_empty() || id.len() > ID_BYTES_MAX {
            let limit = format!("be a text of 1 to {ID_BYTES_MAX} bytes");
            self.fault(path, format!("\"{id}\""), &limit, "choose another id");
        }
    }

    /// Numbers ids, noting those that are empty, too long or there twice.
    fn index<'a>(&mut self, path: &str, ids: impl Iterator<Item = &'a str>) -> Index {
        let mut index = Index::new();
        for (at, id) in ids.enumerate() {
            let path = format!("{path}[{at}].id");
            self.id(&path, id);
            if let Some(first) = index.get(id) {
                let limit = format!("be unique, but entry {first} has it too");
                self.fault(path, format!("\"{id}\""), &limit, "give each its own id");
            } else {
                index.insert(id.to_owned(), at);
            }
        }
        index
    }

    /// Looks an id up, noting one that is unknown.
    fn known(&mut self, path: &str, id: &str, index: &Index, kind: &str) -> Option<usize> {
        let found = index.get(id).copied();
        if found.is_none() {
            let limit = format!("be the id of a {kind}");
            self.fault(
                path,
                format!("\"{id}\""),
                &limit,
                &format!("list that {kind} or correct the id"),
            );
        }
        found
    }

    fn windows(&mut self, path: &str, windows: &[WindowDraft]) -> Vec<Span> {
        self.count(path, windows.len(), WINDOWS_MAX);
        for (index, [from, to]) in windows.iter().enumerate() {
            for (side, minute) in [from, to].into_iter().enumerate() {
                self.within(&format!("{path}[{index}][{side}]"), *minute, -MINUTE_MAX, MINUTE_MAX);
            }
            if from > to {
                let limit = "not end before it begins";
                self.fault(
                    format!("{path}[{index}]"),
                    format!("[{from}, {to}]"),
                    limit,
                    "swap its ends",
                );
            }
        }
        windows.iter().map(|[start, end]| Span { start: *start, end: *end }).collect()
    }

    fn calendars(&mut self, path: &str, list: Vec<CalendarDraft>, horizon: i64) -> Vec<Calendar> {
        let mut out = Vec::with_capacity(list.len());
        for (index, draft) in list.into_iter().enumerate() {
            let open = match draft.open {
                Some(windows) => self.windows(&format!("{path}[{index}].open"), &windows),
                None => vec![Span { start: 0, end: horizon }],
            };
            out.push(Calendar { id: draft.id, open: ordered(open) });
        }
        out
    }

    fn clashes(&mut self, pairs: &[[String; 2]], places: &Index) -> Vec<(usize, usize)> {
        let mut out = Vec::with_capacity(pairs.len());
        for (index, [one, other]) in pairs.iter().enumerate() {
            let path = format!("clashes[{index}]");
            let a = self.known(&format!("{path}[0]"), one, places, "place");
            let b = self.known(&format!("{path}[1]"), other, places, "place");
            if one == other {
                let value = format!("\"{one}\" twice");
                self.fault(
                    path,
                    value,
                    "name two places",
                    "drop it: a place holds one vehicle anyway",
                );
            }
            out.extend(a.zip(b).map(|(a, b)| (a.min(b), a.max(b))));
        }
        out.sort_unstable();
        out.dedup();
        out
    }

    fn cost(&mut self, cost: CostWeights) {
        let each = [
            ("lateness", cost.lateness),
            ("finish", cost.finish),
            ("move", cost.place_change),
            ("change", cost.change),
            ("makespan", cost.makespan),
        ];
        for (name, value) in each {
            self.within(&format!("cost.{name}"), value, 0, UNIT_COST_MAX);
        }
    }

    /// Keeps the most that a plan can cost within what a number holds, so that sums of costs fit their type.
    fn worst_cost(&mut self, horizon: i64, cost: CostWeights, jobs: &[Job]) {
        let worst = worst_cost(horizon, cost, jobs);
        if worst > i128::from(COST_MAX) {
            let limit = format!("keep the worst plan's cost at or below {COST_MAX}");
            let value = format!("such that a plan may cost {worst}");
            self.fault("cost", value, &limit, "scale the costs and weights down");
        }
    }
}

/// The most that a plan can cost.
pub(super) fn worst_cost(horizon: i64, cost: CostWeights, jobs: &[Job]) -> i128 {
    let mut worst = 0_i128;
    let mut latest = i128::from(horizon);
    for job in jobs {
        let fixed_ends = job.steps.iter().filter_map(|step| {
            step.fixed.as_ref().map(|fixed| (fixed.start + fixed.minutes).abs())
        });
        let end = i128::from(fixed_ends.fold(horizon, i64::max));
        latest = latest.max(end);
        let late = job.due.map_or(0, |due| (end - i128::from(due)).max(0));
        let steps = as_i64(job.steps.len());
        let planned = i128::from(cost.lateness) * i128::from(job.weight) * late
            + i128::from(cost.finish) * end
            + (i128::from(cost.place_change) + i128::from(cost.change)) * i128::from(steps);
        let left_out = i128::from(job.leave_out_cost.unwrap_or(0))
            + i128::from(cost.change) * i128::from(steps);
        worst = worst.saturating_add(planned.max(left_out));
    }
    worst = worst.saturating_add(i128::from(cost.makespan) * latest);
    worst
}
