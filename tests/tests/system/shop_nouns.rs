//! Accounts, absences, counts and dated roles, and jobs that change: applied, kept and kept apart.

use baywright_api::v1;
use baywright_tests::system::{
    Caller, SHOP, TestService, at, definition, estimate, new_request_id, refused, time,
};
use tonic::Code;

fn shop() -> String {
    SHOP.to_owned()
}

async fn change(
    caller: &Caller,
    paths: &[&str],
    etag: &str,
    with: v1::UpdateJobRequest,
) -> Result<v1::UpdateJobResponse, tonic::Status> {
    let paths = paths.iter().map(|path| (*path).to_owned()).collect();
    caller
        .send(v1::UpdateJobRequest {
            shop_id: shop(),
            job_id: "J-1".to_owned(),
            update_mask: Some(prost_types::FieldMask { paths }),
            request_id: new_request_id(),
            actor: "desk".to_owned(),
            etag: etag.to_owned(),
            ..with
        })
        .await
}

#[tokio::test]
async fn a_shop_with_listed_accounts_takes_estimates_of_these_alone() {
    let service = TestService::start().await;
    let caller = service.caller();
    let mut definition = definition();
    definition.accounts = vec![v1::Account {
        account_id: "account-2".to_owned(),
        title: "Second account (invented)".to_owned(),
        party: "service desk".to_owned(),
    }];
    caller.set_up(definition.clone()).await;
    let refusal = refused(
        caller.submit(estimate("J-1", &["bumper-removed"])).await,
        Code::InvalidArgument,
        "INVALID_FIELDS",
    );
    assert_eq!(refusal.fields, ["estimate.account_id"]);

    let known =
        v1::Estimate { account_id: "account-2".to_owned(), ..estimate("J-1", &["bumper-removed"]) };
    caller.submit(known).await.unwrap();
    let read = caller.send(v1::GetShopRequest { shop_id: shop() }).await.unwrap();
    assert_eq!(read.definition.unwrap().accounts, definition.accounts);
}

#[tokio::test]
async fn a_unit_that_is_away_is_not_given_and_one_of_several_is_named_by_its_piece() {
    let service = TestService::start().await;
    let caller = service.caller();
    let mut definition = definition();
    let scanner = definition.units.iter_mut().find(|unit| unit.unit_kind_id == "scan-unit");
    let scanner = scanner.unwrap();
    scanner.absences = vec![v1::UnitAbsence {
        from_date: "2026-01-01".to_owned(),
        back_date: String::new(),
        reason: "lent".to_owned(),
    }];
    let scanner = scanner.clone();
    definition.units.retain(|unit| unit.unit_kind_id != "scan-unit");
    definition.units.push(scanner);
    caller.set_up(definition.clone()).await;
    caller.bring_in(estimate("J-1", &["bumper-removed"])).await;
    refused(caller.pull("ben").await, Code::FailedPrecondition, "NOTHING_READY");

    let scanner = definition.units.last_mut().unwrap();
    scanner.absences.clear();
    scanner.count = Some(2);
    let name = format!("{}.1", scanner.unit_id);
    caller.apply(definition).await.unwrap();
    assert_eq!(caller.pull("ben").await.unwrap().unit_ids, [name]);
}

#[tokio::test]
async fn a_role_that_has_run_out_is_no_longer_filled() {
    let service = TestService::start().await;
    let caller = service.caller();
    let mut definition = definition();
    for technician in &mut definition.technicians {
        technician.dated_roles = technician
            .role_ids
            .drain(..)
            .map(|role_id| v1::DatedRole {
                role_id,
                from_date: String::new(),
                until_date: "2026-01-01".to_owned(),
            })
            .collect();
    }
    caller.set_up(definition).await;
    caller.bring_in(estimate("J-1", &["bumper-removed"])).await;
    refused(caller.pull("ben").await, Code::FailedPrecondition, "NOTHING_READY");
}

#[tokio::test]
async fn a_promise_changes_by_mask_with_the_etag_that_was_read() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    let job = caller.submit(estimate("J-1", &["bumper-removed"])).await.unwrap();
    let later = v1::UpdateJobRequest {
        promise_time: Some(time(at(700))),
        weight: 9,
        ..v1::UpdateJobRequest::default()
    };

    let changed = change(&caller, &["promise_time"], &job.etag, later.clone()).await.unwrap();

    let changed = changed.job.unwrap();
    assert_eq!(changed.promise_time, Some(time(at(700))));
    assert_eq!(changed.weight, job.weight, "what the mask leaves out stays");
    refused(
        change(&caller, &["weight"], &job.etag, later.clone()).await,
        Code::Aborted,
        "ETAG_MISMATCH",
    );
    for (paths, etag, fields) in [
        (&["tasks"][..], changed.etag.as_str(), &["update_mask.paths[0]"][..]),
        (&[], changed.etag.as_str(), &["update_mask"]),
        (&["weight"], "", &["etag"]),
    ] {
        let refusal = refused(
            change(&caller, paths, etag, later.clone()).await,
            Code::InvalidArgument,
            "INVALID_FIELDS",
        );
        assert_eq!(refusal.fields, fields);
    }
    let early = v1::UpdateJobRequest {
        promise_time: Some(time(at(-60))),
        ..v1::UpdateJobRequest::default()
    };
    let refusal = refused(
        change(&caller, &["promise_time"], &changed.etag, early).await,
        Code::InvalidArgument,
        "INVALID_FIELDS",
    );
    assert_eq!(refusal.fields, ["promise_time"]);
    assert_eq!(caller.job("J-1").await, changed);
}

#[tokio::test]
async fn an_estimate_is_tried_without_effect() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    let request = v1::SubmitEstimateRequest {
        shop_id: shop(),
        estimate: Some(estimate("J-1", &["windshield-replaced"])),
        request_id: String::new(),
        actor: "desk".to_owned(),
        validate_only: true,
    };
    let called = caller.send(request).await.unwrap().job.unwrap();
    assert!(called.tasks.iter().any(|task| task.kind() == v1::TaskKind::Glass));
    assert!(caller.jobs().await.is_empty());
}

#[tokio::test]
async fn a_list_of_a_shop_that_is_not_there_is_refused_not_empty() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    let elsewhere = || "elsewhere".to_owned();
    let jobs = v1::ListJobsRequest { shop_id: elsewhere(), ..v1::ListJobsRequest::default() };
    refused(caller.send(jobs).await, Code::NotFound, "NOT_FOUND");
    let holdings = v1::ListHoldingsRequest { shop_id: elsewhere(), technician_id: String::new() };
    refused(caller.send(holdings).await, Code::NotFound, "NOT_FOUND");
    let records = v1::ListConditionsRecordsRequest {
        shop_id: shop(),
        job_id: "J-9".to_owned(),
        ..v1::ListConditionsRecordsRequest::default()
    };
    refused(caller.send(records).await, Code::NotFound, "NOT_FOUND");
}
