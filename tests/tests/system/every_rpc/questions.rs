//! What only reads: the day's questions, fits, records, the audit trail, watches, doubts.

use super::{
    entry::{Entry, Foreign, rpc, sent},
    paths::set,
    shops::{Shops, actor, shop},
};
use baywright_api::v1;
use baywright_tests::system::{at, new_request_id, time};
use prost_reflect::Value;

fn text(text: &str) -> Value {
    Value::String(text.to_owned())
}

pub(super) fn entries() -> Vec<Entry> {
    let mut all = of_the_day();
    all.extend(of_the_floor());
    all.extend(of_the_past());
    all
}

fn of_the_day() -> Vec<Entry> {
    vec![
        rpc("DayService/ListChases", |shops| {
            Box::pin(async {
                let job_id = shops.expected_job().await.job_id;
                sent(&v1::ListChasesRequest { shop_id: shop(), job_id })
            })
        }),
        rpc("DayService/ListFinishes", |_| {
            Box::pin(async { sent(&v1::ListFinishesRequest { shop_id: shop() }) })
        })
        .shop_alone(),
        rpc("DayService/LocateVehicle", |shops| {
            Box::pin(async {
                let job_id = shops.job_on_site().await.job_id;
                sent(&v1::LocateVehicleRequest { shop_id: shop(), job_id })
            })
        }),
        rpc("DayService/ListUnitUses", |_| {
            Box::pin(async {
                sent(&v1::ListUnitUsesRequest {
                    shop_id: shop(),
                    unit_kind_id: "scan-unit".to_owned(),
                })
            })
        }),
        rpc("DayService/ListFreeBays", |_| {
            Box::pin(async {
                sent(&v1::ListFreeBaysRequest {
                    shop_id: shop(),
                    procedure_id: "radar".to_owned(),
                    vehicle_class_id: "saloon".to_owned(),
                })
            })
        })
        .bad("procedure_id", |request| set(request, "procedure_id", text("no name"))),
        rpc("DayService/GetToday", |_| {
            Box::pin(async {
                sent(&v1::GetTodayRequest {
                    shop_id: shop(),
                    expiry_days: Some(7),
                    changes_since_time: Some(time(at(-600))),
                })
            })
        })
        .shop_alone()
        .bad("expiry_days", |request| set(request, "expiry_days", Value::U32(91))),
    ]
}

fn of_the_floor() -> Vec<Entry> {
    vec![
        rpc("FitService/ListFits", |_| {
            Box::pin(async {
                sent(&v1::ListFitsRequest {
                    shop_id: shop(),
                    procedure_id: "radar".to_owned(),
                    vehicle_class_id: "saloon".to_owned(),
                    bay_id: "bay-1".to_owned(),
                    page_size: 10,
                    page_token: String::new(),
                    sun_date: "2026-05-06".to_owned(),
                    with_room: true,
                    with_nearest_misses: true,
                })
            })
        })
        .bad("sun_date", |request| set(request, "sun_date", text("tomorrow"))),
        rpc("DoubtService/ListDoubts", |_| {
            Box::pin(async {
                sent(&v1::ListDoubtsRequest {
                    shop_id: shop(),
                    include_cleared: true,
                    ..v1::ListDoubtsRequest::default()
                })
            })
        })
        .shop_alone(),
        rpc("DoubtService/ClearDoubt", |shops| {
            Box::pin(async {
                sent(&v1::ClearDoubtRequest {
                    shop_id: shop(),
                    doubt_id: doubt(shops).await,
                    reason: "the lamp was replaced".to_owned(),
                    request_id: new_request_id(),
                    actor: actor(),
                })
            })
        })
        .foreign("doubt_id", Foreign::Named("D-1000"))
        .bad("reason", |request| set(request, "reason", text(" "))),
    ]
}

/// A doubt that stands, about a bay in which a radar failed.
async fn doubt(shops: &Shops) -> String {
    let job = shops.job_on_site().await;
    shops.put_everything_back().await;
    loop {
        let held = shops.caller.pull("ana").await.unwrap();
        let running = shops.caller.begin(&held).await.unwrap();
        if running.place.is_none() {
            shops.caller.finish(&running).await.unwrap();
            continue;
        }
        shops.caller.fail(&running, v1::FailureCause::Environment, "").await.unwrap();
        let request = v1::ListDoubtsRequest { shop_id: shop(), ..v1::ListDoubtsRequest::default() };
        let doubts = shops.caller.send(request).await.unwrap().doubts;
        let found = doubts.iter().find(|one| one.job_id == running.job_id);
        return found.unwrap_or_else(|| panic!("{} {doubts:?}", job.job_id)).doubt_id.clone();
    }
}

fn of_the_past() -> Vec<Entry> {
    vec![
        rpc("RecordService/VerifyRecords", |shops| {
            Box::pin(async {
                let to_number = shops.record().await.number;
                sent(&v1::VerifyRecordsRequest { shop_id: shop(), from_number: 1, to_number })
            })
        })
        .shop_alone()
        .bad("to_number", |request| {
            set(request, "from_number", Value::U64(3));
            set(request, "to_number", Value::U64(2));
        }),
        rpc("RecordService/CorrectRecord", |shops| {
            Box::pin(async {
                sent(&v1::CorrectRecordRequest {
                    shop_id: shop(),
                    number: shops.record().await.number,
                    reason: "misread".to_owned(),
                    statements: vec![v1::EvidenceStatement {
                        subject: "codes".to_owned(),
                        sentence: "The code was 7.".to_owned(),
                        source: v1::EvidenceSource::Told.into(),
                    }],
                    request_id: new_request_id(),
                    actor: actor(),
                })
            })
        })
        .bad("reason", |request| set(request, "reason", text("")))
        .bad("statements", |request| request.clear_field_by_name("statements")),
        rpc("AuditService/ListAuditEntries", |_| {
            Box::pin(async {
                sent(&v1::ListAuditEntriesRequest {
                    shop_id: shop(),
                    kind: "bay".to_owned(),
                    thing_id: "bay-1".to_owned(),
                    from_time: Some(time(at(-60))),
                    until_time: Some(time(at(60))),
                    ..v1::ListAuditEntriesRequest::default()
                })
            })
        })
        .foreign("thing_id", Foreign::FindsNothing)
        .shop_alone()
        .bad("kind", |request| request.clear_field_by_name("kind")),
        rpc("WatchService/WatchChanges", |_| {
            Box::pin(async {
                sent(&v1::WatchChangesRequest { shop_id: shop(), resume_token: "0".to_owned() })
            })
        })
        .shop_alone()
        .bad("resume_token", |request| set(request, "resume_token", text("the last one"))),
    ]
}
