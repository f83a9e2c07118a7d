//! Bad input, another shop's names and repeated request ids, for every request that decides about
//! tasks and jobs without holding them, and for those of a holder.
#![cfg(test)]

use super::shop::{
    TestShop, cancel_job_request, cancel_task_request, end_sublet_request, key, request_id,
    sublet_request,
};
use crate::{
    error::ServiceError,
    use_cases::{cancelling, hand_over, sublets, work_pause},
};
use baywright_api::v1::{self, ErrorReason, Outcome};
use prost::Message as _;

const TASK: &str = "front-radar";
const NEVER: &str = "never-opened";

fn check<T: std::fmt::Debug>(answer: Result<T, ServiceError>, reason: ErrorReason) {
    let refused = answer.unwrap_err();
    assert_eq!(refused.reason(), reason, "{refused}");
}

async fn running() -> (TestShop, v1::HoldingKey) {
    let shop = TestShop::with(&["front-bumper-removed"]).await;
    let held = shop.begin("ada").await;
    (shop, key(&held))
}

fn pause_request(held: v1::HoldingKey) -> v1::PauseTaskRequest {
    v1::PauseTaskRequest {
        shop_id: super::shop::SHOP.to_owned(),
        holding: Some(held),
        note: "telephone".to_owned(),
        request_id: request_id(),
    }
}

fn resume_request(held: v1::HoldingKey) -> v1::ResumeTaskRequest {
    v1::ResumeTaskRequest {
        shop_id: super::shop::SHOP.to_owned(),
        holding: Some(held),
        request_id: request_id(),
    }
}

fn hand_over_request(held: v1::HoldingKey) -> v1::HandOverTaskRequest {
    v1::HandOverTaskRequest {
        shop_id: super::shop::SHOP.to_owned(),
        holding: Some(held),
        to_technician_id: "bo".to_owned(),
        note: "target stands".to_owned(),
        request_id: request_id(),
    }
}

/// Sent again: the same answer byte for byte. Another body under the same id: refused.
macro_rules! check_repeat {
    ($shop:expr, $call:path, $request:expr, $spoil:expr) => {{
        let request = $request;
        let first = $call(&$shop.app, request.clone()).await.unwrap();
        let again = $call(&$shop.app, request.clone()).await.unwrap();
        assert_eq!(first.encode_to_vec(), again.encode_to_vec());
        let mut other = request;
        $spoil(&mut other);
        check($call(&$shop.app, other).await, ErrorReason::RequestIdReused);
    }};
}

/// The request with each of these names replaced by one that is nowhere.
macro_rules! check_absent {
    ($app:expr, $call:path, $request:expr, $($field:ident)+) => {$({
        let mut request = $request;
        request.$field = NEVER.to_owned();
        check($call($app, request).await, ErrorReason::NotFound);
    })+};
}

#[tokio::test]
async fn a_repeated_request_gets_the_first_answer_and_takes_effect_once() {
    let (shop, held) = running().await;
    check_repeat!(
        shop,
        work_pause::pause_task,
        pause_request(held.clone()),
        |other: &mut v1::PauseTaskRequest| other.note.push('!')
    );
    check_repeat!(
        shop,
        work_pause::resume_task,
        resume_request(held.clone()),
        |other: &mut v1::ResumeTaskRequest| other.holding.as_mut().unwrap().fence += 1
    );
    check_repeat!(
        shop,
        hand_over::hand_over_task,
        hand_over_request(held),
        |other: &mut v1::HandOverTaskRequest| other.note.push('!')
    );

    let shop = TestShop::with(&["front-bumper-removed"]).await;
    check_repeat!(
        shop,
        sublets::sublet_task,
        sublet_request(TASK),
        |other: &mut v1::SubletTaskRequest| other.party.push('!')
    );
    check_repeat!(
        shop,
        sublets::end_sublet,
        end_sublet_request(TASK, Outcome::Failed),
        |other: &mut v1::EndSubletRequest| other.evidence.push('!')
    );
    assert_eq!(shop.records().await.len(), 1);
    check_repeat!(
        shop,
        cancelling::cancel_task,
        cancel_task_request(TASK),
        |other: &mut v1::CancelTaskRequest| other.reason.push('!')
    );

    let shop = TestShop::open().await;
    shop.estimate(1, &["front-bumper-removed"]).await.unwrap();
    check_repeat!(
        shop,
        cancelling::cancel_job,
        cancel_job_request(),
        |other: &mut v1::CancelJobRequest| other.reason.push('!')
    );
}

#[tokio::test]
async fn a_text_that_must_be_stated_is_asked_for() {
    let (shop, held) = running().await;
    let app = &shop.app;
    let invalid = ErrorReason::InvalidFields;
    let request = v1::PauseTaskRequest { note: " ".to_owned(), ..pause_request(held.clone()) };
    check(work_pause::pause_task(app, request).await, invalid);
    let request = v1::ResumeTaskRequest { holding: None, ..resume_request(held.clone()) };
    check(work_pause::resume_task(app, request).await, invalid);
    let request = v1::HandOverTaskRequest { note: String::new(), ..hand_over_request(held) };
    check(hand_over::hand_over_task(app, request).await, invalid);
    let request = v1::CancelTaskRequest { reason: " ".to_owned(), ..cancel_task_request(TASK) };
    check(cancelling::cancel_task(app, request).await, invalid);
    let request = v1::CancelJobRequest { reason: String::new(), ..cancel_job_request() };
    check(cancelling::cancel_job(app, request).await, invalid);
    let request = v1::SubletTaskRequest { actor: String::new(), ..sublet_request(TASK) };
    check(sublets::sublet_task(app, request).await, invalid);
}

/// Another shop, another job, another task: none of them is there.
#[tokio::test]
async fn what_is_not_in_the_shop_is_not_found() {
    let (shop, held) = running().await;
    let app = &shop.app;
    let absent = ErrorReason::NotFound;
    let never = || NEVER.to_owned();
    let request = v1::PauseTaskRequest { shop_id: never(), ..pause_request(held.clone()) };
    check(work_pause::pause_task(app, request).await, absent);
    let request = v1::ResumeTaskRequest { shop_id: never(), ..resume_request(held.clone()) };
    check(work_pause::resume_task(app, request).await, absent);
    let request = v1::HandOverTaskRequest { shop_id: never(), ..hand_over_request(held) };
    check(hand_over::hand_over_task(app, request).await, absent);
    check_absent!(app, cancelling::cancel_task, cancel_task_request(TASK), shop_id job_id task_id);
    check_absent!(app, cancelling::cancel_job, cancel_job_request(), shop_id job_id);
    check_absent!(app, sublets::sublet_task, sublet_request(TASK), shop_id job_id task_id);
    let request = end_sublet_request(TASK, Outcome::Passed);
    check_absent!(app, sublets::end_sublet, request.clone(), shop_id job_id task_id);
}

#[tokio::test]
async fn a_job_that_changed_since_it_was_read_is_not_changed_again() {
    let shop = TestShop::with(&["front-bumper-removed"]).await;
    let etag = shop.job().await.job.unwrap().etag;
    shop.sublet(TASK).await.unwrap();
    let app = &shop.app;
    let stale = ErrorReason::EtagMismatch;
    let request = v1::CancelTaskRequest { etag: etag.clone(), ..cancel_task_request(TASK) };
    check(cancelling::cancel_task(app, request).await, stale);
    let request = v1::CancelJobRequest { etag: etag.clone(), ..cancel_job_request() };
    check(cancelling::cancel_job(app, request).await, stale);
    let request = v1::SubletTaskRequest { etag: etag.clone(), ..sublet_request(TASK) };
    check(sublets::sublet_task(app, request).await, stale);
    let outcome = Outcome::Passed;
    let request = v1::EndSubletRequest { etag, ..end_sublet_request(TASK, outcome) };
    check(sublets::end_sublet(app, request).await, stale);
}
