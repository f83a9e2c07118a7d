//! Offers and the plan.

use super::{
    entry::{Entry, Foreign, rpc, sent},
    paths::set,
    shops::{Shops, actor, shop},
};
use baywright_api::v1::{self, supposition::Kind};
use baywright_tests::system::{at, estimate, new_request_id, time};
use prost_reflect::Value;

fn make_request(shops: &Shops) -> v1::MakeOfferRequest {
    let mut estimate = estimate(&shops.new_job_id(), &["bumper-removed"]);
    estimate.expected_arrival_time = Some(time(at(60)));
    v1::MakeOfferRequest {
        shop_id: shop(),
        estimate: Some(estimate),
        hold_minutes: 30,
        days: 1,
        request_id: new_request_id(),
        actor: actor(),
    }
}

/// An offer that is held.
async fn held_offer(shops: &Shops) -> String {
    let offer = shops.caller.send(make_request(shops)).await.unwrap().offer.unwrap();
    assert_eq!(offer.state(), v1::OfferState::Held, "{offer:?}");
    offer.offer_id
}

/// An offer that the foreign shop has, and this one has not.
const OFFER: Foreign = Foreign::Named("O-9");

pub(super) fn entries() -> Vec<Entry> {
    let mut all = made();
    all.extend(read());
    all.extend(planned());
    all.extend(looked_ahead());
    all.push(explained());
    all
}

fn made() -> Vec<Entry> {
    vec![
        rpc("OfferService/MakeOffer", |shops| Box::pin(async { sent(&make_request(shops)) }))
            .foreign("estimate.job_id", Foreign::SendersOwn)
            .foreign("estimate.lines", Foreign::SendersOwn)
            .bad("hold_minutes", |request| set(request, "hold_minutes", Value::U32(10_081)))
            .bad("days", |request| set(request, "days", Value::U32(15)))
            .bad("estimate", |request| request.clear_field_by_name("estimate")),
        rpc("OfferService/AcceptOffer", |shops| {
            Box::pin(async {
                sent(&v1::AcceptOfferRequest {
                    shop_id: shop(),
                    offer_id: held_offer(shops).await,
                    request_id: new_request_id(),
                    actor: actor(),
                })
            })
        })
        .foreign("offer_id", OFFER)
        .shop_alone(),
        rpc("OfferService/DeclineOffer", |shops| {
            Box::pin(async {
                sent(&v1::DeclineOfferRequest {
                    shop_id: shop(),
                    offer_id: held_offer(shops).await,
                    reason: "too late for them".to_owned(),
                    request_id: new_request_id(),
                    actor: actor(),
                })
            })
        })
        .foreign("offer_id", OFFER)
        .shop_alone()
        .bad("reason", |request| set(request, "reason", Value::String(String::new()))),
    ]
}

fn read() -> Vec<Entry> {
    vec![
        rpc("OfferService/GetOffer", |shops| {
            Box::pin(async {
                sent(&v1::GetOfferRequest { shop_id: shop(), offer_id: held_offer(shops).await })
            })
        })
        .foreign("offer_id", OFFER)
        .shop_alone(),
        rpc("OfferService/ListOffers", |_| {
            Box::pin(async {
                sent(&v1::ListOffersRequest {
                    shop_id: shop(),
                    states: vec![v1::OfferState::Held.into(), v1::OfferState::Declined.into()],
                    ..v1::ListOffersRequest::default()
                })
            })
        })
        .shop_alone(),
        rpc("OfferService/ListTurnedAway", |_| {
            Box::pin(async {
                sent(&v1::ListTurnedAwayRequest {
                    shop_id: shop(),
                    ..v1::ListTurnedAwayRequest::default()
                })
            })
        })
        .shop_alone(),
    ]
}

fn planned() -> Vec<Entry> {
    vec![
        rpc("PlanService/MakePlan", |_| {
            Box::pin(async {
                sent(&v1::MakePlanRequest {
                    shop_id: shop(),
                    days: 1,
                    seed: 1,
                    epochs: 1,
                    request_id: new_request_id(),
                    actor: actor(),
                })
            })
        })
        .shop_alone()
        .bad("days", |request| set(request, "days", Value::U32(15)))
        .bad("epochs", |request| set(request, "epochs", Value::U64(1_001))),
        rpc("PlanService/MakePlanWithProgress", |_| {
            Box::pin(async {
                sent(&v1::MakePlanWithProgressRequest {
                    shop_id: shop(),
                    days: 1,
                    seed: 1,
                    epochs: 2,
                    seconds: 60,
                    request_id: new_request_id(),
                    actor: actor(),
                })
            })
        })
        .shop_alone()
        .bad("days", |request| set(request, "days", Value::U32(15)))
        .bad("epochs", |request| set(request, "epochs", Value::U64(1_001)))
        .bad("seconds", |request| set(request, "seconds", Value::U32(601))),
        rpc("PlanService/GetPlan", |shops| {
            Box::pin(async {
                let revision = shops.caller.plan().await.unwrap().revision;
                sent(&v1::GetPlanRequest { shop_id: shop(), revision, with_files: true })
            })
        }),
    ]
}

/// What would be, and what will be.
fn looked_ahead() -> Vec<Entry> {
    vec![
        rpc("PlanService/ReportWhatIf", |shops| {
            Box::pin(async {
                shops.expected_job().await;
                let of = |kind| v1::Supposition { kind: Some(kind) };
                let suppositions = vec![
                    of(Kind::BayClosed(v1::BayClosed {
                        bay_id: "bay-1".to_owned(),
                        from_time: Some(time(at(60))),
                        until_time: Some(time(at(120))),
                    })),
                    of(Kind::TechnicianMore(v1::TechnicianMore {
                        like_technician_id: "ana".to_owned(),
                    })),
                    of(Kind::UnitMore(v1::UnitMore { like_unit_id: "scan-unit-1".to_owned() })),
                    of(Kind::WorkGrown(v1::WorkGrown {
                        percent: 20,
                        procedure_id: "radar".to_owned(),
                        vehicle_class_id: "saloon".to_owned(),
                    })),
                ];
                let (days, seed, epochs) = (1, 1, 1);
                sent(&v1::ReportWhatIfRequest { shop_id: shop(), suppositions, days, seed, epochs })
            })
        })
        .bad("days", |request| set(request, "days", Value::U32(15)))
        .bad("epochs", |request| set(request, "epochs", Value::U64(1_001)))
        .bad("suppositions[3].work_grown.percent", |request| {
            set(request, "suppositions[3].work_grown.percent", Value::U32(301));
        }),
        rpc("PlanService/ReportFront", |shops| {
            Box::pin(async {
                shops.expected_job().await;
                let (days, seed, epochs, seconds) = (1, 1, 1, 45);
                sent(&v1::ReportFrontRequest { shop_id: shop(), days, seed, epochs, seconds })
            })
        })
        .shop_alone()
        .bad("days", |request| set(request, "days", Value::U32(15)))
        .bad("epochs", |request| set(request, "epochs", Value::U64(1_001)))
        .bad("seconds", |request| set(request, "seconds", Value::U32(46))),
        rpc("PlanService/ReportForecast", |_| {
            Box::pin(async {
                let (procedure_id, vehicle_class_id) = ("radar".to_owned(), "saloon".to_owned());
                sent(&v1::ReportForecastRequest {
                    shop_id: shop(),
                    mix: vec![v1::WorkAsked { procedure_id, vehicle_class_id, per_week: 5.0 }],
                    weeks_back: 1,
                    weeks: 1,
                    runs: 2,
                    promise_hours: 48,
                    seed: 1,
                    use_past_minutes: true,
                })
            })
        })
        .bad("mix[0].per_week", |request| set(request, "mix[0].per_week", Value::F64(-1.0)))
        .bad("weeks_back", |request| set(request, "weeks_back", Value::U32(105)))
        .bad("weeks", |request| set(request, "weeks", Value::U32(14)))
        .bad("runs", |request| set(request, "runs", Value::U32(61)))
        .bad("promise_hours", |request| set(request, "promise_hours", Value::U32(673))),
    ]
}

fn explained() -> Entry {
    rpc("PlanService/ExplainPlan", |shops| {
        Box::pin(async {
            let job_id = shops.job_on_site().await.job_id;
            let revision = shops.caller.plan().await.unwrap().revision;
            sent(&v1::ExplainPlanRequest { shop_id: shop(), revision, job_id })
        })
    })
}
