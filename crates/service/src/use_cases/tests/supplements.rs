//! Changed estimates: what they no longer call for is offered for cancelling, work in hand goes on.
#![cfg(test)]

use super::shop::TestShop;
use baywright_api::v1::{ErrorReason, TaskState};

#[tokio::test]
async fn a_task_that_the_estimate_no_longer_calls_for_is_marked_and_its_hand_back_unchanged() {
    let shop = TestShop::with(&["front-bumper-removed", "codes-read"]).await;
    shop.estimate(2, &["codes-read"]).await.unwrap();
    let radar = shop.task("front-radar").await;
    assert_eq!((radar.state(), radar.no_longer_called), (TaskState::Open, true));
    assert!(!shop.task("pre-scan").await.no_longer_called);
    let refused = shop.hand_back(&[]).await.unwrap_err();
    assert_eq!(refused.reason(), ErrorReason::HandBackRefused);

    shop.estimate(3, &["codes-read", "front-bumper-removed"]).await.unwrap();
    assert!(!shop.task("front-radar").await.no_longer_called);
}

/// Two rules call for the camera; one of them still stands.
#[tokio::test]
async fn a_task_that_another_rule_still_calls_for_is_not_marked() {
    let shop = TestShop::with(&["windshield-replaced", "camera-bracket-replaced"]).await;
    shop.estimate(2, &["camera-bracket-replaced"]).await.unwrap();
    assert!(shop.task("glass").await.no_longer_called);
    assert!(!shop.task("front-camera").await.no_longer_called);
}

#[tokio::test]
async fn running_work_that_is_no_longer_called_for_goes_on_and_cannot_be_cancelled() {
    let shop = TestShop::with(&["front-bumper-removed"]).await;
    let running = shop.begin("ada").await;
    shop.estimate(2, &["codes-read"]).await.unwrap();
    let radar = shop.task("front-radar").await;
    assert_eq!((radar.state(), radar.no_longer_called), (TaskState::Running, true));
    let refused = shop.cancel_task("front-radar").await.unwrap_err();
    assert_eq!(refused.reason(), ErrorReason::IllegalTransition);
    shop.finish(&running).await.unwrap();
    assert_eq!(shop.state("front-radar").await, TaskState::Passed);
}
