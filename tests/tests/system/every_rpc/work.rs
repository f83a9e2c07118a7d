//! The technician's work.

use super::{
    entry::{Entry, Foreign, rpc, sent},
    paths::set,
    shops::{actor, shop},
};
use baywright_api::v1;
use baywright_tests::system::{key_of, new_request_id};
use prost_reflect::Value;

fn text(text: &str) -> Value {
    Value::String(text.to_owned())
}

pub(super) fn entries() -> Vec<Entry> {
    let mut all = begun();
    all.extend(interrupted());
    all.extend(ended());
    all.extend(listed());
    all
}

fn begun() -> Vec<Entry> {
    vec![
        rpc("WorkService/PullTask", |shops| {
            Box::pin(async {
                shops.put_everything_back().await;
                shops.job_on_site().await;
                sent(&v1::PullTaskRequest {
                    shop_id: shop(),
                    technician_id: "ana".to_owned(),
                    request_id: new_request_id(),
                })
            })
        })
        .bad("technician_id", |request| set(request, "technician_id", text("no name")))
        .other("technician_id", text("ben")),
        rpc("WorkService/StartTask", |shops| {
            Box::pin(async {
                sent(&v1::StartTaskRequest {
                    shop_id: shop(),
                    holding: Some(key_of(&shops.held().await)),
                    answers: Vec::new(),
                    request_id: new_request_id(),
                })
            })
        })
        .bad("answers[0].check_id", |request| {
            let answer =
                v1::CheckAnswer { check_id: "check:none".to_owned(), ..Default::default() };
            let field = super::entry::field(request, "answers");
            let answer = super::entry::dynamic(&field, &answer);
            set(request, "answers", Value::List(vec![Value::Message(answer)]));
        })
        .bad("holding", |request| request.clear_field_by_name("holding")),
    ]
}

fn interrupted() -> Vec<Entry> {
    vec![
        rpc("WorkService/PauseTask", |shops| {
            Box::pin(async {
                sent(&v1::PauseTaskRequest {
                    shop_id: shop(),
                    holding: shops.running_key().await,
                    note: "a call".to_owned(),
                    request_id: new_request_id(),
                })
            })
        })
        .bad("note", |request| set(request, "note", text("")))
        .bad("holding", |request| request.clear_field_by_name("holding")),
        rpc("WorkService/ResumeTask", |shops| {
            Box::pin(async {
                let holding = shops.running_key().await;
                let pause = v1::PauseTaskRequest {
                    shop_id: shop(),
                    holding: holding.clone(),
                    note: "a call".to_owned(),
                    request_id: new_request_id(),
                };
                shops.caller.send(pause).await.unwrap();
                let request_id = new_request_id();
                sent(&v1::ResumeTaskRequest { shop_id: shop(), holding, request_id })
            })
        })
        .bad("holding", |request| request.clear_field_by_name("holding")),
        rpc("WorkService/EnterPhase", |shops| {
            Box::pin(async {
                sent(&v1::EnterPhaseRequest {
                    shop_id: shop(),
                    holding: shops.running_key().await,
                    phase: v1::WorkPhase::TearDown.into(),
                    request_id: new_request_id(),
                })
            })
        })
        .bad("phase", |request| request.clear_field_by_name("phase"))
        .bad("holding", |request| request.clear_field_by_name("holding")),
        rpc("WorkService/HandOverTask", |shops| {
            Box::pin(async {
                sent(&v1::HandOverTaskRequest {
                    shop_id: shop(),
                    holding: shops.running_key().await,
                    to_technician_id: "ben".to_owned(),
                    note: "half done".to_owned(),
                    request_id: new_request_id(),
                })
            })
        })
        .bad("note", |request| set(request, "note", text("")))
        .bad("holding", |request| request.clear_field_by_name("holding")),
    ]
}

fn ended() -> Vec<Entry> {
    vec![
        rpc("WorkService/FinishTask", |shops| {
            Box::pin(async {
                sent(&v1::FinishTaskRequest {
                    shop_id: shop(),
                    holding: shops.running_key().await,
                    codes: vec![v1::FoundCode { code: "7".to_owned(), ..Default::default() }],
                    request_id: new_request_id(),
                    ..v1::FinishTaskRequest::default()
                })
            })
        })
        .bad("codes[0].code", |request| set(request, "codes[0].code", text("")))
        .bad("holding", |request| request.clear_field_by_name("holding")),
        rpc("WorkService/FailTask", |shops| {
            Box::pin(async {
                sent(&v1::FailTaskRequest {
                    shop_id: shop(),
                    holding: shops.running_key().await,
                    cause: v1::FailureCause::Equipment.into(),
                    note: "it broke".to_owned(),
                    request_id: new_request_id(),
                    ..v1::FailTaskRequest::default()
                })
            })
        })
        .bad("note", |request| set(request, "note", text("")))
        .bad("cause", |request| request.clear_field_by_name("cause"))
        .bad("prerequisite_id", |request| {
            let preparation = v1::FailureCause::Preparation.into();
            set(request, "cause", Value::EnumNumber(preparation));
        }),
        rpc("WorkService/PutBackTask", |shops| {
            Box::pin(async {
                sent(&v1::PutBackTaskRequest {
                    shop_id: shop(),
                    holding: shops.running_key().await,
                    note: "called away".to_owned(),
                    request_id: new_request_id(),
                })
            })
        })
        .bad("note", |request| set(request, "note", text("")))
        .bad("holding", |request| request.clear_field_by_name("holding")),
        rpc("WorkService/RedoTask", |shops| {
            Box::pin(async {
                let (job_id, task_id) = shops.failed().await;
                sent(&v1::RedoTaskRequest {
                    shop_id: shop(),
                    job_id,
                    task_id,
                    reason: "mended".to_owned(),
                    clear_doubt: false,
                    request_id: new_request_id(),
                    actor: actor(),
                    etag: String::new(),
                })
            })
        })
        .bad("reason", |request| set(request, "reason", text(""))),
    ]
}

fn listed() -> Vec<Entry> {
    vec![
        rpc("WorkService/ListHoldings", |shops| {
            Box::pin(async {
                shops.held().await;
                sent(&v1::ListHoldingsRequest { shop_id: shop(), technician_id: "ana".to_owned() })
            })
        })
        .shop_alone()
        .foreign("technician_id", Foreign::FindsNothing),
        rpc("WorkService/ListConditionsRecords", |shops| {
            Box::pin(async {
                let record = shops.record().await;
                sent(&v1::ListConditionsRecordsRequest {
                    shop_id: shop(),
                    job_id: record.job_id,
                    task_id: record.task.unwrap().task_id,
                    page_size: 10,
                    page_token: String::new(),
                })
            })
        }),
    ]
}
