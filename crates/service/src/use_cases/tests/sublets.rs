//! Tasks that are sent out: what is kept, what they sign off and undo, and what is told of them.
#![cfg(test)]

use super::shop::{TestShop, adhesive, end_sublet_request, minutes_on, sublet_request};
use crate::use_cases::sublets;
use baywright_api::v1::{
    self, ErrorReason, EvidenceSource, FailureCause, Outcome, PrerequisiteState, ReadinessState,
    TaskState,
};
use rstest::rstest;

#[tokio::test]
async fn who_has_it_and_until_when_is_kept_and_what_comes_after_waits_for_that() {
    let shop = TestShop::with(&["windshield-replaced"]).await;
    shop.sublet("glass").await.unwrap();
    let sublet = shop.task("glass").await.sublet.unwrap();
    assert_eq!((sublet.party.as_str(), sublet.actor.as_str()), ("glass shop", "desk"));
    assert_eq!(sublet.expected_time, Some(minutes_on(120)));
    let answer = shop.job().await;
    let camera = answer.readiness.iter().find(|one| one.task_id == "front-camera").unwrap();
    assert_eq!(camera.state(), ReadinessState::ReadyBy);
    assert_eq!(camera.ready_time, Some(minutes_on(120)));
    assert_eq!(camera.reasons[0].party, "glass shop");
    assert_eq!(shop.pull("ada").await.unwrap_err().reason(), ErrorReason::NothingReady);
}

#[tokio::test]
async fn a_passed_sublet_signs_off_what_it_provides_and_its_record_is_told() {
    let shop = TestShop::with(&["codes-read", "front-bumper-removed"]).await;
    shop.sublet("pre-scan").await.unwrap();
    let answer = shop.end_sublet("pre-scan", Outcome::Passed).await.unwrap();

    assert_eq!(shop.state("pre-scan").await, TaskState::Passed);
    let codes = shop.prerequisite("no-codes").await;
    let said = codes.sign_off.unwrap();
    assert_eq!(said.actor, "desk");
    assert_eq!(said.evidence, "task pre-scan, done by glass shop, passed: invoice 17");
    let record = answer.record.unwrap();
    assert_eq!((record.number, record.attempt, record.outcome()), (1, 1, Outcome::Passed));
    assert_eq!(record.holding, None);
    assert_eq!(record.note, "invoice 17");
    assert!(record.statements.iter().all(|one| one.source() == EvidenceSource::Told));
    assert!(record.statements[0].sentence.starts_with("Done outside by glass shop: sent out"));
    assert_eq!(shop.records().await, [record]);
    // The radar waited for the scan alone.
    assert_eq!(shop.pull("ada").await.unwrap().task_id, "front-radar");
}

#[tokio::test]
async fn a_scan_done_outside_that_found_a_blocking_code_leaves_the_way_barred() {
    let shop = TestShop::with(&["codes-read", "front-bumper-removed"]).await;
    shop.sublet("pre-scan").await.unwrap();
    let mut request = end_sublet_request("pre-scan", Outcome::Passed);
    let (code, text) = ("X1".to_owned(), String::new());
    request.codes = vec![v1::FoundCode { code, text, blocking: true }];
    sublets::end_sublet(&shop.app, request).await.unwrap();
    assert_eq!(shop.prerequisite("no-codes").await.state(), PrerequisiteState::Failed);
    assert_eq!(shop.job().await.job.unwrap().codes.len(), 1);
}

/// The windshield moved the camera, whether the glass is good or not.
#[rstest]
#[case::passed(Outcome::Passed, TaskState::Passed)]
#[case::failed(Outcome::Failed, TaskState::Failed)]
#[tokio::test]
async fn glass_done_outside_undoes_the_camera_when_it_is_recorded(
    #[case] outcome: Outcome,
    #[case] state: TaskState,
) {
    let shop = TestShop::with(&["camera-bracket-replaced"]).await;
    shop.finish(&shop.begin("ada").await).await.unwrap();
    shop.estimate(2, &["camera-bracket-replaced", "windshield-replaced"]).await.unwrap();
    shop.decide(true).await.unwrap();
    shop.sublet("glass").await.unwrap();
    assert_eq!(shop.state("front-camera").await, TaskState::Passed);

    let job = shop.end_sublet("glass", outcome).await.unwrap().job.unwrap();
    assert_eq!(shop.state("glass").await, state);
    let camera = job.tasks.iter().find(|task| task.task_id == "front-camera").unwrap();
    assert_eq!(camera.state(), TaskState::Open);
    let undone = camera.undone.clone().unwrap();
    assert_eq!(undone.by, "task glass, done outside,");
    assert_eq!(undone.undone_time, shop.records().await[1].ended_time);
}

#[tokio::test]
async fn glass_done_outside_may_carry_its_adhesive_which_then_binds() {
    let shop = TestShop::with(&["windshield-replaced"]).await;
    shop.sublet("glass").await.unwrap();
    let mut request = end_sublet_request("glass", Outcome::Passed);
    request.adhesive = Some(adhesive(20));
    let answer = sublets::end_sublet(&shop.app, request).await.unwrap();
    assert_eq!(answer.job.unwrap().adhesives[0].task_id, "glass");
    let answer = shop.job().await;
    let camera = answer.readiness.iter().find(|one| one.task_id == "front-camera").unwrap();
    assert_eq!(camera.ready_time, Some(minutes_on(40)));
}

#[tokio::test]
async fn attempts_are_counted_over_own_work_and_work_done_outside() {
    let shop = TestShop::with(&["front-bumper-removed"]).await;
    shop.fail(&shop.begin("ada").await, FailureCause::Equipment).await.unwrap();
    shop.redo("front-radar").await.unwrap();
    shop.sublet("front-radar").await.unwrap();
    let failed = shop.end_sublet("front-radar", Outcome::Failed).await.unwrap();
    assert_eq!(failed.record.unwrap().attempt, 2);
    shop.redo("front-radar").await.unwrap();
    let running = shop.begin("ada").await;
    assert_eq!(running.attempt, 3);
    assert_eq!(shop.finish(&running).await.unwrap().number, 3);
}

type Spoil = fn(&mut v1::EndSubletRequest);

#[rstest]
#[case::no_outcome(|one: &mut v1::EndSubletRequest| one.outcome = 0, "outcome")]
#[case::put_back(|one: &mut v1::EndSubletRequest| one.outcome = Outcome::PutBack.into(), "outcome")]
#[case::no_evidence(|one: &mut v1::EndSubletRequest| one.evidence = " ".to_owned(), "evidence")]
#[case::adhesive_of_no_glass(|one: &mut v1::EndSubletRequest| one.adhesive = Some(adhesive(0)), "adhesive")]
#[case::codes_of_no_scan(|one: &mut v1::EndSubletRequest| one.codes = vec![v1::FoundCode { code: "X1".to_owned(), ..Default::default() }], "codes")]
#[case::code_without_text(|one: &mut v1::EndSubletRequest| one.codes = vec![v1::FoundCode::default()], "codes[0].code")]
#[tokio::test]
async fn an_end_that_is_told_badly_is_refused(#[case] spoil: Spoil, #[case] field: &str) {
    let shop = TestShop::with(&["front-bumper-removed"]).await;
    shop.sublet("front-radar").await.unwrap();
    let mut request = end_sublet_request("front-radar", Outcome::Passed);
    spoil(&mut request);
    let refused = sublets::end_sublet(&shop.app, request).await.unwrap_err();
    let crate::error::ServiceError::InvalidFields(faults) = &refused else {
        panic!("{refused}");
    };
    assert_eq!(faults.list()[0].field, field);
    assert_eq!(shop.state("front-radar").await, TaskState::Sublet);
    assert!(shop.records().await.is_empty());
}

#[rstest]
#[case::nobody(|one: &mut v1::SubletTaskRequest| one.party = String::new(), "party")]
#[case::no_time(|one: &mut v1::SubletTaskRequest| one.expected_time = None, "expected_time")]
#[case::past(|one: &mut v1::SubletTaskRequest| one.expected_time = Some(minutes_on(-1)), "expected_time")]
#[tokio::test]
async fn a_task_is_sent_to_somebody_who_names_a_time_to_come(
    #[case] spoil: fn(&mut v1::SubletTaskRequest),
    #[case] field: &str,
) {
    let shop = TestShop::with(&["front-bumper-removed"]).await;
    let mut request = sublet_request("front-radar");
    spoil(&mut request);
    let refused = sublets::sublet_task(&shop.app, request).await.unwrap_err();
    let crate::error::ServiceError::InvalidFields(faults) = &refused else {
        panic!("{refused}");
    };
    assert_eq!(faults.list()[0].field, field);
    assert_eq!(shop.state("front-radar").await, TaskState::Open);
}
