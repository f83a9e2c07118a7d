//! The roads, the gain of single changes, and drawings.

use super::{
    entry::{Entry, rpc, sent},
    paths::set,
    shops::{Shops, actor, shop},
};
use baywright_api::v1;
use baywright_tests::system::{at, new_request_id, time};
use prost_reflect::Value;

fn text(text: &str) -> Value {
    Value::String(text.to_owned())
}

fn entry() -> v1::RecordRoadEntryRequest {
    v1::RecordRoadEntryRequest {
        shop_id: shop(),
        entry: Some(v1::RoadEntry {
            condition: v1::RoadCondition::Unusable.into(),
            from_time: Some(time(at(0))),
            until_time: Some(time(at(120))),
            reason: "standing water".to_owned(),
            ..v1::RoadEntry::default()
        }),
        request_id: new_request_id(),
        actor: actor(),
    }
}

/// The number of an entry that stands.
async fn standing(shops: &Shops) -> u32 {
    shops.caller.send(entry()).await.unwrap().entry.unwrap().number
}

pub(super) fn entries() -> Vec<Entry> {
    vec![
        rpc("RoadService/RecordRoadEntry", |_| Box::pin(async { sent(&entry()) }))
            .shop_alone()
            .bad("entry.reason", |request| set(request, "entry.reason", text("")))
            .bad("entry.condition", |request| {
                set(request, "entry.condition", Value::EnumNumber(0));
            }),
        rpc("RoadService/WithdrawRoadEntry", |shops| {
            Box::pin(async {
                sent(&v1::WithdrawRoadEntryRequest {
                    shop_id: shop(),
                    number: standing(shops).await,
                    request_id: new_request_id(),
                    actor: actor(),
                })
            })
        })
        .shop_alone(),
        rpc("RoadService/ListRoadEntries", |_| {
            Box::pin(async { sent(&v1::ListRoadEntriesRequest { shop_id: shop() }) })
        })
        .shop_alone(),
        rpc("RoadService/ListRoadWindows", |_| {
            Box::pin(async {
                sent(&v1::ListRoadWindowsRequest { shop_id: shop(), date: "2026-05-06".to_owned() })
            })
        })
        .shop_alone()
        .bad("date", |request| set(request, "date", text("tomorrow"))),
        rpc("FitService/ReportGain", |_| {
            Box::pin(async {
                sent(&v1::ReportGainRequest {
                    shop_id: shop(),
                    mix: vec![v1::WorkAsked {
                        procedure_id: "radar".to_owned(),
                        vehicle_class_id: "saloon".to_owned(),
                        per_week: 3.0,
                    }],
                    weeks: 1,
                })
            })
        })
        .bad("weeks", |request| set(request, "weeks", Value::U32(105))),
        rpc("FitService/DrawPlan", |_| {
            Box::pin(async {
                sent(&v1::DrawPlanRequest {
                    shop_id: shop(),
                    bay_id: "bay-1".to_owned(),
                    ..v1::DrawPlanRequest::default()
                })
            })
        }),
    ]
}
