//! The questions of the day on the invented shop.

use super::*;
use crate::example_shop::*;
use crate::ids::{JobId, MethodId, PrerequisiteId, TaskId};
use crate::shop_day::{Assignment, Unplanned};
use crate::work::{Job, Place, PrerequisiteState, TaskState};
use chrono::{DateTime, Utc};
use std::collections::BTreeSet;

fn assignment(job: &Job, task: &str, at_place: Option<&str>, start: &str, end: &str) -> Assignment {
    Assignment {
        job: job.id.clone(),
        task: TaskId::new(task).unwrap(),
        method: MethodId::new("static").unwrap(),
        place: at_place.map(place),
        technicians: Vec::new(),
        units: Vec::new(),
        start: at(start),
        end: at(end),
        fixed: false,
        notes: Vec::new(),
    }
}

#[test]
fn the_chase_list_names_party_job_and_the_tasks_that_wait() {
    let mut job = accepted_job(&["windshield-replaced"]);
    let parts = job.prerequisite_mut(&PrerequisiteId::new("parts").unwrap()).unwrap();
    parts.reopen();
    parts.state = PrerequisiteState::OnOrder;
    parts.party = "parts desk".to_owned();
    parts.expected_at = Some(at("10:00"));
    let listed = chases(std::slice::from_ref(&job), at("11:00"));
    assert_eq!(listed.len(), 1);
    assert_eq!(listed[0].party, "parts desk");
    let item = &listed[0].items[0];
    assert_eq!((item.key.as_str(), item.overdue), ("prerequisite:parts", true));
    assert_eq!(item.tasks, [TaskId::new("glass").unwrap()]);
    // Before the expected time it is listed as what the promise rests on.
    assert!(!chases(&[job], at("09:00"))[0].items[0].overdue);
}

#[test]
fn a_vehicle_that_should_be_here_is_asked_of_its_account() {
    let mut job = accepted_job(&["front-bumper-removed"]);
    job.state = crate::work::JobState::Expected;
    let listed = chases(&[job], at("08:30"));
    assert_eq!(listed[0].party, "body-shop");
    assert_eq!(listed[0].items[0].key, "vehicle");
    assert_eq!(listed[0].items[0].tasks.len(), 2);
}

#[test]
fn a_job_finishes_with_its_last_planned_task_and_not_before_it_may_be_driven() {
    let mut job = accepted_job(&["front-bumper-removed"]);
    job.task_mut(&TaskId::new("pre-scan").unwrap()).unwrap().state = TaskState::Passed;
    let plan = [assignment(&job, "front-radar", Some("bay-1"), "15:40", "16:10")];
    let [finish] =
        projected_finishes(std::slice::from_ref(&job), &plan, &[], at("09:00")).try_into().unwrap();
    assert_eq!((finish.finish_at, finish.late_minutes()), (Some(at("16:10")), Some(10)));

    let why = [Unplanned {
        job: job.id.clone(),
        task: Some(TaskId::new("front-radar").unwrap()),
        reasons: vec!["No bay.".to_owned()],
    }];
    let [finish] = projected_finishes(&[job], &[], &why, at("09:00")).try_into().unwrap();
    assert_eq!(finish.finish_at, None);
    assert_eq!(finish.reasons, ["No bay."]);
}

fn free(taken: &[Place], assignments: &[Assignment], now: DateTime<Utc>) -> Vec<(String, String)> {
    let fitting = [(MethodId::new("static").unwrap(), vec![place("bay-1"), place("bay-2")])];
    let clashes = BTreeSet::from([(place("bay-2"), place("bay-3"))]);
    let definition = definition();
    let hours = &definition.parts().shop.parts().hours;
    let asked =
        FreePlaceAsked { fitting: &fitting, clashes: &clashes, taken, assignments, hours, now };
    free_places(&asked)
        .into_iter()
        .map(|free| (free.place.bay.to_string(), free.until.format("%H:%M").to_string()))
        .collect()
}

#[test]
fn a_fitting_bay_is_free_until_its_next_use_or_the_closing() {
    let mut job = accepted_job(&["front-bumper-removed"]);
    job.id = JobId::new("RO-9").unwrap();
    let plan = [assignment(&job, "front-radar", Some("bay-1"), "11:00", "11:30")];
    let expected =
        [("bay-2".to_owned(), "17:00".to_owned()), ("bay-1".to_owned(), "11:00".to_owned())];
    assert_eq!(free(&[], &plan, at("09:00")), expected);
    // A vehicle next door whose zones reach over takes the bay too.
    assert_eq!(free(&[place("bay-3")], &plan, at("09:00")), expected[1..]);
    assert!(free(&[], &plan, at("18:00")).is_empty(), "nothing is free while the shop is closed");
}

#[test]
fn what_runs_out_soon_is_listed_by_date() {
    let mut job = accepted_job(&["windshield-replaced"]);
    let authorised = job.prerequisite_mut(&PrerequisiteId::new("authorised").unwrap()).unwrap();
    authorised.sign_off("desk", at("08:00"), "told", Some(at("12:00")));
    let definition = definition();
    let soon =
        expiring(&definition, std::iter::empty(), std::slice::from_ref(&job), at("09:00"), 1);
    assert_eq!(soon.len(), 1);
    assert_eq!(soon[0].kind, ExpiringKind::SignOff);
    let year = expiring(&definition, std::iter::empty(), &[job], at("09:00"), 365);
    assert_eq!(year[1].kind, ExpiringKind::Verification);
    assert_eq!(year[1].name, "frame-1");
}
