//! The process: health and reflection, stopping without losing what was accepted, one process only.

use baywright_api::v1;
use baywright_tests::system::{BOTH, SHOP, TestService, at, definition, estimate, new_request_id};
use std::collections::BTreeSet;
use tonic_health::pb::{HealthCheckRequest, health_client::HealthClient};
use tonic_reflection::pb::v1::{
    ServerReflectionRequest, server_reflection_client::ServerReflectionClient,
    server_reflection_request::MessageRequest, server_reflection_response::MessageResponse,
};

const SERVICES: [&str; 7] = [
    "baywright.v1.FitService",
    "baywright.v1.HandBackService",
    "baywright.v1.JobService",
    "baywright.v1.PlanService",
    "baywright.v1.ShopService",
    "baywright.v1.SurveyService",
    "baywright.v1.WorkService",
];

#[tokio::test]
async fn a_service_that_is_told_to_stop_answers_what_it_has_accepted() {
    let mut service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    for index in 0..6 {
        caller.bring_in(estimate(&format!("J-{index}"), &BOTH)).await;
    }
    let request = v1::MakePlanRequest {
        shop_id: SHOP.to_owned(),
        days: 2,
        seed: 1,
        epochs: 60,
        request_id: new_request_id(),
        actor: "Mia".to_owned(),
    };
    let asking = (caller.clone(), request.clone());
    let planning = tokio::spawn(async move { asking.0.send(asking.1).await });
    tokio::task::yield_now().await;
    // Calls of one connection are taken in the order sent: once this one is answered, the plan is
    // being made.
    caller.jobs().await;
    assert!(!planning.is_finished(), "the plan must take longer than a list of jobs");

    service.terminate();

    let answer = planning.await.unwrap().unwrap();
    assert!(service.ended().await.success());
    let again = service.kill_and_start_at(at(1)).await;
    assert_eq!(again.caller().send(request).await.unwrap(), answer);
    assert_eq!(Some(again.caller().newest_plan().await), answer.plan);
}

#[tokio::test]
async fn health_is_served_for_the_whole_and_reflection_lists_every_service() {
    let service = TestService::start().await;
    let mut health = HealthClient::new(service.channel());
    let answer = health.check(HealthCheckRequest::default()).await.unwrap().into_inner();
    assert_eq!(answer.status, 1, "serving");

    let request = ServerReflectionRequest {
        host: String::new(),
        message_request: Some(MessageRequest::ListServices(String::new())),
    };
    let mut client = ServerReflectionClient::new(service.channel());
    let answers = client.server_reflection_info(tokio_stream::once(request)).await.unwrap();
    let answer = answers.into_inner().message().await.unwrap().unwrap().message_response.unwrap();
    let MessageResponse::ListServicesResponse(list) = answer else { panic!("{answer:?}") };
    let listed: BTreeSet<_> = list.service.iter().map(|service| service.name.as_str()).collect();
    assert!(SERVICES.iter().all(|name| listed.contains(name)), "{listed:?}");
    assert!(listed.contains("grpc.health.v1.Health"), "{listed:?}");
}

#[tokio::test]
async fn a_second_process_on_the_same_database_is_refused_with_a_sentence() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;

    let second = service.second_process();

    assert_eq!((second.status.code(), second.stdout.as_slice()), (Some(1), &[][..]));
    let said = String::from_utf8(second.stderr).unwrap();
    assert!(said.contains("another process serves the database"), "{said}");
    assert!(said.contains("stop it first, or choose another file"), "{said}");
    // The first one goes on as before.
    caller.bring_in(estimate("J-1", &BOTH)).await;
    assert_eq!(caller.jobs().await.len(), 1);
}
