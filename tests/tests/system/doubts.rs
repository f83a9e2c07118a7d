//! Doubts about bays are listed and cleared one by one; the phases of work stand in its record.

use baywright_api::v1::{self, FailureCause, WorkPhase};
use baywright_tests::system::{
    Caller, SHOP, TestService, definition_of_radars, estimate, key_of, new_request_id, refused,
};
use tonic::Code;

async fn doubts(caller: &Caller, include_cleared: bool) -> Vec<v1::Doubt> {
    let request = v1::ListDoubtsRequest {
        shop_id: SHOP.to_owned(),
        include_cleared,
        ..v1::ListDoubtsRequest::default()
    };
    caller.send(request).await.unwrap().doubts
}

async fn clear(caller: &Caller, doubt_id: &str) -> Result<v1::ClearDoubtResponse, tonic::Status> {
    let request = v1::ClearDoubtRequest {
        shop_id: SHOP.to_owned(),
        doubt_id: doubt_id.to_owned(),
        reason: "the floor was swept and tried".to_owned(),
        request_id: new_request_id(),
        actor: "Noa (invented)".to_owned(),
    };
    caller.send(request).await
}

async fn enter(
    caller: &Caller,
    holding: &v1::Holding,
    phase: WorkPhase,
) -> Result<v1::EnterPhaseResponse, tonic::Status> {
    let request = v1::EnterPhaseRequest {
        shop_id: SHOP.to_owned(),
        holding: Some(key_of(holding)),
        phase: phase.into(),
        request_id: new_request_id(),
    };
    caller.send(request).await
}

#[tokio::test]
async fn a_doubt_is_cleared_by_name_with_a_reason_and_the_bay_is_used_again() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition_of_radars(1)).await;
    caller.bring_in(estimate("J-1", &["bumper-removed"])).await;
    caller.bring_in(estimate("J-2", &["bumper-removed"])).await;
    let held = caller.pull("ana").await.unwrap();
    let running = caller.begin(&held).await.unwrap();
    caller.fail(&running, FailureCause::Environment, "").await.unwrap();
    caller.move_out(&running.job_id).await.unwrap();
    let standing = doubts(&caller, false).await;
    let [doubt] = &standing[..] else { panic!("{standing:?}") };
    assert_eq!(
        (doubt.job_id.as_str(), doubt.task_id.as_str()),
        (running.job_id.as_str(), "front-radar")
    );
    assert_eq!((doubt.bay_id.as_str(), doubt.method_id.as_str()), ("bay-1", "reflector"));
    assert_eq!((doubt.note.as_str(), &doubt.cleared_time), ("it did not come right", &None));
    refused(caller.pull("ana").await, Code::FailedPrecondition, "NO_FITTING_BAY");

    let cleared = clear(&caller, &doubt.doubt_id).await.unwrap().doubt.unwrap();

    assert_eq!(cleared.cleared_by, "Noa (invented)");
    assert_eq!(cleared.cleared_reason, "the floor was swept and tried");
    assert!(cleared.cleared_time.is_some());
    assert_eq!(doubts(&caller, false).await, []);
    assert_eq!(doubts(&caller, true).await, [cleared]);
    let again = clear(&caller, &doubt.doubt_id).await;
    refused(again, Code::FailedPrecondition, "ILLEGAL_TRANSITION");
    assert_ne!(caller.pull("ana").await.unwrap().job_id, running.job_id);
}

#[tokio::test]
async fn a_redo_that_clears_the_doubt_says_who_and_why() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition_of_radars(1)).await;
    caller.bring_in(estimate("J-1", &["bumper-removed"])).await;
    let held = caller.pull("ana").await.unwrap();
    let running = caller.begin(&held).await.unwrap();
    caller.fail(&running, FailureCause::Environment, "").await.unwrap();

    caller.redo("J-1", "front-radar", true).await.unwrap();

    let all = doubts(&caller, true).await;
    assert_eq!(all.len(), 1);
    assert_eq!(
        (all[0].cleared_by.as_str(), all[0].cleared_reason.as_str()),
        ("Mia (invented)", "put right")
    );
    let request = v1::ListAuditEntriesRequest {
        shop_id: SHOP.to_owned(),
        kind: "doubt".to_owned(),
        ..v1::ListAuditEntriesRequest::default()
    };
    let entries = caller.send(request).await.unwrap().entries;
    let methods: Vec<_> = entries.iter().map(|entry| entry.method.as_str()).collect();
    assert_eq!(methods, ["FailTask", "RedoTask"]);
}

#[tokio::test]
async fn phases_that_were_told_stand_in_the_record_one_after_another() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition_of_radars(1)).await;
    caller.bring_in(estimate("J-1", &["bumper-removed"])).await;
    let held = caller.pull("ana").await.unwrap();
    let early = enter(&caller, &held, WorkPhase::Run).await;
    refused(early, Code::FailedPrecondition, "ILLEGAL_TRANSITION");
    let running = caller.begin(&held).await.unwrap();
    let skipped = enter(&caller, &running, WorkPhase::TearDown).await;
    assert_eq!(refused(skipped, Code::InvalidArgument, "INVALID_FIELDS").fields, ["phase"]);

    enter(&caller, &running, WorkPhase::Run).await.unwrap();
    enter(&caller, &running, WorkPhase::TearDown).await.unwrap();
    let back = enter(&caller, &running, WorkPhase::Run).await;
    refused(back, Code::InvalidArgument, "INVALID_FIELDS");
    let record = caller.finish(&running).await.unwrap();

    let phases = record.holding.as_ref().unwrap().phases.clone();
    let names: Vec<_> = phases.iter().map(v1::PhaseTime::phase).collect();
    assert_eq!(names, [WorkPhase::SetUp, WorkPhase::Run, WorkPhase::TearDown]);
    assert_eq!(phases[0].from_time, running.started_time);
    assert_eq!(phases[0].until_time, phases[1].from_time);
    assert_eq!(phases[1].until_time, phases[2].from_time);
    assert_eq!(phases[2].until_time, record.ended_time);
    for name in ["Set-up", "Run", "Tear-down"] {
        let told = |one: &v1::EvidenceStatement| one.sentence.starts_with(&format!("{name} from "));
        assert!(record.statements.iter().any(told), "{name}: {:?}", record.statements);
    }
}
