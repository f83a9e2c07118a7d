//! Requests that name what is not there, that were sent before, or that rest on an old reading.

use baywright_api::v1;
use baywright_tests::system::{
    Caller, Request, SHOP, TestService, definition, estimate, new_request_id, refused, survey,
};
use prost::Message as _;
use tonic::Code;

/// Everything that a refused request must leave as it is.
#[derive(Debug, PartialEq)]
pub(super) struct World {
    shop: v1::GetShopResponse,
    surveys: Vec<v1::GetSurveyResponse>,
    jobs: Vec<v1::Job>,
    holdings: Vec<v1::Holding>,
    records: Vec<v1::ConditionsRecord>,
    plan: Option<v1::GetPlanResponse>,
}

/// Everything as it is now; jobs with their etags.
pub(super) async fn world(caller: &Caller) -> World {
    let shop = v1::GetShopRequest { shop_id: SHOP.to_owned() };
    let shop = caller.send(shop).await.unwrap();
    let mut surveys = Vec::new();
    for bay in &shop.definition.as_ref().unwrap().bays {
        let bay_id = bay.bay_id.clone();
        let survey = v1::GetSurveyRequest { shop_id: SHOP.to_owned(), bay_id };
        surveys.extend(caller.send(survey).await);
    }
    let jobs = caller.jobs().await;
    let mut records = Vec::new();
    for job in &jobs {
        records.extend(caller.records(&job.job_id).await);
    }
    let plan = v1::GetPlanRequest { shop_id: SHOP.to_owned(), revision: 0, with_files: false };
    let plan = caller.send(plan).await.ok();
    World { shop, surveys, jobs, holdings: caller.holdings().await, records, plan }
}

/// Sends a request that must be refused because `kind` `id` is not there, and leave everything.
async fn check_not_found<R: Request>(caller: &Caller, request: R, kind: &str, id: &str) {
    let before = world(caller).await;
    let refusal = refused(caller.send(request).await, Code::NotFound, "NOT_FOUND");
    let said = (refusal.metadata["kind"].as_str(), refusal.metadata["id"].as_str());
    assert_eq!(said, (kind, id));
    assert_eq!(world(caller).await, before);
}

#[tokio::test]
async fn names_of_nothing_are_not_found() {
    let service = TestService::start().await;
    let caller = &service.caller();
    caller.set_up(definition()).await;
    let (shop_id, none) = (SHOP.to_owned(), "none".to_owned());
    let (request_id, actor) = (new_request_id(), "Mia".to_owned());
    let elsewhere = v1::PullTaskRequest {
        shop_id: none.clone(),
        technician_id: "ana".to_owned(),
        request_id: request_id.clone(),
    };
    check_not_found(caller, elsewhere, "shop", "none").await;
    let get = v1::GetJobRequest { shop_id: shop_id.clone(), job_id: none.clone() };
    check_not_found(caller, get, "job", "none").await;
    let check = v1::CheckHandBackRequest { shop_id: shop_id.clone(), job_id: none.clone() };
    check_not_found(caller, check, "job", "none").await;
    let arrival = v1::RecordArrivalRequest {
        shop_id: shop_id.clone(),
        job_id: none.clone(),
        request_id: request_id.clone(),
        actor: actor.clone(),
        ..v1::RecordArrivalRequest::default()
    };
    check_not_found(caller, arrival, "job", "none").await;
    let plan = v1::GetPlanRequest { shop_id: shop_id.clone(), revision: 7, with_files: false };
    check_not_found(caller, plan, "plan revision", "7").await;
    let mut of_no_bay = survey(&definition().bays[0]);
    of_no_bay.bay_id.clone_from(&none);
    let of_no_bay = v1::RecordSurveyRequest {
        shop_id: shop_id.clone(),
        survey: Some(of_no_bay),
        request_id: request_id.clone(),
        actor: actor.clone(),
    };
    check_not_found(caller, of_no_bay, "bay", "none").await;
    let pull = v1::PullTaskRequest {
        shop_id: shop_id.clone(),
        technician_id: none.clone(),
        request_id: request_id.clone(),
    };
    check_not_found(caller, pull, "technician", "none").await;
}

#[tokio::test]
async fn names_of_nothing_within_a_job_are_not_found() {
    let service = TestService::start().await;
    let caller = &service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &["bumper-removed"])).await;
    let (shop_id, none, job_id) = (SHOP.to_owned(), "none".to_owned(), "J-1".to_owned());
    let (request_id, actor) = (new_request_id(), "Mia".to_owned());
    let decide = v1::DecideTasksRequest {
        shop_id: shop_id.clone(),
        job_id: job_id.clone(),
        accept_task_ids: vec![none.clone()],
        request_id: request_id.clone(),
        actor: actor.clone(),
        ..v1::DecideTasksRequest::default()
    };
    check_not_found(caller, decide, "task", "none").await;
    let operation = v1::DecideOperationRequest {
        shop_id: shop_id.clone(),
        job_id: job_id.clone(),
        operation_id: none.clone(),
        reason: "asked".to_owned(),
        request_id: request_id.clone(),
        actor: actor.clone(),
        ..v1::DecideOperationRequest::default()
    };
    check_not_found(caller, operation, "operation", "none").await;
    let sign_off = v1::SignOffPrerequisiteRequest {
        shop_id: shop_id.clone(),
        job_id: job_id.clone(),
        prerequisite_id: none.clone(),
        evidence: "seen".to_owned(),
        request_id: request_id.clone(),
        actor,
        ..v1::SignOffPrerequisiteRequest::default()
    };
    check_not_found(caller, sign_off, "prerequisite", "none").await;
    let holding =
        v1::HoldingKey { job_id, task_id: none, technician_id: "ana".to_owned(), fence: 1 };
    let put_back = v1::PutBackTaskRequest {
        shop_id,
        holding: Some(holding),
        note: "no".to_owned(),
        request_id,
    };
    check_not_found(caller, put_back, "task", "J-1/none").await;
}

#[tokio::test]
async fn a_repeat_gets_the_same_answer_and_another_body_is_refused() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    let request = v1::SubmitEstimateRequest {
        shop_id: SHOP.to_owned(),
        estimate: Some(estimate("J-1", &["bumper-removed"])),
        request_id: new_request_id(),
        actor: "Mia".to_owned(),
        ..v1::SubmitEstimateRequest::default()
    };
    let first = caller.send(request.clone()).await.unwrap();
    // The answer is the stored one, though the job has changed since.
    caller.accept_all("J-1").await.unwrap();
    let before = world(&caller).await;

    let again = caller.send(request.clone()).await.unwrap();
    assert_eq!(again.encode_to_vec(), first.encode_to_vec());
    assert_eq!(world(&caller).await, before);

    let other = v1::SubmitEstimateRequest {
        estimate: Some(estimate("J-2", &["bumper-removed"])),
        ..request.clone()
    };
    let refusal = refused(caller.send(other).await, Code::InvalidArgument, "REQUEST_ID_REUSED");
    assert_eq!(refusal.metadata["request_id"], request.request_id);
    assert_eq!(world(&caller).await, before);
}

#[tokio::test]
async fn a_pull_that_is_repeated_gives_the_same_holding_and_no_second_one() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &["bumper-removed"])).await;
    let request = v1::PullTaskRequest {
        shop_id: SHOP.to_owned(),
        technician_id: "ana".to_owned(),
        request_id: new_request_id(),
    };
    // All at once and then again later: one holding.
    let (one, two, three) = tokio::join!(
        caller.send(request.clone()),
        caller.send(request.clone()),
        caller.send(request.clone())
    );
    let (one, two, three) = (one.unwrap(), two.unwrap(), three.unwrap());
    assert_eq!(one.encode_to_vec(), two.encode_to_vec());
    assert_eq!(one.encode_to_vec(), three.encode_to_vec());
    let running = caller.begin(one.holding.as_ref().unwrap()).await.unwrap();
    caller.finish(&running).await.unwrap();
    let later = caller.send(request).await.unwrap();
    assert_eq!(later.encode_to_vec(), one.encode_to_vec());
    assert_eq!(caller.holdings().await, []);
    assert_eq!(caller.records("J-1").await.len(), 1);
}

#[tokio::test]
async fn a_change_that_rests_on_an_old_reading_is_refused() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    let read = caller.submit(estimate("J-1", &["bumper-removed"])).await.unwrap();
    caller.accept_all("J-1").await.unwrap();
    let before = world(&caller).await;
    let arrival = v1::RecordArrivalRequest {
        shop_id: SHOP.to_owned(),
        job_id: "J-1".to_owned(),
        spot_id: "yard".to_owned(),
        request_id: new_request_id(),
        actor: "Mia".to_owned(),
        etag: read.etag,
        ..v1::RecordArrivalRequest::default()
    };

    let refusal = refused(caller.send(arrival.clone()).await, Code::Aborted, "ETAG_MISMATCH");

    assert_eq!(
        (refusal.metadata["kind"].as_str(), refusal.metadata["id"].as_str()),
        ("job", "J-1")
    );
    assert_eq!(refusal.metadata["etag"], before.jobs[0].etag);
    assert_eq!(world(&caller).await, before);
    // Read again, it goes through, with the request id of the refused try.
    let etag = before.jobs[0].etag.clone();
    caller.send(v1::RecordArrivalRequest { etag, ..arrival }).await.unwrap();
}

#[tokio::test]
async fn a_trial_of_a_definition_says_what_would_change_and_changes_nothing() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    let before = world(&caller).await;
    let mut changed = definition();
    changed.bays[0].ceiling_mm = 5_000.0;
    changed.bays.pop();
    let request = v1::ApplyShopRequest {
        definition: Some(changed),
        validate_only: true,
        request_id: String::new(),
        actor: String::new(),
    };

    let answer = caller.send(request.clone()).await.unwrap();

    let changes: Vec<_> = answer
        .changes
        .iter()
        .map(|one| (one.kind.as_str(), one.id.as_str(), one.change()))
        .collect();
    let expected =
        [("bay", "bay-1", v1::ChangeKind::Replaced), ("bay", "bay-2", v1::ChangeKind::Retired)];
    assert_eq!(changes, expected);
    assert_eq!(world(&caller).await, before);
    let nobody = v1::ApplyShopRequest { validate_only: false, ..request };
    let refusal = refused(caller.send(nobody).await, Code::InvalidArgument, "INVALID_FIELDS");
    assert_eq!(refusal.fields, ["request_id", "actor"]);
}
