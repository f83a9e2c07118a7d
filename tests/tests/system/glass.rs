//! Glass that is replaced after its camera's calibration, and what the adhesive lets be done when.

use baywright_api::v1::{self, TaskState};
use baywright_tests::system::{
    BOTH, Caller, SHOP, TestService, adhesive, at, definition, estimate, new_request_id, refused,
    time,
};
use chrono::{DateTime, TimeDelta, Utc};
use tonic::Code;

const TEAM: [&str; 2] = ["ana", "ben"];

fn instant(time: prost_types::Timestamp) -> DateTime<Utc> {
    DateTime::from_timestamp(time.seconds, u32::try_from(time.nanos).unwrap()).unwrap()
}

async fn state_of(caller: &Caller, task_id: &str) -> TaskState {
    let job = caller.job("J-1").await;
    job.tasks.iter().find(|task| task.task_id == task_id).unwrap().state()
}

async fn set_at(caller: &Caller) -> DateTime<Utc> {
    instant(caller.job("J-1").await.adhesives[0].set_time.unwrap())
}

fn keys(reasons: &[v1::HandBackReason]) -> Vec<&str> {
    reasons.iter().map(|reason| reason.key.as_str()).collect()
}

/// A vehicle whose camera is calibrated, driven and scanned.
async fn calibrated(service: &TestService) -> Caller {
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &["camera-removed"])).await;
    caller.work_off(&TEAM).await;
    assert_eq!(caller.hand_back_reasons("J-1").await, []);
    caller
}

/// The same estimate with the windshield added.
async fn add_the_windshield(caller: &Caller) {
    let supplement = estimate("J-1", &["camera-removed", "windshield-replaced"]);
    caller.submit(v1::Estimate { revision: 2, ..supplement }).await.unwrap();
}

#[tokio::test]
async fn glass_replaced_after_the_camera_opens_the_camera_again_and_keeps_the_vehicle() {
    let service = TestService::start().await;
    let caller = calibrated(&service).await;

    add_the_windshield(&caller).await;
    assert_eq!(keys(&caller.hand_back_reasons("J-1").await), ["task:glass"]);
    refused(caller.hand_back("J-1", &[]).await, Code::FailedPrecondition, "HAND_BACK_REFUSED");
    caller.accept_all("J-1").await.unwrap();
    caller.sign_off("J-1", "glass-parts").await.unwrap();

    // Nothing is undone by a pull; the start undoes the camera, and what came after it.
    let held = caller.pull("ben").await.unwrap();
    assert_eq!(held.task_id, "glass");
    assert_eq!(state_of(&caller, "front-camera").await, TaskState::Passed);
    let running = caller.begin(&held).await.unwrap();
    for task in ["front-camera", "road-drive", "post-scan"] {
        assert_eq!(state_of(&caller, task).await, TaskState::Open, "{task}");
    }
    assert_eq!(state_of(&caller, "pre-scan").await, TaskState::Passed);
    let clean = caller.job("J-1").await.prerequisites;
    let clean = clean.iter().find(|one| one.prerequisite_id == "glass-clean").unwrap();
    assert_eq!((clean.state(), &clean.sign_off), (v1::PrerequisiteState::Open, &None));
    caller.finish(&running).await.unwrap();

    let reasons = caller.hand_back_reasons("J-1").await;
    let camera = reasons.iter().find(|reason| reason.key == "task:front-camera").unwrap();
    assert!(camera.sentence.contains("task glass"), "{}", camera.sentence);
    let refusal =
        refused(caller.hand_back("J-1", &[]).await, Code::FailedPrecondition, "HAND_BACK_REFUSED");
    assert!(refusal.metadata.values().any(|said| said.contains("task glass")), "{refusal:?}");

    // Everything again; the vehicle leaves at the driven instant, not before.
    let set = set_at(&caller).await;
    let service = service.restart_at(set + TimeDelta::minutes(60)).await;
    let caller = service.caller();
    caller.work_off(&TEAM).await;
    assert_eq!(state_of(&caller, "front-camera").await, TaskState::Passed);
    let reasons = caller.hand_back_reasons("J-1").await;
    assert_eq!(keys(&reasons), ["task:road-drive", "task:post-scan", "adhesive"]);
    let driven = set + TimeDelta::minutes(90);
    assert_eq!(reasons[2].until_time, Some(time(driven)));
    assert!(!reasons[2].can_be_excepted);
    let service = service.restart_at(driven).await;
    let caller = service.caller();
    caller.work_off(&TEAM).await;
    caller.hand_back("J-1", &[]).await.unwrap();
    let attempts: Vec<_> = caller
        .records("J-1")
        .await
        .iter()
        .filter(|record| record.task.as_ref().unwrap().task_id == "front-camera")
        .map(|record| record.attempt)
        .collect();
    assert_eq!(attempts, [1, 2], "the old attempt stays");
}

#[tokio::test]
async fn glass_replaced_outside_opens_the_camera_again_too() {
    let service = TestService::start().await;
    let caller = calibrated(&service).await;
    add_the_windshield(&caller).await;
    let decline = v1::DecideTasksRequest {
        shop_id: SHOP.to_owned(),
        job_id: "J-1".to_owned(),
        decline_task_ids: vec!["glass".to_owned()],
        reason: "the glazier has done it".to_owned(),
        request_id: new_request_id(),
        actor: "Mia".to_owned(),
        ..v1::DecideTasksRequest::default()
    };
    caller.send(decline).await.unwrap();
    assert_eq!(caller.hand_back_reasons("J-1").await, [], "nobody has said that it is done");

    let outside = v1::RecordOutsideWorkRequest {
        shop_id: SHOP.to_owned(),
        job_id: "J-1".to_owned(),
        operation_id: "2".to_owned(),
        adhesive: Some(adhesive(Some(time(at(0))))),
        evidence: "the glazier's sheet".to_owned(),
        request_id: new_request_id(),
        actor: "Mia".to_owned(),
        etag: String::new(),
    };
    caller.send(outside.clone()).await.unwrap();

    let reasons = caller.hand_back_reasons("J-1").await;
    assert_eq!(
        keys(&reasons),
        ["task:front-camera", "task:road-drive", "task:post-scan", "adhesive"]
    );
    assert!(reasons[0].sentence.contains("windshield-replaced"), "{}", reasons[0].sentence);
    refused(caller.hand_back("J-1", &[]).await, Code::FailedPrecondition, "HAND_BACK_REFUSED");
    let again = v1::RecordOutsideWorkRequest { request_id: new_request_id(), ..outside };
    refused(caller.send(again).await, Code::FailedPrecondition, "ILLEGAL_TRANSITION");

    // The cure holds for glass that was set outside as well.
    refused(caller.pull("ana").await, Code::FailedPrecondition, "NOTHING_READY");
    let service = service.restart_at(at(90)).await;
    let caller = service.caller();
    caller.work_off(&TEAM).await;
    caller.hand_back("J-1", &[]).await.unwrap();
}

#[tokio::test]
async fn the_radar_is_done_while_the_glass_cures_and_the_camera_not_before_its_instant() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &BOTH)).await;
    // Ben alone: he scans and sets the glass, but calibrates nothing.
    caller.work_off(&["ben"]).await;
    assert_eq!(state_of(&caller, "glass").await, TaskState::Passed);
    assert_eq!(state_of(&caller, "front-radar").await, TaskState::Open);
    let calibrated = set_at(&caller).await + TimeDelta::minutes(60);

    let plan = caller.plan().await.unwrap();
    let starts = |task: &str| {
        let one = plan.assignments.iter().find(|one| one.task_id == task).unwrap();
        instant(one.start_time.unwrap())
    };
    assert!(starts("front-radar") < calibrated, "{}", starts("front-radar"));
    assert!(starts("front-camera") >= calibrated, "{}", starts("front-camera"));
    let radar = caller.pull("ana").await.unwrap();
    assert_eq!(radar.task_id, "front-radar");
    let radar = caller.begin(&radar).await.unwrap();
    caller.finish(&radar).await.unwrap();
    let refusal = refused(caller.pull("ana").await, Code::FailedPrecondition, "NOTHING_READY");
    let next: DateTime<Utc> = refusal.metadata["next_time"].parse().unwrap();
    assert_eq!(next, calibrated);

    // A minute before its instant, and at it.
    let service = service.restart_at(calibrated - TimeDelta::minutes(1)).await;
    refused(service.caller().pull("ana").await, Code::FailedPrecondition, "NOTHING_READY");
    let service = service.restart_at(calibrated).await;
    assert_eq!(service.caller().pull("ana").await.unwrap().task_id, "front-camera");
}
