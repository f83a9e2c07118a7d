//! Days of the invented shop, planned and read back.

mod bound_runs;
mod later_days;
mod standing;

use super::*;
use crate::example_shop::*;
use crate::ids::{
    BayId, JobId, MethodId, PrerequisiteId, ProcedureId, StationId, TaskId, TechnicianId,
    VehicleClassId,
};
use crate::work::{JobState, PrerequisiteState, Sublet, TaskEvent, TaskState, Whereabouts};
use chrono::TimeDelta;

fn place(bay: &str) -> Place {
    Place { bay: BayId::new(bay).unwrap(), station: StationId::new("mark").unwrap() }
}

fn hosts(bays: &[&str]) -> Hosts {
    let class = VehicleClassId::new("compact").unwrap();
    ["glass", "front-camera", "front-radar"]
        .into_iter()
        .map(|procedure| {
            let procedure = ProcedureId::new(procedure).unwrap();
            let places = bays.iter().map(|bay| place(bay)).collect();
            ((procedure, MethodId::new("static").unwrap(), class.clone()), places)
        })
        .collect()
}

struct Shop {
    definition: ShopDefinition,
    jobs: Vec<Job>,
    hosts: HostsByDay,
    runs: BoundRuns,
    holds: Vec<Hold>,
    previous: Vec<Assignment>,
    clashes: BTreeSet<(Place, Place)>,
    days: u32,
}

impl Shop {
    fn with(jobs: Vec<Job>) -> Self {
        let (holds, previous) = (Vec::new(), Vec::new());
        Self {
            definition: definition(),
            jobs,
            hosts: HostsByDay::always(hosts(&["bay-1", "bay-2"])),
            runs: BoundRuns::default(),
            holds,
            previous,
            clashes: BTreeSet::new(),
            days: 2,
        }
    }

    fn plan(&self, clock: &str) -> PlannedDay {
        let state = ShopState {
            shop: &self.definition,
            jobs: &self.jobs,
            hosts: &self.hosts,
            clashes: &self.clashes,
            runs: &self.runs,
            closed: &[],
            holds: &self.holds,
            previous: &self.previous,
            now: at(clock),
            days: self.days,
        };
        let options = SolveOptions { seed: 7, threads: 1, epochs: Some(2) };
        plan_day(&state, options, &mut |_| false).unwrap()
    }
}

fn of<'a>(day: &'a PlannedDay, task: &str) -> Option<&'a Assignment> {
    day.assignments.iter().find(|assignment| assignment.task.as_str() == task)
}

fn reasons(day: &PlannedDay, task: &str) -> String {
    let of_task =
        |unplanned: &&Unplanned| unplanned.task.as_ref().is_some_and(|id| id.as_str() == task);
    day.unplanned.iter().find(of_task).map(|one| one.reasons.join(" ")).unwrap_or_default()
}

fn task_mut<'a>(job: &'a mut Job, task: &str) -> &'a mut crate::work::Task {
    job.task_mut(&TaskId::new(task).unwrap()).unwrap()
}

#[test]
fn a_job_is_planned_in_its_order_with_the_cure_between_glass_and_camera() {
    let day = Shop::with(vec![accepted_job(&["windshield-replaced"])]).plan("08:00");
    let [scan, glass, camera, drive] = ["pre-scan", "glass", "front-camera", "road-drive"]
        .map(|task| of(&day, task).unwrap().clone());
    assert!(scan.end <= glass.start);
    assert!(glass.end + TimeDelta::minutes(60) <= camera.start, "the maker's stated hour");
    assert!(glass.end + TimeDelta::minutes(90) <= drive.start && camera.end <= drive.start);
    assert!(glass.place.is_some() && drive.place.is_none());
    assert!(day.late.is_empty() && day.unplanned.is_empty());
}

#[test]
fn a_radar_is_planned_while_the_glass_cures() {
    let job = accepted_job(&["windshield-replaced", "front-bumper-removed"]);
    let day = Shop::with(vec![job]).plan("08:00");
    let [glass, radar, camera] =
        ["glass", "front-radar", "front-camera"].map(|task| of(&day, task).unwrap().clone());
    assert!(glass.end <= radar.start && radar.end <= camera.start);
}

#[test]
fn glass_without_stated_minutes_keeps_what_follows_out_of_the_plan() {
    let mut job = accepted_job(&["windshield-replaced", "front-bumper-removed"]);
    task_mut(&mut job, "glass").planned_cure = None;
    let day = Shop::with(vec![job]).plan("08:00");
    assert!(of(&day, "glass").is_some());
    for task in ["front-camera", "front-radar", "road-drive"] {
        assert!(of(&day, task).is_none());
        assert!(reasons(&day, task).contains("adhesive maker"), "{}", reasons(&day, task));
    }
}

#[test]
fn what_waits_is_listed_with_what_comes_after_it_and_the_rest_is_planned() {
    let mut job = accepted_job(&["windshield-replaced", "front-bumper-removed"]);
    let parts = job.prerequisite_mut(&PrerequisiteId::new("parts").unwrap()).unwrap();
    parts.reopen();
    parts.state = PrerequisiteState::OnOrder;
    let day = Shop::with(vec![job]).plan("08:00");
    assert!(reasons(&day, "glass").contains("without an expected time"));
    assert!(reasons(&day, "front-camera").contains("after task glass"));
    assert!(of(&day, "pre-scan").is_some() && of(&day, "front-radar").is_some());
}

#[test]
fn a_part_with_an_expected_time_sets_the_earliest_start() {
    let mut job = accepted_job(&["windshield-replaced"]);
    let parts = job.prerequisite_mut(&PrerequisiteId::new("parts").unwrap()).unwrap();
    parts.reopen();
    parts.expected_at = Some(at("12:00"));
    let day = Shop::with(vec![job]).plan("08:00");
    assert_eq!(of(&day, "glass").unwrap().start, at("12:00"));
}

#[test]
fn a_method_that_no_bay_fits_is_listed_not_planned() {
    let mut shop = Shop::with(vec![accepted_job(&["front-bumper-removed"])]);
    shop.hosts = HostsByDay::always(hosts(&[]));
    let day = shop.plan("08:00");
    assert!(of(&day, "front-radar").is_none());
    assert!(reasons(&day, "front-radar").contains("no surveyed bay fits"));
}

#[test]
fn a_held_task_stands_and_its_vehicle_and_technician_are_taken() {
    let mut job = accepted_job(&["front-bumper-removed"]);
    pass(&mut job, "pre-scan", "08:10");
    for event in [TaskEvent::Pull, TaskEvent::Start] {
        task_mut(&mut job, "front-radar").step(event).unwrap();
    }
    let mut other = accepted_job(&["front-bumper-removed"]);
    other.id = JobId::new("RO-2").unwrap();
    let mut shop = Shop::with(vec![job, other]);
    shop.hosts = HostsByDay::always(hosts(&["bay-1"]));
    shop.holds = vec![Hold {
        job: JobId::new("RO-1").unwrap(),
        task: TaskId::new("front-radar").unwrap(),
        method: MethodId::new("static").unwrap(),
        place: Some(place("bay-1")),
        technicians: vec![TechnicianId::new("ada").unwrap()],
        units: Vec::new(),
        pulled_at: at("08:30"),
        started_at: Some(at("08:40")),
        minutes: 30,
        pauses: Vec::new(),
    }];
    let day = shop.plan("09:00");
    let running = day.assignments.iter().find(|one| one.fixed).unwrap();
    assert_eq!((running.start, running.end), (at("08:40"), at("09:10")));
    let mut later = day.assignments.iter().filter(|one| !one.fixed && one.place.is_some());
    assert!(later.all(|one| one.start >= at("09:10")));
    // A task that runs over is expected to end a minute from now, until somebody says more.
    let over = shop.plan("10:00");
    assert_eq!(over.assignments.iter().find(|one| one.fixed).unwrap().end, at("10:01"));
    // Interruptions come on top: ten minutes that are over, and five that last until now.
    shop.holds[0].pauses = vec![(at("08:42"), Some(at("08:52"))), (at("08:55"), None)];
    let paused = shop.plan("09:00");
    assert_eq!(paused.assignments.iter().find(|one| one.fixed).unwrap().end, at("09:25"));
}

/// Who has it promises a time: what comes after is planned from then on, and not once it has passed.
#[test]
fn a_task_that_is_sent_out_is_no_step_and_its_expected_time_is_the_release() {
    let mut job = accepted_job(&["front-bumper-removed"]);
    let scan = task_mut(&mut job, "pre-scan");
    scan.step(TaskEvent::Sublet).unwrap();
    scan.sublet = Some(Sublet {
        party: "mobile scanner".to_owned(),
        sent_at: at("08:00"),
        expected_at: at("11:00"),
        actor: "desk".to_owned(),
        note: String::new(),
    });
    let shop = Shop::with(vec![job]);
    let day = shop.plan("08:30");
    assert!(of(&day, "pre-scan").is_none());
    assert!(of(&day, "front-radar").unwrap().start >= at("11:00"));
    let late = shop.plan("11:00");
    assert!(reasons(&late, "front-radar").contains("chase mobile scanner"));
}

#[test]
fn a_cancelled_job_is_left_out_of_the_plan() {
    let mut job = accepted_job(&["front-bumper-removed"]);
    job.state = JobState::Cancelled;
    let day = Shop::with(vec![job]).plan("08:30");
    assert!(day.assignments.is_empty() && day.unplanned.is_empty());
}

#[test]
fn a_standing_vehicle_without_a_next_step_in_that_bay_costs_a_move() {
    let mut job = accepted_job(&["front-bumper-removed"]);
    pass(&mut job, "pre-scan", "08:10");
    job.whereabouts = Some(Whereabouts::Place(place("bay-2")));
    let day = Shop::with(vec![job]).plan("09:00");
    assert_eq!(of(&day, "front-radar").unwrap().place, Some(place("bay-2")));
}

#[test]
fn a_begun_job_that_cannot_finish_in_time_does_not_make_the_day_impossible() {
    let mut begun = accepted_job(&["windshield-replaced"]);
    pass(&mut begun, "pre-scan", "08:10");
    for event in [TaskEvent::Pull, TaskEvent::Start] {
        task_mut(&mut begun, "glass").step(event).unwrap();
    }
    let mut shop = Shop::with(vec![begun]);
    shop.days = 1;
    shop.holds = vec![Hold {
        job: JobId::new("RO-1").unwrap(),
        task: TaskId::new("glass").unwrap(),
        method: MethodId::new("static").unwrap(),
        place: Some(place("bay-1")),
        technicians: vec![TechnicianId::new("ada").unwrap()],
        units: Vec::new(),
        pulled_at: at("16:30"),
        started_at: Some(at("16:30")),
        minutes: 30,
        pauses: Vec::new(),
    }];
    // The next day is a holiday: nothing of the rest fits.
    let mut draft = definition_draft();
    for technician in &mut draft.technicians {
        let mut parts = technician.parts().clone();
        let holiday = crate::calendar::HoursException::new(
            at("08:00").date_naive().succ_opt().unwrap(),
            crate::calendar::DayHours::CLOSED,
        );
        parts.shift = crate::calendar::OpenHours::new(
            parts.shift.zone(),
            parts.shift.weekly().clone(),
            vec![holiday],
        )
        .unwrap();
        *technician = crate::shop::Technician::new(parts).unwrap();
    }
    shop.definition = ShopDefinition::new(draft).unwrap();
    let day = shop.plan("16:40");
    assert!(of(&day, "glass").is_some_and(|glass| glass.fixed));
    assert!(reasons(&day, "front-camera").contains("has begun"));
}

#[test]
fn the_same_state_gives_the_same_plan_and_the_plan_before_is_kept() {
    let job = accepted_job(&["windshield-replaced", "front-bumper-removed"]);
    let mut shop = Shop::with(vec![job]);
    let first = shop.plan("08:00");
    assert_eq!(first.plan.to_json(), shop.plan("08:00").plan.to_json());
    shop.previous.clone_from(&first.assignments);
    assert_eq!(shop.plan("08:00").assignments, first.assignments);
}

#[test]
fn a_task_that_waits_for_a_yes_is_not_planned() {
    let mut job = accepted_job(&["front-bumper-removed"]);
    task_mut(&mut job, "pre-scan").state = TaskState::Proposed;
    let day = Shop::with(vec![job]).plan("08:00");
    assert!(reasons(&day, "front-radar").contains("only proposed"));
}
