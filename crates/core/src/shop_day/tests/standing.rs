//! Vehicles that stand in a bay keep it, also when nothing is planned for them.

use super::*;
use crate::work::{Adhesive, AdhesiveDraft, CureMinutes};

/// A job that stands in bay-1 and waits for parts that nobody has promised, and one for the radar.
fn waiting_and_radar() -> Shop {
    let mut waits = accepted_job(&["windshield-replaced"]);
    pass(&mut waits, "pre-scan", "08:10");
    let parts = waits.prerequisite_mut(&PrerequisiteId::new("parts").unwrap()).unwrap();
    parts.reopen();
    waits.whereabouts = Some(Whereabouts::Place(place("bay-1")));
    let mut radar = accepted_job(&["front-bumper-removed"]);
    radar.id = JobId::new("RO-2").unwrap();
    pass(&mut radar, "pre-scan", "08:10");
    let mut shop = Shop::with(vec![waits, radar]);
    shop.hosts = HostsByDay::always(hosts(&["bay-1"]));
    shop
}

fn move_minutes(shop: &Shop) -> TimeDelta {
    TimeDelta::minutes(shop.definition.parts().shop.parts().weights.move_minutes.into())
}

fn set_at(clock: &str, moved: u32) -> Adhesive {
    Adhesive::new(AdhesiveDraft {
        task: None,
        set_at: at(clock),
        cure: CureMinutes::new(moved, moved, moved).unwrap(),
        document: "invented sheet 2".to_owned(),
        product: "invented adhesive".to_owned(),
        temperature_c: 20.0,
        humidity_percent: 50.0,
    })
    .unwrap()
}

#[test]
fn a_vehicle_whose_tasks_all_wait_keeps_its_place_until_it_is_moved() {
    let shop = waiting_and_radar();
    let day = shop.plan("09:00");
    assert_eq!(of(&day, "front-radar").unwrap().start, at("09:00") + move_minutes(&shop));
    let asked = day.unplanned.iter().find(|one| one.task.is_none()).unwrap();
    assert_eq!(asked.job.as_str(), "RO-1");
    assert!(asked.reasons[0].contains("stands at bay-1/mark"), "{}", asked.reasons[0]);
}

#[test]
fn a_vehicle_that_may_not_be_moved_keeps_its_place_until_the_adhesive_has_set() {
    let mut shop = waiting_and_radar();
    shop.jobs[0].note_adhesive(set_at("08:45", 120));
    let free = at("10:45") + move_minutes(&shop);
    assert_eq!(of(&shop.plan("09:00"), "front-radar").unwrap().start, free);
}

#[test]
fn a_place_that_clashes_with_the_standing_vehicle_waits_too() {
    let mut shop = waiting_and_radar();
    shop.jobs[0].note_adhesive(set_at("08:45", 120));
    shop.hosts = HostsByDay::always(hosts(&["bay-2"]));
    assert_eq!(of(&shop.plan("09:00"), "front-radar").unwrap().start, at("09:00"));
    shop.clashes = BTreeSet::from([(place("bay-1"), place("bay-2"))]);
    let free = at("10:45") + move_minutes(&shop);
    assert_eq!(of(&shop.plan("09:00"), "front-radar").unwrap().start, free);
}

/// The camera waits for a word that nobody has promised, so the glass is the last that is planned.
#[test]
fn glass_with_nothing_planned_behind_it_keeps_the_place_until_the_vehicle_may_be_moved() {
    let mut shop = waiting_and_radar();
    shop.jobs[0].prerequisite_mut(&PrerequisiteId::new("parts").unwrap()).unwrap().expected_at =
        Some(at("09:30"));
    for (task, state) in
        [("front-camera", TaskState::Proposed), ("road-drive", TaskState::Proposed)]
    {
        task_mut(&mut shop.jobs[0], task).state = state;
    }
    task_mut(&mut shop.jobs[0], "glass").planned_cure = Some(CureMinutes::new(75, 75, 75).unwrap());
    // The other vehicle cannot go first: it is only due to come at noon.
    shop.jobs[1].state = JobState::Expected;
    shop.jobs[1].expected_arrival_at = at("09:45");
    let day = shop.plan("09:00");
    let [glass, radar] = ["glass", "front-radar"].map(|task| of(&day, task).unwrap().clone());
    assert_eq!(glass.place, radar.place);
    if glass.start < radar.start {
        assert!(glass.end + TimeDelta::minutes(75) < radar.start, "{glass:?} {radar:?}");
    } else {
        panic!("the glass was meant to come first: {glass:?} {radar:?}");
    }
    assert!(day.assignments.iter().all(|one| !one.task.as_str().contains(' ')));
}
