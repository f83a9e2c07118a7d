//! Pauses, hand-overs and failed preparations.
#![cfg(test)]

use super::shop::{TestShop, request_id};
use crate::use_cases::work_pause;
use baywright_api::v1::{self, ErrorReason, FailureCause, Holding, TaskState};
use rstest::rstest;

fn statements(record: &v1::ConditionsRecord, subject: &str) -> Vec<String> {
    let about = record.statements.iter().filter(|one| one.subject == subject);
    about.map(|one| one.sentence.clone()).collect()
}

#[tokio::test]
async fn a_pause_keeps_everything_held_and_its_span_stands_in_the_record() {
    let shop = TestShop::with(&["front-bumper-removed"]).await;
    let running = shop.begin("ada").await;
    let paused = shop.pause(&running).await.unwrap();
    assert_eq!((paused.fence, paused.attempt), (running.fence, running.attempt));
    assert_eq!(paused.pauses[0].until_time, None);
    let refused = shop.pull("ada").await.unwrap_err();
    assert_eq!(refused.reason(), ErrorReason::AlreadyHolding);

    let resumed = shop.resume(&paused).await.unwrap();
    let span = &resumed.pauses[0];
    assert!(span.from_time.is_some() && span.until_time.is_some());
    let record = shop.finish(&resumed).await.unwrap();
    assert_eq!(record.holding.as_ref().unwrap().pauses, resumed.pauses);
    let told = statements(&record, "time");
    assert!(told.iter().any(|one| one.starts_with("Paused from 2026-05-05 10:00:")), "{told:?}");
}

#[tokio::test]
async fn a_paused_task_that_is_put_back_has_a_pause_that_ended_and_frees_everything() {
    let shop = TestShop::with(&["front-bumper-removed"]).await;
    let paused = shop.pause(&shop.begin("ada").await).await.unwrap();
    let record = shop.put_back(&paused).await.unwrap();
    assert_eq!(record.holding.unwrap().pauses[0].until_time, record.ended_time);
    assert_eq!(shop.state("front-radar").await, TaskState::Open);
    assert_eq!(shop.pull("bo").await.unwrap().attempt, 2);
}

#[tokio::test]
async fn a_pause_asked_twice_with_one_request_id_is_one_pause() {
    let shop = TestShop::with(&["front-bumper-removed"]).await;
    let running = shop.begin("ada").await;
    let request = v1::PauseTaskRequest {
        shop_id: super::shop::SHOP.to_owned(),
        holding: Some(super::shop::key(&running)),
        note: "telephone".to_owned(),
        request_id: request_id(),
    };
    let first = work_pause::pause_task(&shop.app, request.clone()).await.unwrap();
    let second = work_pause::pause_task(&shop.app, request).await.unwrap();
    assert_eq!(first, second);
    assert_eq!(second.holding.unwrap().pauses.len(), 1);
}

/// The holding goes on as it is, under a new number; the former holder can change nothing.
#[rstest]
#[case::held(false, false)]
#[case::running(true, false)]
#[case::paused(true, true)]
#[tokio::test]
async fn a_hand_over_keeps_state_and_attempt_and_refuses_the_old_number(
    #[case] started: bool,
    #[case] paused: bool,
) {
    let shop = TestShop::with(&["front-bumper-removed"]).await;
    let mut before = shop.pull("ada").await.unwrap();
    if started {
        before = shop.start(&before).await.unwrap();
    }
    if paused {
        before = shop.pause(&before).await.unwrap();
    }
    let state = shop.state("front-radar").await;
    let after = shop.hand_over(&before, "bo").await.unwrap();
    assert!(after.fence > before.fence);
    assert_eq!(
        (after.technician_id.as_str(), &after.technician_ids[..]),
        ("bo", &["bo".to_owned()][..])
    );
    let unchanged = Holding {
        fence: before.fence,
        technician_id: before.technician_id.clone(),
        technician_ids: before.technician_ids.clone(),
        hand_overs: Vec::new(),
        ..after.clone()
    };
    assert_eq!(unchanged, before);
    assert_eq!(shop.state("front-radar").await, state);

    let by_the_former = shop.put_back(&before).await.unwrap_err();
    assert_eq!(by_the_former.reason(), ErrorReason::NotHolder);
    let old_number = Holding { fence: before.fence, ..after.clone() };
    let refused = shop.put_back(&old_number).await.unwrap_err();
    assert_eq!(refused.reason(), ErrorReason::FenceLost);

    let record = shop.put_back(&after).await.unwrap();
    assert_eq!(record.attempt, 1);
    let told = statements(&record, "time");
    assert!(told.iter().any(|one| one.starts_with("Handed over from ada to bo at")), "{told:?}");
    assert_eq!(shop.pull("ada").await.unwrap().attempt, 2);
}

#[rstest]
#[case::unknown("zoe", ErrorReason::NotFound)]
#[case::no_name("", ErrorReason::InvalidFields)]
#[case::fills_another_role("cy", ErrorReason::InvalidFields)]
#[case::not_on_shift("eve", ErrorReason::NotReady)]
#[case::works_on_something_else("bo", ErrorReason::HeldElsewhere)]
#[case::the_holder("ada", ErrorReason::HeldElsewhere)]
#[tokio::test]
async fn a_hand_over_to_somebody_who_cannot_take_over_is_refused(
    #[case] to: &str,
    #[case] reason: ErrorReason,
) {
    let shop = TestShop::with(&["front-bumper-removed"]).await;
    let running = shop.begin("ada").await;
    let other = shop.about("J-2");
    other.estimate(1, &["front-bumper-removed"]).await.unwrap();
    other.decide(true).await.unwrap();
    other.arrive().await.unwrap();
    other.pull("bo").await.unwrap();

    let refused = shop.hand_over(&running, to).await.unwrap_err();
    assert_eq!(refused.reason(), reason, "{refused}");
    shop.finish(&running).await.unwrap();
}

#[tokio::test]
async fn one_of_two_people_is_replaced_and_the_other_stays() {
    let shop = TestShop::with(&["mirrors-replaced"]).await;
    let held = shop.pull("ada").await.unwrap();
    assert_eq!(held.technician_ids, ["ada", "cy"]);
    let after = shop.hand_over(&held, "bo").await.unwrap();
    assert_eq!(after.technician_ids, ["bo", "cy"]);
    assert_eq!(shop.pull("cy").await.unwrap_err().reason(), ErrorReason::HeldElsewhere);
}

/// What passed on tyres that were not as they should be did not pass.
#[tokio::test]
async fn a_failed_preparation_opens_again_with_every_passed_task_behind_it() {
    let shop = TestShop::with(&["camera-bracket-replaced", "front-bumper-removed"]).await;
    shop.finish(&shop.begin("ada").await).await.unwrap();
    let running = shop.begin("ada").await;
    let (passed, failing) = if running.task_id == "front-radar" {
        ("front-camera", "front-radar")
    } else {
        ("front-radar", "front-camera")
    };
    assert_eq!(shop.state(passed).await, TaskState::Passed);

    shop.fail(&running, FailureCause::Preparation).await.unwrap();
    assert_eq!(shop.state(failing).await, TaskState::Failed);
    let undone = shop.task(passed).await;
    assert_eq!(undone.state(), TaskState::Open);
    let by = undone.undone.unwrap().by;
    assert_eq!(by, format!("the failed preparation tyres of task {failing}"));
    let tyres = shop.prerequisite("tyres").await;
    assert_eq!((tyres.state(), tyres.sign_off), (v1::PrerequisiteState::Open, None));
}

#[rstest]
#[case::vehicle(FailureCause::Vehicle)]
#[case::equipment(FailureCause::Equipment)]
#[case::procedure(FailureCause::Procedure)]
#[tokio::test]
async fn another_cause_leaves_preparations_and_passed_tasks(#[case] cause: FailureCause) {
    let shop = TestShop::with(&["camera-bracket-replaced", "front-bumper-removed"]).await;
    shop.finish(&shop.begin("ada").await).await.unwrap();
    shop.fail(&shop.begin("ada").await, cause).await.unwrap();
    let tyres = shop.prerequisite("tyres").await;
    assert_eq!(tyres.state(), v1::PrerequisiteState::Done);
    let job = shop.job().await.job.unwrap();
    assert!(job.tasks.iter().any(|task| task.state() == TaskState::Passed));
}

/// A preparation is one of the task's own.
#[tokio::test]
async fn a_preparation_that_is_none_of_the_task_is_refused() {
    let shop = TestShop::with(&["windshield-replaced"]).await;
    let glass = shop.begin("ada").await;
    let refused = shop.fail(&glass, FailureCause::Preparation).await.unwrap_err();
    assert_eq!(refused.reason(), ErrorReason::InvalidFields);
    assert_eq!(shop.state("glass").await, TaskState::Running);
}
