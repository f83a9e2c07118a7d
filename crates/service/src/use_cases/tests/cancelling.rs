//! Cancelled tasks and cancelled jobs.
#![cfg(test)]

use super::shop::{SHOP, TestShop, request_id};
use crate::use_cases::plans;
use baywright_api::v1::{self, ErrorReason, JobState, Outcome, TaskState};
use rstest::rstest;

#[tokio::test]
async fn a_cancelled_task_says_who_when_and_why() {
    let shop = TestShop::with(&["front-bumper-removed"]).await;
    shop.cancel_task("front-radar").await.unwrap();
    let decision = shop.task("front-radar").await.decision.unwrap();
    assert_eq!((decision.actor.as_str(), decision.reason.as_str()), ("desk", "no longer wanted"));
    assert!(decision.decided_time.is_some());
}

#[tokio::test]
async fn a_cancelled_calibration_bars_the_hand_back_until_a_manager_records_why() {
    let shop = TestShop::with(&["front-bumper-removed"]).await;
    shop.cancel_task("front-radar").await.unwrap();
    let refused = shop.hand_back(&[]).await.unwrap_err();
    assert_eq!(refused.reason(), ErrorReason::HandBackRefused);
    let job = shop.hand_back(&["task:front-radar"]).await.unwrap().job.unwrap();
    assert_eq!(job.state(), JobState::HandedBack);
}

#[tokio::test]
async fn a_cancelled_scan_bars_nothing() {
    let shop = TestShop::with(&["codes-read"]).await;
    shop.cancel_task("pre-scan").await.unwrap();
    shop.hand_back(&[]).await.unwrap();
}

async fn expected_job() -> TestShop {
    let shop = TestShop::open().await;
    shop.estimate(1, &["front-bumper-removed"]).await.unwrap();
    shop.decide(true).await.unwrap();
    shop
}

async fn assignments_and_unplanned(shop: &TestShop) -> (usize, usize) {
    let request = v1::MakePlanRequest {
        shop_id: SHOP.to_owned(),
        days: 1,
        epochs: 1,
        request_id: request_id(),
        actor: "desk".to_owned(),
        ..v1::MakePlanRequest::default()
    };
    let plan = plans::make_plan(&shop.app, request).await.unwrap().plan.unwrap();
    (plan.assignments.len(), plan.unplanned.len())
}

#[tokio::test]
async fn a_job_whose_vehicle_will_not_come_is_cancelled_and_left_out_of_plan_and_readiness() {
    let shop = expected_job().await;
    assert_eq!(assignments_and_unplanned(&shop).await, (1, 0));

    let job = shop.cancel_job().await.unwrap().job.unwrap();
    assert_eq!(job.state(), JobState::Cancelled);
    let said = job.cancellation.unwrap();
    assert_eq!((said.actor.as_str(), said.reason.as_str()), ("desk", "goes elsewhere"));
    assert_eq!(assignments_and_unplanned(&shop).await, (0, 0));
    let readiness = shop.job().await.readiness;
    assert!(readiness.iter().all(|one| one.state() == v1::ReadinessState::NotOpen));
}

/// Nothing leads out of cancelled, for the job or for its tasks.
#[tokio::test]
async fn nothing_happens_to_a_cancelled_job_any_more() {
    let shop = expected_job().await;
    shop.cancel_job().await.unwrap();
    let refusals = [
        shop.cancel_job().await.map(drop),
        shop.arrive().await.map(drop),
        shop.estimate(2, &["front-bumper-removed"]).await.map(drop),
        shop.cancel_task("front-radar").await.map(drop),
        shop.sublet("front-radar").await.map(drop),
        shop.end_sublet("front-radar", Outcome::Passed).await.map(drop),
    ];
    for refused in refusals {
        assert_eq!(refused.unwrap_err().reason(), ErrorReason::IllegalTransition);
    }
    assert_eq!(shop.hand_back(&[]).await.unwrap_err().reason(), ErrorReason::HandBackRefused);
    assert_eq!(shop.state("front-radar").await, TaskState::Open);
}

#[rstest]
#[case::on_site(false, JobState::OnSite)]
#[case::handed_back(true, JobState::HandedBack)]
#[tokio::test]
async fn a_job_whose_vehicle_came_cannot_be_cancelled(
    #[case] handed_back: bool,
    #[case] state: JobState,
) {
    let shop = TestShop::with(&["codes-read"]).await;
    if handed_back {
        shop.cancel_task("pre-scan").await.unwrap();
        shop.hand_back(&[]).await.unwrap();
    }
    let refused = shop.cancel_job().await.unwrap_err();
    assert_eq!(refused.reason(), ErrorReason::IllegalTransition);
    assert_eq!(shop.arrive().await.unwrap_err().reason(), ErrorReason::IllegalTransition);
    assert_eq!(shop.job().await.job.unwrap().state(), state);
}
