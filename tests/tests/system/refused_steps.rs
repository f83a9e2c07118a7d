//! Steps that the state of things does not allow: who holds what, what was answered, what stands
//! against a hand-back. Nothing is written.

use super::refused_requests::world;
use baywright_api::v1::{self, OperationState};
use baywright_tests::system::{
    BOTH, Caller, Refusal, Request, SHOP, TestService, adhesive, at, definition,
    definition_of_radars, estimate, key_of, new_request_id, refused, survey, time, yes_to_all,
};
use tonic::Code;

/// Sends a request that must be refused and leave everything as it is.
async fn check_refused<R: Request>(
    caller: &Caller,
    request: R,
    (code, reason): (Code, &str),
    fields: &[&str],
) -> Refusal {
    let before = world(caller).await;
    let refusal = refused(caller.send(request).await, code, reason);
    assert_eq!(refusal.fields, fields);
    assert_eq!(world(caller).await, before);
    refusal
}

const INVALID: (Code, &str) = (Code::InvalidArgument, "INVALID_FIELDS");
const ILLEGAL: (Code, &str) = (Code::FailedPrecondition, "ILLEGAL_TRANSITION");

fn finish(holding: &v1::Holding) -> v1::FinishTaskRequest {
    Caller::finish_request(holding)
}

fn start(holding: &v1::Holding, answers: Vec<v1::CheckAnswer>) -> v1::StartTaskRequest {
    v1::StartTaskRequest {
        shop_id: SHOP.to_owned(),
        holding: Some(key_of(holding)),
        answers,
        request_id: new_request_id(),
    }
}

fn pull(technician_id: &str) -> v1::PullTaskRequest {
    v1::PullTaskRequest {
        shop_id: SHOP.to_owned(),
        technician_id: technician_id.to_owned(),
        request_id: new_request_id(),
    }
}

#[tokio::test]
async fn a_pull_without_a_surveyed_bay_says_that_none_fits() {
    let service = TestService::start().await;
    let caller = service.caller();
    let shop = definition_of_radars(2);
    let bays = shop.bays.clone();
    caller.apply(shop).await.unwrap();
    caller.bring_in(estimate("J-1", &["bumper-removed"])).await;

    let none = (Code::FailedPrecondition, "NO_FITTING_BAY");
    let refusal = check_refused(&caller, pull("ana"), none, &[]).await;
    assert!(refusal.metadata["1"].starts_with("J-1/front-radar: "), "{refusal:?}");

    // One bay is surveyed: it is taken.
    caller.record_survey(survey(&bays[1])).await.unwrap();
    let held = caller.pull("ana").await.unwrap();
    assert_eq!(held.place.unwrap().bay_id, "bay-2");
}

#[tokio::test]
async fn only_the_holder_with_the_newest_fence_may_go_on() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    for job in ["J-1", "J-2"] {
        caller.bring_in(estimate(job, &["bumper-removed"])).await;
    }
    let old = caller.pull("ana").await.unwrap();
    let already = (Code::FailedPrecondition, "ALREADY_HOLDING");
    let refusal = check_refused(&caller, pull("ana"), already, &[]).await;
    assert_eq!(refusal.metadata["task_id"], "pre-scan");

    // A task that was not started cannot be finished.
    check_refused(&caller, finish(&old), ILLEGAL, &[]).await;
    // Ben does not hold it, whatever he says.
    let ben = v1::HoldingKey { technician_id: "ben".to_owned(), ..key_of(&old) };
    let not_holder = (Code::FailedPrecondition, "NOT_HOLDER");
    let by_ben =
        v1::StartTaskRequest { holding: Some(ben.clone()), ..start(&old, yes_to_all(&old)) };
    check_refused(&caller, by_ben, not_holder, &[]).await;
    let running = caller.begin(&old).await.unwrap();
    let by_ben = v1::FinishTaskRequest { holding: Some(ben), ..finish(&running) };
    let refusal = check_refused(&caller, by_ben, not_holder, &[]).await;
    assert_eq!(refusal.metadata["job_id"], "J-1");

    // Put back and pulled again: the old number is over.
    caller.put_back(&running).await.unwrap();
    check_refused(&caller, finish(&running), not_holder, &[]).await;
    let new = caller.pull("ana").await.unwrap();
    assert_eq!((&new.job_id, &new.task_id), (&old.job_id, &old.task_id));
    assert!(new.fence > old.fence);
    let new = caller.begin(&new).await.unwrap();
    let lost = (Code::Aborted, "FENCE_LOST");
    let refusal = check_refused(&caller, finish(&running), lost, &[]).await;
    assert_eq!(refusal.metadata["fence"], old.fence.to_string());
    check_refused(&caller, start(&new, yes_to_all(&new)), ILLEGAL, &[]).await;
    caller.finish(&new).await.unwrap();
    check_refused(&caller, finish(&new), not_holder, &[]).await;
}

#[tokio::test]
async fn a_task_starts_only_when_every_check_is_answered_with_a_yes() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &["camera-removed"])).await;
    caller.work_off(&["ben"]).await;
    let held = caller.pull("ana").await.unwrap();
    let asked: Vec<_> = held.start_checks.iter().map(|check| check.check_id.as_str()).collect();
    let expected =
        ["prerequisite:glass-clean", "prerequisite:tyres", "check:target-distance", "fit:view-1"];
    assert_eq!(asked, expected);
    let not_met = (Code::FailedPrecondition, "START_CHECK_NOT_MET");

    let refusal = check_refused(&caller, start(&held, Vec::new()), not_met, &[]).await;
    assert_eq!(refusal.metadata.len(), 4);
    for index in 0..4 {
        let mut answers = yes_to_all(&held);
        answers[index].met = false;
        let refusal = check_refused(&caller, start(&held, answers), not_met, &[]).await;
        assert_eq!(refusal.metadata.keys().collect::<Vec<_>>(), [expected[index]]);
        let mut answers = yes_to_all(&held);
        answers.remove(index);
        check_refused(&caller, start(&held, answers), not_met, &[]).await;
    }
    let mut unasked = yes_to_all(&held);
    unasked[1].check_id = "check:weather".to_owned();
    check_refused(&caller, start(&held, unasked), INVALID, &["answers[1].check_id"]).await;
    let mut twice = yes_to_all(&held);
    twice.push(twice[0].clone());
    check_refused(&caller, start(&held, twice), INVALID, &["answers[4].check_id"]).await;
    caller.begin(&held).await.unwrap();
}

#[tokio::test]
async fn glass_ends_with_its_adhesives_record_and_nothing_else_does() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &BOTH)).await;
    let scan = caller.pull("ben").await.unwrap();
    let scan = caller.begin(&scan).await.unwrap();
    let stuck =
        v1::FinishTaskRequest { adhesive: Some(adhesive(Some(time(at(0))))), ..finish(&scan) };
    check_refused(&caller, stuck, INVALID, &["adhesive"]).await;
    caller.finish(&scan).await.unwrap();

    let glass = caller.pull("ben").await.unwrap();
    let glass = caller.begin(&glass).await.unwrap();
    assert_eq!(glass.task_id, "glass");
    let without = v1::FinishTaskRequest { adhesive: None, ..finish(&glass) };
    check_refused(&caller, without, INVALID, &["adhesive"]).await;
    let early =
        v1::FinishTaskRequest { adhesive: Some(adhesive(Some(time(at(60))))), ..finish(&glass) };
    check_refused(&caller, early, INVALID, &["adhesive.set_time"]).await;
    let mut wrong = adhesive(Some(time(at(0))));
    wrong.temperature_c = f64::NAN;
    wrong.cure = None;
    let wrong = v1::FinishTaskRequest { adhesive: Some(wrong), ..finish(&glass) };
    check_refused(&caller, wrong, INVALID, &["adhesive.cure", "adhesive.temperature_c"]).await;
    let code = v1::FoundCode { code: "C-1".to_owned(), ..v1::FoundCode::default() };
    let scanned = v1::FinishTaskRequest { codes: vec![code], ..finish(&glass) };
    check_refused(&caller, scanned, INVALID, &["codes"]).await;
    caller.finish(&glass).await.unwrap();
}

#[tokio::test]
async fn glass_that_was_set_outside_needs_its_adhesives_record() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &BOTH)).await;
    let outside = v1::RecordOutsideWorkRequest {
        shop_id: SHOP.to_owned(),
        job_id: "J-1".to_owned(),
        operation_id: "1".to_owned(),
        adhesive: None,
        evidence: "the glazier's sheet".to_owned(),
        request_id: new_request_id(),
        actor: "Mia".to_owned(),
        etag: String::new(),
    };
    check_refused(&caller, outside.clone(), INVALID, &["adhesive"]).await;
    // Another operation needs none.
    let bumper = v1::RecordOutsideWorkRequest { operation_id: "2".to_owned(), ..outside };
    caller.send(bumper).await.unwrap();
}

#[tokio::test]
async fn an_operation_that_no_rule_knows_keeps_the_vehicle_until_it_is_decided() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    let job = caller.bring_in(estimate("J-1", &["mirror-cap-painted", "roof-bars-fitted"])).await;
    assert!(job.operations.iter().all(|one| one.state() == OperationState::NeedsDecision));
    caller.work_off(&["ana", "ben"]).await;
    let keys = |reasons: Vec<v1::HandBackReason>| -> Vec<String> {
        reasons.into_iter().map(|reason| reason.key).collect()
    };
    let reasons = keys(caller.hand_back_reasons("J-1").await);
    assert_eq!(reasons, ["operation:1", "operation:2"]);
    refused(caller.hand_back("J-1", &[]).await, Code::FailedPrecondition, "HAND_BACK_REFUSED");

    // One calls for nothing, the other for the radar.
    let decide = |operation_id: &str, procedures: &[&str]| v1::DecideOperationRequest {
        shop_id: SHOP.to_owned(),
        job_id: "J-1".to_owned(),
        operation_id: operation_id.to_owned(),
        procedure_ids: procedures.iter().map(|one| (*one).to_owned()).collect(),
        reason: "the maker's document".to_owned(),
        request_id: new_request_id(),
        actor: "Mia".to_owned(),
        etag: String::new(),
    };
    caller.send(decide("1", &[])).await.unwrap();
    check_refused(&caller, decide("1", &["radar"]), ILLEGAL, &[]).await;
    caller.send(decide("2", &["radar"])).await.unwrap();
    let reasons = keys(caller.hand_back_reasons("J-1").await);
    // The task is the one that the shop's rules know the procedure by; the scan after it is due again.
    assert_eq!(reasons, ["task:post-scan", "task:front-radar"]);
    caller.work_off(&["ana", "ben"]).await;
    caller.hand_back("J-1", &[]).await.unwrap();
}

#[tokio::test]
async fn a_manager_excepts_only_what_can_be_excepted() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &BOTH)).await;
    caller.work_off(&["ben"]).await;
    let radar = caller.pull("ana").await.unwrap();
    let before = world(&caller).await;

    // Wet adhesive and a task in hand are nobody's to except; nor is what does not stand.
    let open = ["task:front-camera", "task:road-drive", "task:post-scan"];
    for key in ["adhesive", "task:front-radar", "task:glass"] {
        let except = [open[0], key];
        let answer = caller.hand_back("J-1", &except).await;
        let refusal = refused(answer, Code::InvalidArgument, "INVALID_FIELDS");
        assert_eq!(refusal.fields, ["exceptions[1].reason_key"], "{key}");
    }
    // Everything else excepted, these two still stand.
    let answer = caller.hand_back("J-1", &open).await;
    let refusal = refused(answer, Code::FailedPrecondition, "HAND_BACK_REFUSED");
    assert_eq!(refusal.metadata.len(), 2, "{refusal:?}");
    assert_eq!(world(&caller).await, before);

    let radar = caller.begin(&radar).await.unwrap();
    caller.finish(&radar).await.unwrap();
    let service = service.restart_at(at(120)).await;
    let job = service.caller().hand_back("J-1", &open).await.unwrap();
    assert_eq!(job.state(), v1::JobState::HandedBack);
    let named: Vec<_> = job
        .hand_back_exceptions
        .iter()
        .map(|one| (one.reason_key.as_str(), one.manager.as_str(), one.recorded_time.is_some()))
        .collect();
    assert_eq!(named, open.map(|key| (key, "Noa (invented)", true)));
}

#[tokio::test]
async fn steps_that_the_states_do_not_draw_are_refused() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.submit(estimate("J-1", &["bumper-removed"])).await.unwrap();
    let (shop_id, job_id) = (SHOP.to_owned(), "J-1".to_owned());
    let (request_id, actor) = (new_request_id(), "Mia".to_owned());
    let moved = v1::MoveVehicleRequest {
        shop_id: shop_id.clone(),
        job_id: job_id.clone(),
        spot_id: "yard".to_owned(),
        request_id: request_id.clone(),
        actor: actor.clone(),
        ..v1::MoveVehicleRequest::default()
    };
    let refusal = check_refused(&caller, moved, ILLEGAL, &[]).await;
    assert_eq!(refusal.metadata["state"], "expected");
    let redo = v1::RedoTaskRequest {
        shop_id: shop_id.clone(),
        job_id: job_id.clone(),
        task_id: "front-radar".to_owned(),
        reason: "try".to_owned(),
        request_id: request_id.clone(),
        actor: actor.clone(),
        ..v1::RedoTaskRequest::default()
    };
    check_refused(&caller, redo, ILLEGAL, &[]).await;
    caller.accept_all("J-1").await.unwrap();
    let accepted = v1::DecideTasksRequest {
        shop_id: shop_id.clone(),
        job_id: job_id.clone(),
        accept_task_ids: vec!["front-radar".to_owned()],
        request_id: request_id.clone(),
        actor: actor.clone(),
        ..v1::DecideTasksRequest::default()
    };
    check_refused(&caller, accepted, ILLEGAL, &[]).await;
    caller.arrive("J-1").await.unwrap();
    let arrival = v1::RecordArrivalRequest {
        shop_id,
        job_id,
        spot_id: "yard".to_owned(),
        request_id,
        actor,
        ..v1::RecordArrivalRequest::default()
    };
    check_refused(&caller, arrival, ILLEGAL, &[]).await;
}
