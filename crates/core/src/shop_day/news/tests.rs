//! What is news and what is not, on days of the invented shop.

use super::super::{HostsByDay, LateJob, ShopState, plan_day};
use super::*;
use crate::example_shop::*;
use crate::ids::{BayId, MethodId, ProcedureId, StationId, TaskId, VehicleClassId};
use crate::planner::SolveOptions;
use crate::run_times::BoundRuns;
use crate::work::{Place, TaskEvent};
use chrono::TimeDelta;
use rstest::rstest;
use std::collections::BTreeSet;

/// A radar and a scan in one bay, planned at eight.
fn planned(jobs: &[Job]) -> PlannedDay {
    let place =
        Place { bay: BayId::new("bay-1").unwrap(), station: StationId::new("mark").unwrap() };
    let key = (
        ProcedureId::new("front-radar").unwrap(),
        MethodId::new("static").unwrap(),
        VehicleClassId::new("compact").unwrap(),
    );
    let state = ShopState {
        shop: &definition(),
        jobs,
        hosts: &HostsByDay::always([(key, vec![place])].into()),
        clashes: &BTreeSet::new(),
        runs: &BoundRuns::default(),
        closed: &[],
        holds: &[],
        previous: &[],
        now: at("08:00"),
        days: 1,
    };
    let options = SolveOptions { seed: 1, threads: 1, epochs: Some(1) };
    plan_day(&state, options, &mut |_| false).unwrap()
}

type Change = fn(&mut PlannedDay, &mut Vec<Job>);

/// Names the type of a closure.
const fn by(change: Change) -> Change {
    change
}

fn step(jobs: &mut [Job], task: &str, events: &[TaskEvent]) {
    let task = jobs[0].task_mut(&TaskId::new(task).unwrap()).unwrap();
    for event in events {
        task.step(*event).unwrap();
    }
}

fn unplan(day: &mut PlannedDay, task: &str) {
    day.assignments.retain(|one| one.task.as_str() != task);
}

#[rstest]
#[case::nothing(by(|_, _| ()), false)]
#[case::a_task_starts_later(by(|day, _| day.assignments[1].start += TimeDelta::minutes(5)), true)]
#[case::other_people(by(|day, _| day.assignments[1].technicians.clear()), true)]
#[case::another_place(by(|day, _| day.assignments[1].place = None), true)]
#[case::a_task_that_was_not_planned(
    by(|day, _| {
        let mut more = day.assignments[0].clone();
        more.task = TaskId::new("post-scan").unwrap();
        day.assignments.push(more);
    }),
    true
)]
#[case::a_task_is_under_way(
    by(|day, jobs| {
        step(jobs, "pre-scan", &[TaskEvent::Pull, TaskEvent::Start]);
        day.assignments[0].fixed = true;
        day.assignments[0].end += TimeDelta::minutes(3);
    }),
    false
)]
#[case::a_task_is_done(
    by(|day, jobs| {
        step(jobs, "pre-scan", &[TaskEvent::Pull, TaskEvent::Start, TaskEvent::Pass]);
        unplan(day, "pre-scan");
    }),
    false
)]
#[case::a_task_failed(
    by(|day, jobs| {
        step(jobs, "pre-scan", &[TaskEvent::Pull, TaskEvent::Start, TaskEvent::Fail]);
        unplan(day, "pre-scan");
    }),
    true
)]
#[case::a_job_was_cancelled_before_its_time(
    by(|day, jobs| {
        jobs.clear();
        day.assignments.clear();
    }),
    true
)]
#[case::a_job_becomes_late(
    by(|day, jobs| {
        let (finish, promise) = (at("16:10"), at("16:00"));
        day.late.push(LateJob { job: jobs[0].id.clone(), finish, promise });
    }),
    true
)]
#[case::another_reason(
    by(|day, jobs| {
        let reasons = vec!["Nobody is there.".to_owned()];
        day.unplanned.push(Unplanned { job: jobs[0].id.clone(), task: None, reasons });
    }),
    true
)]
fn what_somebody_has_to_know_is_news(#[case] change: Change, #[case] expected: bool) {
    let mut jobs = vec![accepted_job(&["front-bumper-removed"])];
    let mut day = planned(&jobs);
    assert_eq!(day.assignments.len(), 2, "a scan and a radar");
    let (assignments, unplanned) = (day.assignments.clone(), day.unplanned.clone());
    let standing =
        StandingPlan { assignments: &assignments, unplanned: &unplanned, late: &BTreeSet::new() };

    change(&mut day, &mut jobs);

    assert_eq!(has_news(standing, &day, &jobs, at("08:05")), expected);
}

/// A vehicle that has left: what was planned for it earlier needs no word any more.
#[test]
fn a_job_that_was_handed_back_is_no_news() {
    let jobs = vec![accepted_job(&["front-bumper-removed"])];
    let mut day = planned(&jobs);
    let assignments = std::mem::take(&mut day.assignments);
    let standing =
        StandingPlan { assignments: &assignments, unplanned: &[], late: &BTreeSet::new() };
    assert!(!has_news(standing, &day, &[], at("16:00")));
}
