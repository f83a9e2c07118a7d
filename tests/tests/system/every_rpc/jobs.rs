//! Jobs, tasks sent out or given up, and the hand-back.

use super::{
    entry::{Entry, Foreign, rpc, sent},
    paths::set,
    shops::{Shops, actor, shop},
};
use baywright_api::v1;
use baywright_tests::system::{at, estimate, new_request_id, time};
use prost_reflect::Value;

fn text(text: &str) -> Value {
    Value::String(text.to_owned())
}

/// A job of which nothing is to be done: its vehicle may leave.
async fn ready_to_leave(shops: &Shops) -> String {
    let job_id = shops.new_job_id();
    let job = shops.caller.submit(estimate(&job_id, &["unheard-of"])).await.unwrap();
    let nothing = v1::DecideOperationRequest {
        shop_id: shop(),
        job_id: job_id.clone(),
        operation_id: "1".to_owned(),
        reason: "calls for nothing".to_owned(),
        request_id: new_request_id(),
        actor: actor(),
        ..v1::DecideOperationRequest::default()
    };
    shops.caller.send(nothing).await.unwrap();
    let request = v1::DecideTasksRequest {
        shop_id: shop(),
        job_id: job_id.clone(),
        decline_task_ids: job.tasks.iter().map(|task| task.task_id.clone()).collect(),
        reason: "only fetched".to_owned(),
        request_id: new_request_id(),
        actor: actor(),
        ..v1::DecideTasksRequest::default()
    };
    shops.caller.send(request).await.unwrap();
    shops.caller.arrive(&job_id).await.unwrap();
    job_id
}

/// A task that is sent out: its job.
async fn sublet(shops: &Shops) -> String {
    let request = sublet_request(shops).await;
    shops.caller.send(request.clone()).await.unwrap();
    request.job_id
}

async fn sublet_request(shops: &Shops) -> v1::SubletTaskRequest {
    let job = shops.job_on_site().await;
    v1::SubletTaskRequest {
        shop_id: shop(),
        job_id: job.job_id,
        task_id: "pre-scan".to_owned(),
        party: "radar shop (invented)".to_owned(),
        expected_time: Some(time(at(300))),
        note: String::new(),
        request_id: new_request_id(),
        actor: actor(),
        etag: String::new(),
    }
}

pub(super) fn entries() -> Vec<Entry> {
    let mut all = taken();
    all.extend(decided());
    all.extend(prepared());
    all.extend(changed());
    all.extend(given_up());
    all.extend(handed_back());
    all
}

fn taken() -> Vec<Entry> {
    vec![
        rpc("JobService/SubmitEstimate", |shops| {
            Box::pin(async {
                sent(&v1::SubmitEstimateRequest {
                    shop_id: shop(),
                    estimate: Some(estimate(&shops.new_job_id(), &["bumper-removed"])),
                    request_id: new_request_id(),
                    actor: actor(),
                    validate_only: false,
                })
            })
        })
        .foreign("estimate.job_id", Foreign::SendersOwn)
        .foreign("estimate.lines", Foreign::SendersOwn)
        .bad("estimate.weight", |request| set(request, "estimate.weight", Value::U32(101)))
        .bad("estimate.vehicle.vin", |request| set(request, "estimate.vehicle.vin", text("ABC"))),
        rpc("JobService/GetJob", |shops| {
            Box::pin(async {
                let job_id = shops.proposed_job().await.job_id;
                sent(&v1::GetJobRequest { shop_id: shop(), job_id })
            })
        }),
        rpc("JobService/ListJobs", |_| {
            Box::pin(async {
                sent(&v1::ListJobsRequest {
                    shop_id: shop(),
                    states: vec![v1::JobState::Expected.into(), v1::JobState::OnSite.into()],
                    page_size: 2,
                    page_token: String::new(),
                })
            })
        })
        .shop_alone(),
    ]
}

fn decided() -> Vec<Entry> {
    vec![
        rpc("JobService/DecideTasks", |shops| {
            Box::pin(async {
                sent(&v1::DecideTasksRequest {
                    shop_id: shop(),
                    job_id: shops.proposed_job().await.job_id,
                    accept_task_ids: vec!["pre-scan".to_owned()],
                    decline_task_ids: vec!["front-radar".to_owned()],
                    reason: "done elsewhere".to_owned(),
                    request_id: new_request_id(),
                    actor: actor(),
                    ..v1::DecideTasksRequest::default()
                })
            })
        })
        .bad("reason", |request| set(request, "reason", text(""))),
        rpc("JobService/DecideOperation", |shops| {
            Box::pin(async {
                let job_id = shops.new_job_id();
                let unknown = estimate(&job_id, &["unheard-of"]);
                shops.caller.submit(unknown).await.unwrap();
                sent(&v1::DecideOperationRequest {
                    shop_id: shop(),
                    job_id,
                    operation_id: "1".to_owned(),
                    procedure_ids: vec!["radar".to_owned()],
                    reason: "the sheet says so".to_owned(),
                    request_id: new_request_id(),
                    actor: actor(),
                    etag: String::new(),
                })
            })
        })
        .bad("reason", |request| set(request, "reason", text("")))
        .bad("procedure_ids[1]", |request| {
            let twice = vec![text("radar"), text("radar")];
            set(request, "procedure_ids", Value::List(twice));
        }),
    ]
}

fn prepared() -> Vec<Entry> {
    vec![
        rpc("JobService/SignOffPrerequisite", |shops| {
            Box::pin(async {
                sent(&v1::SignOffPrerequisiteRequest {
                    shop_id: shop(),
                    job_id: shops.expected_job().await.job_id,
                    prerequisite_id: "authorised".to_owned(),
                    evidence: "signed".to_owned(),
                    until_time: Some(time(at(600))),
                    request_id: new_request_id(),
                    actor: actor(),
                    etag: String::new(),
                })
            })
        })
        .bad("evidence", |request| set(request, "evidence", text(""))),
        rpc("JobService/UpdatePrerequisite", |shops| {
            Box::pin(async {
                sent(&v1::UpdatePrerequisiteRequest {
                    shop_id: shop(),
                    job_id: shops.expected_job().await.job_id,
                    prerequisite_id: "bodywork".to_owned(),
                    state: v1::PrerequisiteState::Booked.into(),
                    expected_time: Some(time(at(120))),
                    party: "body work".to_owned(),
                    request_id: new_request_id(),
                    actor: actor(),
                    ..v1::UpdatePrerequisiteRequest::default()
                })
            })
        })
        .bad("state", |request| {
            let met = v1::PrerequisiteState::Done.into();
            set(request, "state", Value::EnumNumber(met));
        }),
    ]
}

fn changed() -> Vec<Entry> {
    vec![
        rpc("JobService/UpdateJob", |shops| {
            Box::pin(async {
                let job = shops.expected_job().await;
                let paths = ["promise_time", "weight", "arrival"].map(str::to_owned).to_vec();
                sent(&v1::UpdateJobRequest {
                    shop_id: shop(),
                    job_id: job.job_id,
                    update_mask: Some(prost_types::FieldMask { paths }),
                    promise_time: Some(time(at(700))),
                    weight: 2,
                    arrival: v1::ArrivalKind::Waiting.into(),
                    request_id: new_request_id(),
                    actor: actor(),
                    etag: job.etag,
                    ..v1::UpdateJobRequest::default()
                })
            })
        })
        .bad("weight", |request| set(request, "weight", Value::U32(101)))
        .bad("etag", |request| set(request, "etag", text("")))
        .bad("update_mask", |request| request.clear_field_by_name("update_mask")),
        rpc("JobService/RecordArrival", |shops| {
            Box::pin(async {
                sent(&v1::RecordArrivalRequest {
                    shop_id: shop(),
                    job_id: shops.expected_job().await.job_id,
                    spot_id: "yard".to_owned(),
                    key_tag: "7".to_owned(),
                    request_id: new_request_id(),
                    actor: actor(),
                    etag: String::new(),
                })
            })
        })
        .bad("spot_id", |request| set(request, "spot_id", text("the moon"))),
        rpc("JobService/MoveVehicle", |shops| {
            Box::pin(async {
                sent(&v1::MoveVehicleRequest {
                    shop_id: shop(),
                    job_id: shops.job_on_site().await.job_id,
                    spot_id: "yard".to_owned(),
                    key_tag: "8".to_owned(),
                    request_id: new_request_id(),
                    actor: actor(),
                    etag: String::new(),
                })
            })
        })
        .bad("spot_id", |request| set(request, "spot_id", text(""))),
        rpc("JobService/RecordOutsideWork", |shops| {
            Box::pin(async {
                sent(&v1::RecordOutsideWorkRequest {
                    shop_id: shop(),
                    job_id: shops.job_on_site().await.job_id,
                    operation_id: "1".to_owned(),
                    evidence: "invoice 3".to_owned(),
                    request_id: new_request_id(),
                    actor: actor(),
                    ..v1::RecordOutsideWorkRequest::default()
                })
            })
        })
        .bad("evidence", |request| set(request, "evidence", text(""))),
    ]
}

fn given_up() -> Vec<Entry> {
    vec![
        rpc("JobService/CancelJob", |shops| {
            Box::pin(async {
                sent(&v1::CancelJobRequest {
                    shop_id: shop(),
                    job_id: shops.expected_job().await.job_id,
                    reason: "went elsewhere".to_owned(),
                    request_id: new_request_id(),
                    actor: actor(),
                    etag: String::new(),
                })
            })
        })
        .bad("reason", |request| set(request, "reason", text(""))),
        rpc("TaskService/CancelTask", |shops| {
            Box::pin(async {
                sent(&v1::CancelTaskRequest {
                    shop_id: shop(),
                    job_id: shops.expected_job().await.job_id,
                    task_id: "front-radar".to_owned(),
                    reason: "not fitted".to_owned(),
                    request_id: new_request_id(),
                    actor: actor(),
                    etag: String::new(),
                })
            })
        })
        .bad("reason", |request| set(request, "reason", text(""))),
        rpc("TaskService/SubletTask", |shops| {
            Box::pin(async { sent(&sublet_request(shops).await) })
        })
        .bad("party", |request| set(request, "party", text("")))
        .bad("expected_time", |request| request.clear_field_by_name("expected_time")),
        rpc("TaskService/EndSublet", |shops| {
            Box::pin(async {
                sent(&v1::EndSubletRequest {
                    shop_id: shop(),
                    job_id: sublet(shops).await,
                    task_id: "pre-scan".to_owned(),
                    outcome: v1::Outcome::Passed.into(),
                    evidence: "invoice 4".to_owned(),
                    request_id: new_request_id(),
                    actor: actor(),
                    ..v1::EndSubletRequest::default()
                })
            })
        })
        .bad("evidence", |request| set(request, "evidence", text("")))
        .bad("outcome", |request| {
            set(request, "outcome", Value::EnumNumber(v1::Outcome::PutBack.into()));
        }),
    ]
}

fn handed_back() -> Vec<Entry> {
    vec![
        rpc("HandBackService/CheckHandBack", |shops| {
            Box::pin(async {
                let job_id = shops.job_on_site().await.job_id;
                sent(&v1::CheckHandBackRequest { shop_id: shop(), job_id })
            })
        }),
        rpc("HandBackService/HandBackVehicle", |shops| {
            Box::pin(async {
                sent(&v1::HandBackVehicleRequest {
                    shop_id: shop(),
                    job_id: ready_to_leave(shops).await,
                    exceptions: Vec::new(),
                    request_id: new_request_id(),
                    actor: actor(),
                    etag: String::new(),
                })
            })
        })
        .bad("exceptions[0].manager", |request| {
            let exception = v1::HandBackException {
                reason_key: "task:front-radar".to_owned(),
                reason: "agreed".to_owned(),
                ..v1::HandBackException::default()
            };
            let field = super::entry::field(request, "exceptions");
            let exception = super::entry::dynamic(&field, &exception);
            set(request, "exceptions", Value::List(vec![Value::Message(exception)]));
        }),
    ]
}
