//! Questions about the invented shop whose answers follow from its few hours.

use super::*;
use crate::example_shop::*;
use crate::fault::Fault;
use crate::floor::{Bay, BayDraft};
use crate::ids::{MethodId, ProcedureId, StationId, TechnicianId, UnitId, VehicleClassId};
use crate::run_times::BoundRuns;
use crate::shop_day::{Hosts, HostsByDay};
use crate::work::{Job, Place};
use rstest::rstest;

fn place(bay: &str) -> Place {
    Place { bay: BayId::new(bay).unwrap(), station: StationId::new("mark").unwrap() }
}

fn hosts(bays: &[&str]) -> HostsByDay {
    let key = (
        ProcedureId::new("front-radar").unwrap(),
        MethodId::new("static").unwrap(),
        VehicleClassId::new("compact").unwrap(),
    );
    HostsByDay::always(Hosts::from([(key, bays.iter().map(|bay| place(bay)).collect())]))
}

/// Jobs of a scan and a radar, half an hour each; ada and bo are there from half past seven on.
fn jobs(count: usize) -> Vec<Job> {
    let named = |index: usize| {
        let mut job = accepted_job(&["front-bumper-removed"]);
        job.id = JobId::new(format!("RO-{index}")).unwrap();
        job.promise_at = at("09:30");
        job
    };
    (1..=count).map(named).collect()
}

fn ask(jobs: &[Job], bays: &[&str], supposed: &[Supposed]) -> Result<WhatIf, WhatIfError> {
    let mut draft = definition_draft();
    let bay = BayDraft {
        id: BayId::new("bay-1").unwrap(),
        outline_mm: vec![(0.0, 0.0), (8e3, 0.0), (8e3, 5e3), (0.0, 5e3)],
        ceiling_mm: 3_000.0,
        obstructions: Vec::new(),
        stations: Vec::new(),
        daylight_openings: Vec::new(),
    };
    draft.bays = vec![Bay::new(bay).unwrap()];
    let shop = crate::shop::ShopDefinition::new(draft).unwrap();
    let state = ShopState {
        shop: &shop,
        jobs,
        hosts: &hosts(bays),
        clashes: &BTreeSet::new(),
        runs: &BoundRuns::default(),
        closed: &[],
        holds: &[],
        previous: &[],
        now: at("08:00"),
        days: 1,
    };
    let options = SolveOptions { seed: 1, threads: 1, epochs: Some(4) };
    what_if(&state, supposed, options, &mut |_| false)
}

fn closed(from: &str, until: &str) -> Supposed {
    let bay = BayId::new("bay-1").unwrap();
    Supposed::BayClosed(ClosedBay { bay, window: Window::new(at(from)..at(until)).unwrap() })
}

fn more_ada() -> Supposed {
    Supposed::TechnicianMore { like: TechnicianId::new("ada").unwrap() }
}

/// One bay, one job: scan 8:00 to 8:30, ten minutes to move the vehicle, radar 8:40 to 9:10. With the bay
/// closed until ten the radar ends at half past ten, an hour after the promise.
#[test]
fn a_bay_that_is_closed_moves_its_work_behind_the_closure() {
    let found = ask(&jobs(1), &["bay-1"], &[closed("08:00", "10:00")]).unwrap();
    assert_eq!((found.before.late_jobs, found.after.late_jobs), (0, 1));
    assert_eq!(found.after.late_minutes, 60);
    let [job] = found.jobs.as_slice() else { panic!("{:?}", found.jobs) };
    assert_eq!(job.before.finish, Some(at("09:10")));
    assert_eq!((job.after.finish, job.after.late_minutes), (Some(at("10:30")), 60));
    assert!(job.moved_tasks >= 1 && !job.added);
    assert!(found.after.cost_less_changes > found.before.cost_less_changes);
    assert_eq!(
        found.sentences,
        ["No work goes on in bay bay-1 from 2026-05-05 08:00 until 2026-05-05 10:00."]
    );
}

#[test]
fn a_closure_at_another_time_changes_nothing() {
    let found = ask(&jobs(1), &["bay-1"], &[closed("13:00", "14:00")]).unwrap();
    assert_eq!(found.before, found.after);
    assert_eq!(found.jobs, []);
}

/// Six jobs of two half hours and ten minutes between them, two technicians, bays enough: six hours of work
/// take the two until eleven at least, the three until ten; promised is half past nine.
#[test]
fn a_technician_more_brings_late_jobs_in_time() {
    let bays = ["bay-1", "bay-2", "bay-3"];
    let found = ask(&jobs(6), &bays, &[more_ada()]).unwrap();
    assert!(found.before.late_jobs > found.after.late_jobs, "{found:?}");
    assert!(found.after.late_minutes < found.before.late_minutes);
    assert!(found.after.cost_less_changes < found.before.cost_less_changes);
    assert_eq!(found.sentences, ["There is one technician more, ada-more-1, like ada."]);
}

#[test]
fn a_unit_that_nothing_needs_changes_nothing() {
    let frame = Supposed::UnitMore { like: UnitId::new("frame-1").unwrap() };
    let found = ask(&jobs(2), &["bay-1"], &[frame]).unwrap();
    assert_eq!(found.before, found.after);
}

#[rstest]
// 5 jobs by 20 %: one more; by 50 %: 2.5, rounded up; by 1 %: one at least.
#[case::a_fifth(20, 1)]
#[case::a_half(50, 3)]
#[case::hardly(1, 1)]
#[case::twice(100, 5)]
fn a_mix_that_grows_has_copies_of_jobs_not_begun(#[case] percent: u32, #[case] more: usize) {
    let grown = Supposed::WorkGrown { percent, procedure: None, class: None };
    let found = ask(&jobs(5), &["bay-1", "bay-2"], &[grown]).unwrap();
    let added: Vec<_> = found.jobs.iter().filter(|job| job.added).collect();
    assert_eq!(added.len(), more);
    assert!(added.iter().all(|job| job.before.finish.is_none() && job.after.tasks == 2));
    assert_eq!(found.after.planned_tasks, found.before.planned_tasks + 2 * more);
}

fn faults_of(supposed: &[Supposed]) -> Vec<Fault> {
    match ask(&jobs(1), &["bay-1"], supposed) {
        Err(WhatIfError::Supposed(faults)) => faults.into_list(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn every_fault_is_named_by_the_place_of_what_is_supposed() {
    let nobody = Supposed::TechnicianMore { like: TechnicianId::new("nobody").unwrap() };
    let nothing = Supposed::UnitMore { like: UnitId::new("nothing").unwrap() };
    let window = Window::new(at("08:00")..at("09:00")).unwrap();
    let nowhere = Supposed::BayClosed(ClosedBay { bay: BayId::new("nowhere").unwrap(), window });
    let too_much = Supposed::WorkGrown { percent: 301, procedure: None, class: None };
    let none = Supposed::WorkGrown {
        percent: 20,
        procedure: Some(ProcedureId::new("glass").unwrap()),
        class: None,
    };
    let faults = faults_of(&[nobody, nothing, nowhere, too_much, none]);
    let fields: Vec<_> = faults.iter().map(|fault| fault.field.as_str()).collect();
    let expected = [
        "[0].technician_more.like_technician_id",
        "[1].unit_more.like_unit_id",
        "[2].bay_closed.bay_id",
        "[3].work_grown.percent",
        "[4].work_grown",
    ];
    assert_eq!(fields, expected);
    assert_eq!(faults_of(&[]).len(), 1);
    assert_eq!(faults_of(&vec![more_ada(); SUPPOSED_MAX + 1]).len(), 1);
}

/// Twice the same: the second copy gets a name of its own.
#[test]
fn what_is_supposed_twice_is_there_twice() {
    let found = ask(&jobs(1), &["bay-1"], &[more_ada(), more_ada()]).unwrap();
    assert_eq!(found.sentences[1], "There is one technician more, ada-more-2, like ada.");
}
