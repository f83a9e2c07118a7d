//! Runs that sun, daylight and road bind: where they are planned, and what is said of it.

use super::*;
use crate::calendar::Window;
use crate::run_times::{Barred, RunTimes};

/// The instants of `at` lie on one day; the period holds both days planned.
fn times(barred: &[(&str, &str)], why: &str) -> RunTimes {
    let start = at("00:00");
    let period = Window::new(start..start + TimeDelta::days(3)).unwrap();
    let bars = barred.iter().map(|(from, until)| Barred {
        window: Window::new(at(from)..at(until)).unwrap(),
        why: why.to_owned(),
    });
    RunTimes::new(period, bars.collect())
}

fn sun(shop: &mut Shop, procedure: &str, bay: &str, barred: &[(&str, &str)]) {
    let key = (
        ProcedureId::new(procedure).unwrap(),
        MethodId::new("static").unwrap(),
        VehicleClassId::new("compact").unwrap(),
        place(bay),
    );
    shop.runs.in_bays.insert(key, times(barred, "direct sun on zone target through W2"));
}

/// A method of the invented shop: 5 minutes of set-up, 20 of run, 5 of tear-down.
const RUN: TimeDelta = TimeDelta::minutes(20);

fn run_of(assignment: &Assignment) -> Window {
    let from = assignment.start + TimeDelta::minutes(5);
    Window::new(from..from + RUN).unwrap()
}

#[test]
fn a_run_waits_for_the_sun_to_leave_and_the_plan_says_so() {
    let mut shop = Shop::with(vec![accepted_job(&["front-bumper-removed"])]);
    shop.hosts = HostsByDay::always(hosts(&["bay-1"]));
    sun(&mut shop, "front-radar", "bay-1", &[("06:00", "10:42")]);
    let day = shop.plan("08:00");
    let radar = of(&day, "front-radar").unwrap();
    assert_eq!(radar.start, at("10:37"), "the set-up may take place in the sun");
    assert_eq!(radar.notes, ["Run not before 10:42: direct sun on zone target through W2."]);
}

#[test]
fn another_bay_without_sun_is_taken_instead() {
    let mut shop = Shop::with(vec![accepted_job(&["front-bumper-removed"])]);
    sun(&mut shop, "front-radar", "bay-1", &[("06:00", "10:42")]);
    let day = shop.plan("08:00");
    let radar = of(&day, "front-radar").unwrap();
    assert_eq!(radar.place, Some(place("bay-2")));
    assert!(radar.notes.is_empty());
}

#[test]
fn a_run_that_finds_no_time_is_not_planned_and_neither_is_what_follows() {
    let mut shop = Shop::with(vec![accepted_job(&["windshield-replaced"])]);
    shop.hosts = HostsByDay::always(hosts(&["bay-1"]));
    shop.days = 1;
    let why = "the sun stands lower than 6 degrees";
    let day = at("00:00");
    let period = Window::new(day..day + TimeDelta::days(3)).unwrap();
    let night = RunTimes::new(period, vec![Barred { window: period, why: why.to_owned() }]);
    let key = (ProcedureId::new("road-drive").unwrap(), MethodId::new("static").unwrap());
    shop.runs.on_road.insert(key, night);
    let day = shop.plan("08:00");
    assert!(of(&day, "front-camera").is_some());
    assert!(of(&day, "road-drive").is_none());
    assert!(reasons(&day, "road-drive").contains(why), "{}", reasons(&day, "road-drive"));
}

#[test]
fn every_planned_run_keeps_out_of_several_bars() {
    let jobs = vec![accepted_job(&["windshield-replaced", "front-bumper-removed"])];
    let mut shop = Shop::with(jobs);
    let barred = [("06:00", "09:10"), ("11:00", "11:45"), ("14:20", "15:00")];
    for bay in ["bay-1", "bay-2"] {
        for procedure in ["front-camera", "front-radar"] {
            sun(&mut shop, procedure, bay, &barred);
        }
    }
    let day = shop.plan("08:00");
    for task in ["front-camera", "front-radar"] {
        let run = run_of(of(&day, task).unwrap());
        for (from, until) in barred {
            let bar = Window::new(at(from)..at(until)).unwrap();
            assert_eq!(run.intersection(bar), None, "{task} runs at {run}");
        }
    }
}

#[test]
fn a_held_task_stands_whatever_the_sun_does() {
    let mut job = accepted_job(&["front-bumper-removed"]);
    task_mut(&mut job, "pre-scan").step(TaskEvent::Pull).unwrap();
    let mut shop = Shop::with(vec![job.clone()]);
    shop.holds = vec![Hold {
        job: job.id.clone(),
        task: TaskId::new("pre-scan").unwrap(),
        method: MethodId::new("static").unwrap(),
        place: None,
        technicians: vec![TechnicianId::new("ada").unwrap()],
        units: Vec::new(),
        pulled_at: at("08:00"),
        started_at: Some(at("08:00")),
        minutes: 30,
        pauses: Vec::new(),
    }];
    let day = shop.plan("08:10");
    let scan = of(&day, "pre-scan").unwrap();
    assert!(scan.fixed && scan.notes.is_empty());
}
