//! The questions of the day, asked of the running service.

use baywright_api::v1::{self, PrerequisiteState, whereabouts::Where};
use baywright_tests::system::{
    Caller, SHOP, TestService, adhesive, at, definition, estimate, new_request_id, refused, time,
};
use tonic::Code;

fn shop() -> String {
    SHOP.to_owned()
}

async fn chases(caller: &Caller, job_id: &str) -> Vec<v1::Chase> {
    let request = v1::ListChasesRequest { shop_id: shop(), job_id: job_id.to_owned() };
    caller.send(request).await.unwrap().chases
}

async fn note(
    caller: &Caller,
    prerequisite: &str,
    state: PrerequisiteState,
    expected: Option<i64>,
) -> v1::Job {
    let request = v1::UpdatePrerequisiteRequest {
        shop_id: shop(),
        job_id: "J-1".to_owned(),
        prerequisite_id: prerequisite.to_owned(),
        state: state.into(),
        expected_time: expected.map(|minutes| time(at(minutes))),
        party: "parts desk".to_owned(),
        request_id: new_request_id(),
        actor: "desk".to_owned(),
        etag: String::new(),
        update_mask: None,
    };
    caller.send(request).await.unwrap().job.unwrap()
}

#[tokio::test]
async fn whoever_keeps_a_task_waiting_is_named_with_the_tasks_and_the_promise() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &["windshield-replaced"])).await;
    let job = caller.job("J-1").await;
    let ahead = job.prerequisites.iter().find(|one| one.asked() == v1::AskedWhen::Ahead);
    let id = ahead.unwrap().prerequisite_id.clone();
    note(&caller, &id, PrerequisiteState::OnOrder, Some(300)).await;

    let listed = chases(&caller, "J-1").await;
    let asked = listed.iter().find(|chase| chase.party == "parts desk").unwrap();
    assert_eq!(asked.items[0].key, format!("prerequisite:{id}"));
    assert!(!asked.items[0].task_ids.is_empty() && !asked.items[0].overdue);
    assert_eq!(asked.items[0].promise_time, job.promise_time);

    let request = v1::ListChasesRequest { shop_id: shop(), job_id: "J-9".to_owned() };
    refused(caller.send(request).await, Code::NotFound, "NOT_FOUND");
}

#[tokio::test]
async fn a_sign_off_that_is_taken_back_takes_back_what_was_done_on_it() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &["bumper-removed"])).await;
    for technician in ["ben", "ana"] {
        let held = caller.pull(technician).await.unwrap();
        caller.finish(&caller.begin(&held).await.unwrap()).await.unwrap();
    }

    let job = note(&caller, "bodywork", PrerequisiteState::Failed, None).await;

    let state = |id: &str| job.tasks.iter().find(|task| task.task_id == id).unwrap().state();
    assert_eq!(state("front-radar"), v1::TaskState::Open, "its bumper was not ready after all");
    assert_eq!(state("pre-scan"), v1::TaskState::Passed, "the scan never rested on the bumper");
}

#[tokio::test]
async fn the_day_shows_what_begins_and_where_vehicle_keys_and_units_are() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &["bumper-removed"])).await;
    caller.plan().await.unwrap();

    let today = caller
        .send(v1::GetTodayRequest { shop_id: shop(), ..v1::GetTodayRequest::default() })
        .await
        .unwrap();
    assert!(today.begins.iter().any(|one| one.task_id == "pre-scan"));
    assert!(today.late.is_empty() && !today.caution.is_empty());
    let finishes = caller.send(v1::ListFinishesRequest { shop_id: shop() }).await.unwrap().finishes;
    assert_eq!((finishes.len(), finishes[0].late_minutes), (1, 0));
    assert!(finishes[0].finish_time.is_some());

    let held = caller.pull("ben").await.unwrap();
    let request = v1::LocateVehicleRequest { shop_id: shop(), job_id: "J-1".to_owned() };
    let found = caller.send(request).await.unwrap();
    assert_eq!(found.holding.unwrap().task_id, "pre-scan");
    let request = v1::ListUnitUsesRequest { shop_id: shop(), unit_kind_id: "scan-unit".to_owned() };
    let uses = caller.send(request).await.unwrap().uses;
    let in_use = uses.iter().find(|one| one.unit_id == held.unit_ids[0]).unwrap();
    assert_eq!((in_use.technician_id.as_str(), in_use.job_id.as_str()), ("ben", "J-1"));
    assert!(in_use.until_time.is_some());
}

#[tokio::test]
async fn a_fitting_bay_is_free_until_a_vehicle_stands_in_it() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    let ask = || v1::ListFreeBaysRequest {
        shop_id: shop(),
        procedure_id: "radar".to_owned(),
        vehicle_class_id: "saloon".to_owned(),
    };
    assert_eq!(caller.send(ask()).await.unwrap().bays.len(), 2);
    caller.bring_in(estimate("J-1", &["bumper-removed"])).await;
    let scan = caller.pull("ben").await.unwrap();
    caller.finish(&caller.begin(&scan).await.unwrap()).await.unwrap();
    let radar = caller.pull("ana").await.unwrap();
    let taken = radar.place.unwrap();

    let free = caller.send(ask()).await.unwrap().bays;

    assert_eq!(free.len(), 1);
    assert_ne!(free[0].place.as_ref().unwrap().bay_id, taken.bay_id);
    let unknown = v1::ListFreeBaysRequest { procedure_id: "nothing".to_owned(), ..ask() };
    refused(caller.send(unknown).await, Code::NotFound, "NOT_FOUND");
}

#[tokio::test]
async fn glass_cannot_have_been_set_after_now() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &["windshield-replaced"])).await;
    let request = v1::RecordOutsideWorkRequest {
        shop_id: shop(),
        job_id: "J-1".to_owned(),
        operation_id: "1".to_owned(),
        adhesive: Some(adhesive(Some(time(at(600))))),
        evidence: "told by the glass shop".to_owned(),
        request_id: new_request_id(),
        actor: "desk".to_owned(),
        etag: String::new(),
    };
    let refusal = refused(caller.send(request).await, Code::InvalidArgument, "INVALID_FIELDS");
    assert_eq!(refusal.fields, ["adhesive.set_time"]);
}

#[tokio::test]
async fn keys_and_spots_are_kept_and_a_full_spot_is_refused() {
    let service = TestService::start().await;
    let caller = service.caller();
    let mut definition = definition();
    let room = v1::Spot { spot_id: "gate".to_owned(), capacity: 1 };
    definition.shop.as_mut().unwrap().spots.push(room);
    caller.set_up(definition).await;
    for job in ["J-1", "J-2"] {
        caller.submit(estimate(job, &["bumper-removed"])).await.unwrap();
        caller.accept_all(job).await.unwrap();
    }
    let arrive = |job: &str| v1::RecordArrivalRequest {
        shop_id: shop(),
        job_id: job.to_owned(),
        spot_id: "gate".to_owned(),
        request_id: new_request_id(),
        actor: "desk".to_owned(),
        etag: String::new(),
        key_tag: "K-7".to_owned(),
    };
    caller.send(arrive("J-1")).await.unwrap();
    let refusal =
        refused(caller.send(arrive("J-2")).await, Code::InvalidArgument, "INVALID_FIELDS");
    assert_eq!(refusal.fields, ["spot_id"]);

    let request = v1::LocateVehicleRequest { shop_id: shop(), job_id: "J-1".to_owned() };
    let found = caller.send(request).await.unwrap();
    assert_eq!((found.key_tag.as_str(), found.moved_by.as_str()), ("K-7", "desk"));
    assert_eq!(found.whereabouts.unwrap().r#where, Some(Where::SpotId("gate".to_owned())));
}
