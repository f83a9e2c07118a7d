//! Faulty fields: each refusal names the path of every fault, and nothing is written.

use super::refused_requests::{World, world};
use baywright_api::v1;
use baywright_tests::system::{
    Request, SHOP, TestService, at, definition, estimate, new_request_id, refused, survey, time,
};
use rstest::rstest;
use tonic::Code;

/// Sends a request that must be refused for these fields and leave everything as it is.
async fn check_fields<R: Request>(service: &TestService, request: R, fields: &[&str]) {
    let caller = service.caller();
    let before: World = world(&caller).await;
    let refusal = refused(caller.send(request).await, Code::InvalidArgument, "INVALID_FIELDS");
    assert_eq!(refusal.fields, fields);
    assert_eq!(world(&caller).await, before);
}

async fn with_a_job() -> TestService {
    let service = TestService::start().await;
    service.caller().set_up(definition()).await;
    service.caller().bring_in(estimate("J-1", &["bumper-removed", "unheard-of"])).await;
    service
}

fn mia() -> String {
    "Mia".to_owned()
}

#[rstest]
#[case::unknown_time_zone(|all: &mut v1::ShopDefinition| all.shop.as_mut().unwrap().time_zone = "Europe/Nowhere".to_owned(), &["definition.shop.time_zone"])]
#[case::outline_that_crosses_itself(|all: &mut v1::ShopDefinition| all.bays[0].outline.swap(1, 2), &["definition.bays[0].outline"])]
#[case::not_a_number(|all: &mut v1::ShopDefinition| all.bays[1].ceiling_mm = f64::NAN, &["definition.bays[1].ceiling_mm"])]
#[case::infinite_corner(|all: &mut v1::ShopDefinition| all.bays[0].outline[2].x_mm = f64::INFINITY, &["definition.bays[0].outline[2].x_mm"])]
#[case::order_in_a_circle(|all: &mut v1::ShopDefinition| {
    let scan = v1::TaskSelector { select: Some(v1::task_selector::Select::TaskId("post-scan".to_owned())) };
    all.call_rules[0].calls[0].after.push(v1::TaskAfter { before: Some(scan), gap_minutes: 0 });
}, &["definition.call_rules"])]
#[case::unknown_procedure_of_a_rule(|all: &mut v1::ShopDefinition| all.call_rules[3].calls[0].procedure_id = "none".to_owned(), &["definition.call_rules[3].calls[0].procedure_id"])]
#[case::bay_named_twice(|all: &mut v1::ShopDefinition| all.bays[1].bay_id = "bay-1".to_owned(), &["definition.bays[1].bay_id"])]
#[case::two_faults_at_once(|all: &mut v1::ShopDefinition| {
    all.shop.as_mut().unwrap().time_zone = String::new();
    all.bays[0].ceiling_mm = -1.0;
}, &["definition.shop.time_zone", "definition.bays[0].ceiling_mm"])]
#[tokio::test]
async fn a_definition_is_refused_whole(
    #[case] spoil: fn(&mut v1::ShopDefinition),
    #[case] fields: &[&str],
) {
    let service = with_a_job().await;
    let mut all = definition();
    // Something that would be written if a part of it were taken.
    all.shop.as_mut().unwrap().title = "Another title".to_owned();
    spoil(&mut all);
    let request = v1::ApplyShopRequest {
        definition: Some(all),
        validate_only: false,
        request_id: new_request_id(),
        actor: mia(),
    };
    check_fields(&service, request, fields).await;
}

#[rstest]
#[case::point_outside_of_the_bay(|one: &mut v1::Survey| one.heights[3].x_mm = 90_000.0, &["survey.heights[3]"])]
#[case::reading_outside_of_the_bay(|one: &mut v1::Survey| one.light[4].y_mm = -1.0, &["survey.light[4]"])]
#[case::not_a_number(|one: &mut v1::Survey| one.heights[0].height_mm = f64::NAN, &["survey.heights[0].height_mm"])]
#[case::no_points(|one: &mut v1::Survey| { one.heights.clear(); one.light.clear(); }, &["survey.heights"])]
#[case::name_of_another_survey(|one: &mut v1::Survey| one.survey_id = "may".to_owned(), &["survey.survey_id"])]
#[case::no_uncertainty(|one: &mut v1::Survey| one.height_uncertainty_mm = 0.0, &["survey.height_uncertainty_mm"])]
#[tokio::test]
async fn a_survey_is_refused_whole(#[case] spoil: fn(&mut v1::Survey), #[case] fields: &[&str]) {
    let service = with_a_job().await;
    let mut one = survey(&definition().bays[0]);
    one.survey_id = "june".to_owned();
    spoil(&mut one);
    let request = v1::RecordSurveyRequest {
        shop_id: SHOP.to_owned(),
        survey: Some(one),
        request_id: new_request_id(),
        actor: mia(),
    };
    check_fields(&service, request, fields).await;
}

#[rstest]
#[case::promise_before_arrival(|request: &mut v1::SubmitEstimateRequest| request.estimate.as_mut().unwrap().promise_time = Some(time(at(-1))), &["estimate.promise_time"])]
#[case::promise_at_arrival(|request: &mut v1::SubmitEstimateRequest| request.estimate.as_mut().unwrap().promise_time = Some(time(at(0))), &["estimate.promise_time"])]
#[case::unknown_vehicle_class(|request: &mut v1::SubmitEstimateRequest| request.estimate.as_mut().unwrap().vehicle.as_mut().unwrap().vehicle_class_id = "tram".to_owned(), &["estimate.vehicle.vehicle_class_id"])]
#[case::no_lines(|request: &mut v1::SubmitEstimateRequest| request.estimate.as_mut().unwrap().lines.clear(), &["estimate.lines"])]
#[case::revision_taken_before(|request: &mut v1::SubmitEstimateRequest| request.estimate.as_mut().unwrap().job_id = "J-1".to_owned(), &["estimate.revision"])]
#[case::nobody_sends_it(|request: &mut v1::SubmitEstimateRequest| request.actor = String::new(), &["actor"])]
#[case::no_request_id(|request: &mut v1::SubmitEstimateRequest| request.request_id = String::new(), &["request_id"])]
#[case::no_uuid(|request: &mut v1::SubmitEstimateRequest| request.request_id = "again".to_owned(), &["request_id"])]
#[case::no_estimate(|request: &mut v1::SubmitEstimateRequest| request.estimate = None, &["estimate"])]
#[tokio::test]
async fn an_estimate_is_refused_whole(
    #[case] spoil: fn(&mut v1::SubmitEstimateRequest),
    #[case] fields: &[&str],
) {
    let service = with_a_job().await;
    let mut request = v1::SubmitEstimateRequest {
        shop_id: SHOP.to_owned(),
        estimate: Some(estimate("J-2", &["bumper-removed"])),
        request_id: new_request_id(),
        actor: mia(),
        ..v1::SubmitEstimateRequest::default()
    };
    spoil(&mut request);
    check_fields(&service, request, fields).await;
}

#[rstest]
#[case::negative_size(-1, "", &["page_size"])]
#[case::token_that_is_none(0, "the second page", &["page_token"])]
#[case::token_cut_short(0, "17", &["page_token"])]
#[tokio::test]
async fn pages_are_asked_for_properly(
    #[case] page_size: i32,
    #[case] page_token: &str,
    #[case] fields: &[&str],
) {
    let service = with_a_job().await;
    let request = v1::ListJobsRequest {
        shop_id: SHOP.to_owned(),
        states: Vec::new(),
        page_size,
        page_token: page_token.to_owned(),
    };
    check_fields(&service, request, fields).await;
}

#[rstest]
#[case::negative_size(-1, "", &["page_size"])]
#[case::token_that_is_none(0, "the second page", &["page_token"])]
#[tokio::test]
async fn pages_of_records_and_fits_are_asked_for_properly(
    #[case] page_size: i32,
    #[case] page_token: &str,
    #[case] fields: &[&str],
) {
    let service = with_a_job().await;
    let records = v1::ListConditionsRecordsRequest {
        shop_id: SHOP.to_owned(),
        job_id: "J-1".to_owned(),
        page_size,
        page_token: page_token.to_owned(),
        ..v1::ListConditionsRecordsRequest::default()
    };
    check_fields(&service, records, fields).await;
    let fits = v1::ListFitsRequest {
        shop_id: SHOP.to_owned(),
        page_size,
        page_token: page_token.to_owned(),
        ..v1::ListFitsRequest::default()
    };
    check_fields(&service, fits, fields).await;
}

#[tokio::test]
async fn single_steps_name_their_faulty_fields() {
    let service = with_a_job().await;
    let (shop_id, job_id) = (SHOP.to_owned(), "J-1".to_owned());
    let (request_id, actor) = (new_request_id(), mia());
    let arrival = v1::MoveVehicleRequest {
        shop_id: shop_id.clone(),
        job_id: job_id.clone(),
        spot_id: "moon".to_owned(),
        request_id: request_id.clone(),
        actor: actor.clone(),
        ..v1::MoveVehicleRequest::default()
    };
    check_fields(&service, arrival, &["spot_id"]).await;
    let decide = v1::DecideOperationRequest {
        shop_id: shop_id.clone(),
        job_id: job_id.clone(),
        operation_id: "2".to_owned(),
        procedure_ids: vec!["radar".to_owned(), "none".to_owned()],
        reason: "asked the maker".to_owned(),
        request_id: request_id.clone(),
        actor: actor.clone(),
        etag: String::new(),
    };
    check_fields(&service, decide.clone(), &["procedure_ids[1]"]).await;
    let no_reason = v1::DecideOperationRequest { reason: " ".to_owned(), ..decide };
    check_fields(&service, no_reason, &["reason"]).await;
    let sign_off = v1::SignOffPrerequisiteRequest {
        shop_id: shop_id.clone(),
        job_id: job_id.clone(),
        prerequisite_id: "authorised".to_owned(),
        evidence: String::new(),
        until_time: Some(time(at(-1))),
        request_id: request_id.clone(),
        actor: actor.clone(),
        etag: String::new(),
    };
    check_fields(&service, sign_off, &["evidence", "until_time"]).await;
    let plan = v1::MakePlanRequest {
        shop_id,
        days: 15,
        epochs: 1_001,
        request_id: "x".to_owned(),
        actor: String::new(),
        ..v1::MakePlanRequest::default()
    };
    check_fields(&service, plan.clone(), &["request_id", "actor"]).await;
    let plan = v1::MakePlanRequest { request_id, actor, ..plan };
    check_fields(&service, plan, &["days", "epochs"]).await;
}
