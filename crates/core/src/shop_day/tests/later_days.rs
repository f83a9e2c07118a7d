//! Each day of a plan is judged by what holds on that day.

use super::*;
use crate::demand::WorkPlace;
use crate::ids::RoleId;
use crate::shop::{DatedRole, Technician};
use crate::work::{Adhesive, AdhesiveDraft, CureMinutes};
use chrono::NaiveDate;

fn date(day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 5, day).unwrap()
}

fn from_dates<const N: usize>(dates: [(u32, &[&str]); N]) -> HostsByDay {
    HostsByDay::from_dates(dates.map(|(day, bays)| (date(day), hosts(bays))).into())
}

/// A scanned vehicle with only the radar to do.
fn radar_shop() -> Shop {
    let mut job = accepted_job(&["front-bumper-removed"]);
    pass(&mut job, "pre-scan", "08:10");
    job.promise_at = at("08:00") + TimeDelta::days(3);
    Shop::with(vec![job])
}

#[test]
fn a_bay_whose_survey_ends_tonight_is_not_planned_for_tomorrow() {
    let mut shop = radar_shop();
    shop.hosts = from_dates([(5, &["bay-1"]), (6, &[])]);
    assert_eq!(of(&shop.plan("10:00"), "front-radar").unwrap().start, at("10:00"));
    // Half an hour is needed, and the shop closes at 17:00.
    assert_eq!(of(&shop.plan("16:45"), "front-radar"), None);
    shop.hosts = from_dates([(5, &["bay-1"])]);
    let tomorrow = of(&shop.plan("16:45"), "front-radar").unwrap().start;
    assert_eq!(tomorrow, at("07:30") + TimeDelta::days(1));
}

#[test]
fn a_bay_that_is_cleared_tomorrow_is_planned_from_tomorrow_on() {
    let mut shop = radar_shop();
    shop.hosts = from_dates([(5, &[]), (6, &["bay-1"])]);
    let planned = of(&shop.plan("10:00"), "front-radar").unwrap().clone();
    assert_eq!(planned.start, at("07:30") + TimeDelta::days(1));
    assert_eq!(planned.place, Some(place("bay-1")));
}

#[test]
fn who_may_do_it_is_judged_on_the_day_of_the_work() {
    let mut shop = radar_shop();
    let mut draft = definition_draft();
    let calibrator = RoleId::new("calibrator").unwrap();
    let dated = |from, until| DatedRole { role: calibrator.clone(), from, until };
    // Ada's certificate ends tonight; Bo's counts from the day after tomorrow on.
    let roles = [dated(None, Some(date(6))), dated(Some(date(7)), None)];
    for (technician, role) in draft.technicians.iter_mut().zip(roles) {
        let mut parts = technician.parts().clone();
        parts.roles.clear();
        parts.dated_roles = vec![role];
        *technician = Technician::new(parts).unwrap();
    }
    shop.definition = ShopDefinition::new(draft).unwrap();
    shop.days = 3;
    let who = |clock: &str| {
        let radar = of(&shop.plan(clock), "front-radar").unwrap().clone();
        (radar.start, radar.technicians[0].to_string())
    };
    assert_eq!(who("10:00"), (at("10:00"), "ada".to_owned()));
    assert_eq!(who("16:45"), (at("07:30") + TimeDelta::days(2), "bo".to_owned()));
}

#[test]
fn a_drive_that_calibrates_waits_until_the_vehicle_may_be_driven() {
    let mut shop = Shop::with(vec![accepted_job(&["windshield-replaced"])]);
    let mut draft = definition_draft();
    let camera = draft.procedures.iter_mut().find(|one| one.id().as_str() == "front-camera");
    let camera = camera.unwrap();
    *camera = crate::demand::Procedure::new(crate::demand::ProcedureDraft {
        methods: vec![crate::demand::MethodDraft {
            id: MethodId::new("driven").unwrap(),
            title: "on the road".to_owned(),
            place: WorkPlace::Road,
            roles: vec![RoleId::new("calibrator").unwrap()],
            equipment: Vec::new(),
            minutes: crate::demand::MethodMinutesDraft {
                setup_minutes: 5,
                run_minutes: 20,
                teardown_minutes: 5,
            },
            zones: Vec::new(),
            sun: crate::demand::SunDemand::default(),
        }],
        id: camera.id().clone(),
        title: camera.title().to_owned(),
        kind: camera.kind(),
        sensor: camera.sensor(),
        document: document(),
        start_checks: Vec::new(),
    })
    .unwrap();
    shop.definition = ShopDefinition::new(draft).unwrap();
    let day = shop.plan("08:00");
    let [glass, camera] = ["glass", "front-camera"].map(|task| of(&day, task).unwrap().clone());
    // Planned ahead: calibrated after 60 minutes, but driven only after 90.
    assert!(glass.end + TimeDelta::minutes(90) <= camera.start);
    // Set by now: the recorded instant binds.
    pass(&mut shop.jobs[0], "pre-scan", "08:10");
    pass(&mut shop.jobs[0], "glass", "09:00");
    shop.jobs[0].note_adhesive(
        Adhesive::new(AdhesiveDraft {
            task: Some(TaskId::new("glass").unwrap()),
            set_at: at("09:00"),
            cure: CureMinutes::new(0, 60, 150).unwrap(),
            document: "invented sheet 2".to_owned(),
            product: "invented adhesive".to_owned(),
            temperature_c: 20.0,
            humidity_percent: 50.0,
        })
        .unwrap(),
    );
    assert_eq!(of(&shop.plan("09:05"), "front-camera").unwrap().start, at("11:30"));
}
