//! Offers over the wire: made, read, planned around, accepted, declined, lapsed.

use baywright_api::v1::{self, OfferState};
use baywright_tests::system::{
    Caller, SHOP, TestService, at, definition, estimate, new_request_id, refused, time,
};
use std::collections::{BTreeMap, BTreeSet};
use tonic::Code;

fn actor() -> String {
    "Mia (invented)".to_owned()
}

/// An offer for a vehicle that comes in an hour, held for half an hour.
async fn made(caller: &Caller, job_id: &str) -> v1::Offer {
    let mut estimate = estimate(job_id, &["bumper-removed"]);
    estimate.expected_arrival_time = Some(time(at(120)));
    let request = v1::MakeOfferRequest {
        shop_id: SHOP.to_owned(),
        estimate: Some(estimate),
        hold_minutes: 30,
        days: 1,
        request_id: new_request_id(),
        actor: actor(),
    };
    let offer = caller.send(request).await.unwrap().offer.unwrap();
    assert_eq!(offer.state(), OfferState::Held, "{offer:?}");
    offer
}

async fn accept(caller: &Caller, offer_id: &str) -> Result<v1::AcceptOfferResponse, tonic::Status> {
    let request = v1::AcceptOfferRequest {
        shop_id: SHOP.to_owned(),
        offer_id: offer_id.to_owned(),
        request_id: new_request_id(),
        actor: actor(),
    };
    caller.send(request).await
}

async fn decline(
    caller: &Caller,
    offer_id: &str,
) -> Result<v1::DeclineOfferResponse, tonic::Status> {
    let request = v1::DeclineOfferRequest {
        shop_id: SHOP.to_owned(),
        offer_id: offer_id.to_owned(),
        reason: "too late for them".to_owned(),
        request_id: new_request_id(),
        actor: actor(),
    };
    caller.send(request).await
}

async fn read(caller: &Caller, offer_id: &str) -> v1::Offer {
    let request = v1::GetOfferRequest { shop_id: SHOP.to_owned(), offer_id: offer_id.to_owned() };
    caller.send(request).await.unwrap().offer.unwrap()
}

/// Names of the offers in these states, page by page of one.
async fn listed(caller: &Caller, states: &[OfferState]) -> Vec<String> {
    let mut request = v1::ListOffersRequest {
        shop_id: SHOP.to_owned(),
        states: states.iter().map(|state| (*state).into()).collect(),
        page_size: 1,
        page_token: String::new(),
    };
    let mut names = Vec::new();
    loop {
        let page = caller.send(request.clone()).await.unwrap();
        assert!(page.offers.len() <= 1);
        names.extend(page.offers.into_iter().map(|offer| offer.offer_id));
        if page.next_page_token.is_empty() {
            return names;
        }
        request.page_token = page.next_page_token;
    }
}

async fn turned_away(caller: &Caller) -> Vec<v1::TurnedAway> {
    let shop_id = SHOP.to_owned();
    let request = v1::ListTurnedAwayRequest { shop_id, ..v1::ListTurnedAwayRequest::default() };
    caller.send(request).await.unwrap().turned_away
}

fn jobs(assignments: &[v1::Assignment]) -> BTreeSet<&str> {
    assignments.iter().map(|one| one.job_id.as_str()).collect()
}

#[tokio::test]
async fn an_offer_keeps_its_time_in_the_plan_until_it_is_accepted() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &["bumper-removed"])).await;

    let offer = made(&caller, "W-1").await;

    assert_eq!(read(&caller, &offer.offer_id).await, offer);
    assert_eq!(listed(&caller, &[]).await, ["O-1"]);
    let plan = caller.plan().await.unwrap();
    assert_eq!(jobs(&plan.assignments), BTreeSet::from(["J-1"]));
    assert_eq!(jobs(&plan.reserved), BTreeSet::from(["W-1"]));
    assert_eq!(plan.reserved.len(), offer.needs.len());
    let promised = offer.promise_time.map(|time| time.seconds);
    let ends = plan.reserved.iter().filter_map(|one| one.end_time);
    assert!(ends.map(|time| time.seconds).max() <= promised, "{:?}", plan.reserved);
    // Nobody pulls what is only offered.
    assert_eq!(caller.pull("ana").await.unwrap().job_id, "J-1");

    let accepted = accept(&caller, "O-1").await.unwrap();

    let job = accepted.job.unwrap();
    assert_eq!((job.job_id.as_str(), job.promise_time), ("W-1", offer.promise_time));
    assert_eq!(read(&caller, "O-1").await.state(), OfferState::Accepted);
    assert_eq!(listed(&caller, &[]).await, [""; 0]);
    assert_eq!(listed(&caller, &[OfferState::Held, OfferState::Accepted]).await, ["O-1"]);
    let again = accept(&caller, "O-1").await;
    refused(again, Code::FailedPrecondition, "ILLEGAL_TRANSITION");
    caller.accept_all("W-1").await.unwrap();
    let plan = caller.plan().await.unwrap();
    assert_eq!(plan.reserved, []);
    assert_eq!(turned_away(&caller).await, []);
}

/// Until when each bay is free for the radar, by bay.
async fn free_bays(caller: &Caller) -> BTreeMap<String, i64> {
    let request = v1::ListFreeBaysRequest {
        shop_id: SHOP.to_owned(),
        procedure_id: "radar".to_owned(),
        vehicle_class_id: "saloon".to_owned(),
    };
    let bays = caller.send(request).await.unwrap().bays;
    let until =
        bays.into_iter().map(|free| (free.place.unwrap().bay_id, free.until_time.unwrap().seconds));
    until.collect()
}

#[tokio::test]
async fn a_bay_is_free_only_until_a_held_offer_needs_it_whether_planned_since_or_not() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    let before = free_bays(&caller).await;

    let offer = made(&caller, "W-1").await;

    let needed = |reserved: &[v1::Assignment]| {
        let in_bay = reserved
            .iter()
            .filter_map(|one| Some((one.place.clone()?.bay_id, one.start_time.unwrap().seconds)));
        let mut first: BTreeMap<String, i64> = BTreeMap::new();
        for (bay, start) in in_bay {
            let known = first.entry(bay).or_insert(start);
            *known = start.min(*known);
        }
        first
    };
    let expect = |reserved: &[v1::Assignment]| {
        let needed = needed(reserved);
        assert!(!needed.is_empty(), "{reserved:?}");
        let until = before.iter().map(|(bay, closing)| {
            (bay.clone(), needed.get(bay).map_or(*closing, |start| *start.min(closing)))
        });
        until.collect::<BTreeMap<_, _>>()
    };
    assert_eq!(free_bays(&caller).await, expect(&offer.reserved));
    let plan = caller.plan().await.unwrap();
    assert_eq!(free_bays(&caller).await, expect(&plan.reserved));
    decline(&caller, "O-1").await.unwrap();
    assert_eq!(free_bays(&caller).await, before, "its hours are free again");
}

/// One bay and one technician: what is promised first is kept, and what would break it has its price.
#[tokio::test]
async fn an_offer_tells_earlier_promises_with_their_price() {
    let service = TestService::start().await;
    let caller = service.caller();
    let mut shop = definition();
    shop.bays.truncate(1);
    shop.technicians.truncate(1);
    caller.set_up(shop).await;
    let mut first = estimate("J-1", &["bumper-removed"]);
    first.expected_arrival_time = Some(time(at(120)));
    first.promise_time = earliest_finish(&caller, "J-1").await;
    caller.submit(first.clone()).await.unwrap();
    caller.accept_all("J-1").await.unwrap();

    let offer = made(&caller, "W-1").await;

    let seconds = |time: Option<prost_types::Timestamp>| time.unwrap().seconds;
    for priced in &offer.priced {
        assert!(seconds(priced.promise_time) < seconds(offer.promise_time), "{offer:?}");
        assert!(priced.late_jobs.iter().any(|late| late.job_id == "J-1"), "{offer:?}");
    }
    assert!(!offer.priced.is_empty(), "{offer:?}");
    assert!(seconds(offer.finish_time) > seconds(first.promise_time), "{offer:?}");
}

/// When a visit could be finished at the earliest; the offer is not taken up.
async fn earliest_finish(caller: &Caller, job_id: &str) -> Option<prost_types::Timestamp> {
    let offer = made(caller, job_id).await;
    decline(caller, &offer.offer_id).await.unwrap();
    offer.finish_time
}

#[tokio::test]
async fn what_was_declined_and_what_lapsed_stands_in_the_turned_away_log() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    made(&caller, "W-1").await;
    let lapses = made(&caller, "W-2").await;
    assert_eq!(listed(&caller, &[]).await, ["O-2", "O-1"], "page by page, the newest first");
    let declined = decline(&caller, "O-1").await.unwrap().offer.unwrap();
    assert_eq!(declined.state(), OfferState::Declined);
    refused(decline(&caller, "O-1").await, Code::FailedPrecondition, "ILLEGAL_TRANSITION");

    let service = service.restart_at(at(40)).await;
    let caller = service.caller();

    assert_eq!(read(&caller, "O-2").await.state(), OfferState::Lapsed);
    assert_eq!(listed(&caller, &[]).await, [""; 0]);
    assert_eq!(listed(&caller, &[OfferState::Lapsed]).await, ["O-2"]);
    let refusal =
        refused(accept(&caller, "O-2").await, Code::FailedPrecondition, "ILLEGAL_TRANSITION");
    assert_eq!(refusal.metadata["state"], "lapsed");
    let log = turned_away(&caller).await;
    assert_eq!(log.len(), 2, "{log:?}");
    let (lapsed, declined) = (&log[0], &log[1]);
    assert_eq!((lapsed.offer_id.as_str(), declined.offer_id.as_str()), ("O-2", "O-1"));
    assert_eq!((&lapsed.needs, lapsed.promise_time), (&lapses.needs, lapses.promise_time));
    assert_eq!(lapsed.turned_away_time, lapses.lapse_time);
    assert_eq!(lapsed.actor, "baywright");
    assert!(lapsed.reasons[0].contains("lapsed"), "{lapsed:?}");
    assert_eq!(declined.reasons, ["too late for them"]);
    assert_eq!(turned_away(&caller).await, log, "it is noted once");
    assert_eq!(caller.plan().await.unwrap().reserved, []);
    // Its hours are free again, also for the same visit.
    made(&caller, "W-2").await;
}
