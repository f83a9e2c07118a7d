//! Offers: made, held, accepted, declined, lapsed and refused, and what was turned away.
#![cfg(test)]

use super::shop::{SHOP, TestShop, minutes_on, morning, request_id};
use crate::{
    app::App,
    clock::Clock,
    error::ServiceError,
    use_cases::{audit, estimates, jobs, offers, turned_away},
};
use baywright_api::v1::{self, ErrorReason, OfferState, TaskState};
use chrono::TimeDelta;
use prost::Message as _;
use rstest::rstest;

/// A scan of 15 minutes by the one who scans.
const SCAN: &[&str] = &["codes-read"];
const NOT_KNOWN: &[&str] = &["seats-heated"];

/// A vehicle that is expected 30 minutes after the morning's begin.
fn visit(job: &str, codes: &[&str], promise_minutes: i64) -> v1::Estimate {
    let line = |code: &&str| v1::EstimateLine {
        operation_id: format!("line-{code}"),
        operation_code: (*code).to_owned(),
        text: String::new(),
    };
    v1::Estimate {
        job_id: job.to_owned(),
        revision: 1,
        account_id: "account-1".to_owned(),
        repair_order: "RO-1".to_owned(),
        vehicle: Some(v1::Vehicle {
            vin: String::new(),
            vehicle_class_id: "compact".to_owned(),
            sensors: Vec::new(),
        }),
        expected_arrival_time: Some(minutes_on(30)),
        arrival: v1::ArrivalKind::Waiting.into(),
        promise_time: Some(minutes_on(promise_minutes)),
        lines: codes.iter().map(line).collect(),
        weight: 1,
    }
}

fn make_request(estimate: v1::Estimate) -> v1::MakeOfferRequest {
    v1::MakeOfferRequest {
        shop_id: SHOP.to_owned(),
        estimate: Some(estimate),
        hold_minutes: 20,
        days: 1,
        request_id: request_id(),
        actor: "desk".to_owned(),
    }
}

fn accept_request(offer_id: &str) -> v1::AcceptOfferRequest {
    v1::AcceptOfferRequest {
        shop_id: SHOP.to_owned(),
        offer_id: offer_id.to_owned(),
        request_id: request_id(),
        actor: "desk".to_owned(),
    }
}

fn decline_request(offer_id: &str) -> v1::DeclineOfferRequest {
    v1::DeclineOfferRequest {
        shop_id: SHOP.to_owned(),
        offer_id: offer_id.to_owned(),
        reason: "too late for the customer".to_owned(),
        request_id: request_id(),
        actor: "desk".to_owned(),
    }
}

async fn made(app: &App, job: &str, codes: &[&str]) -> v1::Offer {
    let request = make_request(visit(job, codes, 400));
    offers::make_offer(app, request).await.unwrap().offer.unwrap()
}

async fn log(app: &App) -> Vec<v1::TurnedAway> {
    let request = v1::ListTurnedAwayRequest { shop_id: SHOP.to_owned(), ..Default::default() };
    turned_away::list_turned_away(app, request).await.unwrap().turned_away
}

async fn submit(app: &App, estimate: v1::Estimate) {
    let request = v1::SubmitEstimateRequest {
        shop_id: SHOP.to_owned(),
        estimate: Some(estimate),
        request_id: request_id(),
        actor: "desk".to_owned(),
        ..v1::SubmitEstimateRequest::default()
    };
    estimates::submit_estimate(app, request).await.unwrap();
}

fn check<T: std::fmt::Debug>(answer: Result<T, ServiceError>, reason: ErrorReason) {
    let refused = answer.unwrap_err();
    assert_eq!(refused.reason(), reason, "{refused}");
}

/// The same shop so many minutes later.
fn later(shop: &TestShop, minutes: i64) -> App {
    let clock = Clock::beginning_at(morning() + TimeDelta::minutes(minutes));
    App { clock, ..shop.app.clone() }
}

/// The scan ends at 45 minutes; ten of a move make 55, rounded up to a quarter 60.
#[tokio::test]
async fn an_accepted_offer_is_taken_with_the_promise_offered_and_proposes_its_tasks() {
    let shop = TestShop::open().await;
    let offer = made(&shop.app, "W-1", SCAN).await;
    assert_eq!((offer.state(), offer.offer_id.as_str()), (OfferState::Held, "O-1"));
    assert_eq!(offer.promise_time, Some(minutes_on(60)));
    assert_eq!(offer.needs[0].task_id, "pre-scan");
    assert!(!offer.assumptions.is_empty() && !offer.caution.is_empty());
    assert_eq!(offer.estimate.unwrap().promise_time, Some(minutes_on(400)), "as it was sent");

    let reply = offers::accept_offer(&shop.app, accept_request("O-1")).await.unwrap();

    assert_eq!(reply.offer.unwrap().state(), OfferState::Accepted);
    let job = reply.job.unwrap();
    assert_eq!((job.job_id.as_str(), job.promise_time), ("W-1", Some(minutes_on(60))));
    assert_eq!(shop.about("W-1").task("pre-scan").await.state(), TaskState::Proposed);
    assert!(log(&shop.app).await.is_empty());
}

#[tokio::test]
async fn offers_that_are_held_or_accepted_are_planned_around() {
    let shop = TestShop::open().await;
    made(&shop.app, "W-1", SCAN).await;
    let second = made(&shop.app, "W-2", SCAN).await;
    // The second scan begins when the first ends: 60 minutes, and ten of a move.
    assert_eq!(second.promise_time, Some(minutes_on(75)));
    offers::accept_offer(&shop.app, accept_request("O-1")).await.unwrap();
    let third = made(&shop.app, "W-3", SCAN).await;
    assert_eq!(third.promise_time, Some(minutes_on(90)));
    // Where the second is declined, its time is free again.
    offers::decline_offer(&shop.app, decline_request("O-2")).await.unwrap();
    assert_eq!(made(&shop.app, "W-4", SCAN).await.offer_id, "O-4");
}

#[tokio::test]
async fn an_offer_that_can_no_longer_be_kept_is_refused_and_nothing_is_changed() {
    let shop = TestShop::open().await;
    made(&shop.app, "W-1", SCAN).await;
    submit(&shop.app, visit("A-1", SCAN, 50)).await;

    let refused = offers::accept_offer(&shop.app, accept_request("O-1")).await.unwrap_err();

    assert_eq!(refused.reason(), ErrorReason::NoPlan);
    let request = v1::GetJobRequest { shop_id: SHOP.to_owned(), job_id: "W-1".to_owned() };
    check(jobs::get_job(&shop.app, request).await, ErrorReason::NotFound);
    // It stays held, and may be declined with the reason.
    offers::decline_offer(&shop.app, decline_request("O-1")).await.unwrap();
}

#[tokio::test]
async fn a_declined_offer_stands_in_the_log_with_needs_and_reason() {
    let shop = TestShop::open().await;
    made(&shop.app, "W-1", SCAN).await;
    let reply = offers::decline_offer(&shop.app, decline_request("O-1")).await.unwrap();
    assert_eq!(reply.offer.unwrap().state(), OfferState::Declined);
    let entries = log(&shop.app).await;
    assert_eq!(entries.len(), 1);
    let entry = &entries[0];
    assert_eq!((entry.number, entry.offer_id.as_str()), (1, "O-1"));
    assert_eq!(entry.estimate.as_ref().unwrap().job_id, "W-1");
    assert_eq!(entry.needs[0].procedure_id, "pre-scan");
    assert_eq!(entry.reasons, ["too late for the customer"]);
    assert_eq!(entry.promise_time, Some(minutes_on(60)));
    assert!(entry.turned_away_time.is_some() && entry.actor == "desk");
}

#[tokio::test]
async fn an_offer_that_cannot_be_made_says_why_and_stands_in_the_log() {
    let shop = TestShop::open().await;
    let offer = made(&shop.app, "W-1", NOT_KNOWN).await;
    assert_eq!((offer.state(), offer.promise_time), (OfferState::Refused, None));
    assert!(offer.reasons[0].contains("needs a decision"), "{:?}", offer.reasons);
    let entries = log(&shop.app).await;
    assert_eq!((entries.len(), &entries[0].reasons), (1, &offer.reasons));
    check(
        offers::accept_offer(&shop.app, accept_request("O-1")).await,
        ErrorReason::IllegalTransition,
    );
}

#[derive(Debug, Clone, Copy)]
enum End {
    Accepted,
    Declined,
    Lapsed,
}

#[rstest]
#[tokio::test]
async fn an_offer_ends_once(#[values(End::Accepted, End::Declined, End::Lapsed)] end: End) {
    let shop = TestShop::open().await;
    made(&shop.app, "W-1", SCAN).await;
    let mut app = shop.app.clone();
    match end {
        End::Accepted => drop(offers::accept_offer(&app, accept_request("O-1")).await.unwrap()),
        End::Declined => drop(offers::decline_offer(&app, decline_request("O-1")).await.unwrap()),
        End::Lapsed => app = later(&shop, 21),
    }
    let refused = offers::accept_offer(&app, accept_request("O-1")).await.unwrap_err();
    assert!(refused.to_string().contains(&format!("{end:?}").to_lowercase()), "{refused}");
    check(
        offers::decline_offer(&app, decline_request("O-1")).await,
        ErrorReason::IllegalTransition,
    );
}

#[tokio::test]
async fn a_lapsed_offer_is_no_longer_planned_around() {
    let shop = TestShop::open().await;
    made(&shop.app, "W-1", SCAN).await;
    assert_eq!(made(&later(&shop, 19), "W-2", SCAN).await.promise_time, Some(minutes_on(75)));
    // The second, which is held still, keeps its 75 minutes behind the third as well.
    assert_eq!(made(&later(&shop, 21), "W-3", SCAN).await.promise_time, Some(minutes_on(60)));
    // Both are past now.
    assert_eq!(made(&later(&shop, 45), "W-4", SCAN).await.state(), OfferState::Held);
}

#[tokio::test]
async fn repeats_get_the_first_answer_and_take_effect_once() {
    let shop = TestShop::open().await;
    let app = &shop.app;
    let mut make = make_request(visit("W-1", SCAN, 400));
    let first = offers::make_offer(app, make.clone()).await.unwrap();
    let again = offers::make_offer(app, make.clone()).await.unwrap();
    assert_eq!(first.encode_to_vec(), again.encode_to_vec());
    make.hold_minutes = 21;
    check(offers::make_offer(app, make).await, ErrorReason::RequestIdReused);

    made(app, "W-2", SCAN).await;
    let mut accept = accept_request("O-1");
    let first = offers::accept_offer(app, accept.clone()).await.unwrap();
    let again = offers::accept_offer(app, accept.clone()).await.unwrap();
    assert_eq!(first.encode_to_vec(), again.encode_to_vec());
    accept.offer_id = "O-2".to_owned();
    check(offers::accept_offer(app, accept).await, ErrorReason::RequestIdReused);

    let mut decline = decline_request("O-2");
    let first = offers::decline_offer(app, decline.clone()).await.unwrap();
    let again = offers::decline_offer(app, decline.clone()).await.unwrap();
    assert_eq!(first.encode_to_vec(), again.encode_to_vec());
    decline.reason.push('!');
    check(offers::decline_offer(app, decline).await, ErrorReason::RequestIdReused);
    assert_eq!(log(app).await.len(), 1);
}

#[rstest]
#[case::held_too_long(|request: &mut v1::MakeOfferRequest| request.hold_minutes = 10_081)]
#[case::too_far_ahead(|request: &mut v1::MakeOfferRequest| request.days = 15)]
#[case::no_estimate(|request: &mut v1::MakeOfferRequest| request.estimate = None)]
#[case::no_request_id(|request: &mut v1::MakeOfferRequest| request.request_id.clear())]
#[case::nobody_asks(|request: &mut v1::MakeOfferRequest| request.actor.clear())]
#[case::a_job_that_was_taken(|request: &mut v1::MakeOfferRequest| {
    request.estimate.as_mut().unwrap().job_id = "A-1".to_owned();
})]
#[case::an_unknown_class(|request: &mut v1::MakeOfferRequest| {
    let estimate = request.estimate.as_mut().unwrap();
    estimate.vehicle.as_mut().unwrap().vehicle_class_id = "tall-van".to_owned();
})]
#[tokio::test]
async fn a_wrong_question_is_refused_and_leaves_nothing(
    #[case] spoil: fn(&mut v1::MakeOfferRequest),
) {
    let shop = TestShop::open().await;
    submit(&shop.app, visit("A-1", SCAN, 400)).await;
    let mut request = make_request(visit("W-1", SCAN, 400));
    spoil(&mut request);
    check(offers::make_offer(&shop.app, request).await, ErrorReason::InvalidFields);
    assert!(log(&shop.app).await.is_empty());
    assert_eq!(made(&shop.app, "W-2", SCAN).await.offer_id, "O-1");
}

#[tokio::test]
async fn what_is_nowhere_is_not_found() {
    let shop = TestShop::open().await;
    let app = &shop.app;
    made(app, "W-1", SCAN).await;
    for offer_id in ["O-2", "W-1", ""] {
        check(offers::accept_offer(app, accept_request(offer_id)).await, ErrorReason::NotFound);
        check(offers::decline_offer(app, decline_request(offer_id)).await, ErrorReason::NotFound);
    }
    let elsewhere = "other-shop".to_owned();
    let make = make_request(visit("W-2", SCAN, 400));
    let make = v1::MakeOfferRequest { shop_id: elsewhere.clone(), ..make };
    check(offers::make_offer(app, make).await, ErrorReason::NotFound);
    let accept = v1::AcceptOfferRequest { shop_id: elsewhere.clone(), ..accept_request("O-1") };
    check(offers::accept_offer(app, accept).await, ErrorReason::NotFound);
    let decline = v1::DeclineOfferRequest { shop_id: elsewhere.clone(), ..decline_request("O-1") };
    check(offers::decline_offer(app, decline).await, ErrorReason::NotFound);
    let list = v1::ListTurnedAwayRequest { shop_id: elsewhere, ..Default::default() };
    check(turned_away::list_turned_away(app, list).await, ErrorReason::NotFound);
}

#[tokio::test]
async fn a_decline_needs_a_reason() {
    let shop = TestShop::open().await;
    made(&shop.app, "W-1", SCAN).await;
    let request = v1::DeclineOfferRequest { reason: " ".to_owned(), ..decline_request("O-1") };
    check(offers::decline_offer(&shop.app, request).await, ErrorReason::InvalidFields);
}

#[tokio::test]
async fn the_log_comes_in_pages_and_every_step_stands_in_the_audit_trail() {
    let shop = TestShop::open().await;
    for number in 1..=3 {
        made(&shop.app, &format!("W-{number}"), NOT_KNOWN).await;
    }
    let page = async |page_token: &str| {
        let request = v1::ListTurnedAwayRequest {
            shop_id: SHOP.to_owned(),
            page_size: 2,
            page_token: page_token.to_owned(),
        };
        turned_away::list_turned_away(&shop.app, request).await
    };
    let numbers = |page: &v1::ListTurnedAwayResponse| -> Vec<u64> {
        page.turned_away.iter().map(|entry| entry.number).collect()
    };
    let first = page("").await.unwrap();
    assert_eq!(numbers(&first), [3, 2]);
    let second = page(&first.next_page_token).await.unwrap();
    assert_eq!((numbers(&second), second.next_page_token.as_str()), (vec![1], ""));
    check(page("x").await, ErrorReason::InvalidFields);
    for kind in ["offer", "turned-away"] {
        let request = v1::ListAuditEntriesRequest {
            shop_id: SHOP.to_owned(),
            kind: kind.to_owned(),
            ..v1::ListAuditEntriesRequest::default()
        };
        let entries = audit::list_entries(&shop.app, request).await.unwrap().entries;
        assert_eq!(entries.len(), 3, "{kind}");
        assert!(entries.iter().all(|entry| entry.method == "MakeOffer"));
    }
}
