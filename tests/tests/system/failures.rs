//! Attempts that do not pass: what each cause opens again, puts in doubt or frees.

use baywright_api::v1::{self, FailureCause, PrerequisiteState, TaskState};
use baywright_tests::system::{
    Caller, SHOP, TestService, at, definition, definition_of_radars, definition_with_bays,
    estimate, key_of, new_request_id, refused,
};
use chrono::{DateTime, Utc};
use tonic::Code;

async fn task(caller: &Caller, job_id: &str, task_id: &str) -> v1::Task {
    let job = caller.job(job_id).await;
    job.tasks.into_iter().find(|task| task.task_id == task_id).unwrap()
}

async fn prerequisite(caller: &Caller, job_id: &str, id: &str) -> v1::Prerequisite {
    let job = caller.job(job_id).await;
    job.prerequisites.into_iter().find(|one| one.prerequisite_id == id).unwrap()
}

fn bay(holding: &v1::Holding) -> &str {
    &holding.place.as_ref().unwrap().bay_id
}

async fn pull_and_begin(caller: &Caller, technician: &str, task_id: &str) -> v1::Holding {
    let held = caller.pull(technician).await.unwrap();
    assert_eq!(held.task_id, task_id);
    caller.begin(&held).await.unwrap()
}

/// A vehicle whose scan before work has passed and whose radar comes next.
async fn ready_for_the_radar(caller: &Caller, job_id: &str) {
    caller.bring_in(estimate(job_id, &["bumper-removed"])).await;
    let scan = pull_and_begin(caller, "ben", "pre-scan").await;
    caller.finish(&scan).await.unwrap();
}

#[tokio::test]
async fn a_preparation_that_was_not_met_is_open_again_with_everything_after_it() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &["bumper-removed", "camera-removed"])).await;
    let scan = pull_and_begin(&caller, "ben", "pre-scan").await;
    caller.finish(&scan).await.unwrap();
    let first = caller.pull("ana").await.unwrap();
    let first = caller.begin(&first).await.unwrap();
    caller.finish(&first).await.unwrap();
    let second = caller.pull("ana").await.unwrap();
    let second = caller.begin(&second).await.unwrap();
    assert_eq!(prerequisite(&caller, "J-1", "tyres").await.state(), PrerequisiteState::Done);

    let record = caller.fail(&second, FailureCause::Preparation, "tyres").await.unwrap();

    assert_eq!(
        (record.outcome(), record.cause()),
        (v1::Outcome::Failed, FailureCause::Preparation)
    );
    let tyres = prerequisite(&caller, "J-1", "tyres").await;
    assert_eq!((tyres.state(), tyres.sign_off), (PrerequisiteState::Open, None));
    assert_eq!(task(&caller, "J-1", &second.task_id).await.state(), TaskState::Failed);
    // The other calibration had rested on the same tyres.
    let first = task(&caller, "J-1", &first.task_id).await;
    assert_eq!(first.state(), TaskState::Open);
    assert!(first.undone.unwrap().by.contains("tyres"));
    assert_eq!(caller.holdings().await, []);

    caller.redo("J-1", &second.task_id, false).await.unwrap();
    let done = caller.work_off(&["ana", "ben"]).await;
    assert_eq!(done.len(), 4, "both calibrations, the drive and the scan after work");
    assert_eq!(prerequisite(&caller, "J-1", "tyres").await.state(), PrerequisiteState::Done);
    caller.hand_back("J-1", &[]).await.unwrap();
}

#[tokio::test]
async fn an_environment_that_was_not_right_puts_bay_and_method_in_doubt_until_cleared() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    ready_for_the_radar(&caller, "J-1").await;
    let first = pull_and_begin(&caller, "ana", "front-radar").await;
    caller.fail(&first, FailureCause::Environment, "").await.unwrap();
    refused(caller.pull("ana").await, Code::FailedPrecondition, "NOTHING_READY");

    // The other bay is taken, though the vehicle stands in the first one.
    caller.redo("J-1", "front-radar", false).await.unwrap();
    let second = pull_and_begin(&caller, "ana", "front-radar").await;
    assert_ne!(bay(&second), bay(&first));
    caller.fail(&second, FailureCause::Environment, "").await.unwrap();

    // Another vehicle of the class finds no bay, and no plan counts on one.
    ready_for_the_radar(&caller, "J-2").await;
    let refusal = refused(caller.pull("ana").await, Code::FailedPrecondition, "NOTHING_READY");
    assert!(refusal.metadata["J-2/front-radar"].contains("in doubt"), "{refusal:?}");
    let plan = caller.plan().await.unwrap();
    let left = plan.unplanned.iter().find(|one| one.task_id == "front-radar").unwrap();
    assert_eq!(left.job_id, "J-2");

    caller.redo("J-1", "front-radar", true).await.unwrap();
    let again = caller.pull("ana").await.unwrap();
    assert_eq!((again.task_id.as_str(), again.attempt), ("front-radar", 3));
    assert_eq!(bay(&again), bay(&second), "the vehicle stands there");
}

#[tokio::test]
async fn a_shop_whose_only_bay_is_in_doubt_says_that_no_bay_fits() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition_of_radars(1)).await;
    for job in ["J-1", "J-2"] {
        caller.bring_in(estimate(job, &["bumper-removed"])).await;
    }
    let running = pull_and_begin(&caller, "ana", "front-radar").await;
    caller.fail(&running, FailureCause::Environment, "").await.unwrap();
    caller.move_out(&running.job_id).await.unwrap();

    let refusal = refused(caller.pull("ana").await, Code::FailedPrecondition, "NO_FITTING_BAY");

    assert!(refusal.metadata["1"].contains("in doubt"), "{refusal:?}");
    caller.redo(&running.job_id, "front-radar", true).await.unwrap();
    assert_eq!(caller.work_off(&["ana"]).await.len(), 1, "the first vehicle stays in the bay");
}

#[tokio::test]
async fn a_task_that_is_put_back_frees_everything_and_leaves_a_record() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &["camera-removed"])).await;
    for task in ["pre-scan", "front-camera"] {
        let running = pull_and_begin(&caller, "ana", task).await;
        caller.finish(&running).await.unwrap();
    }
    for (attempt, begun) in [(1, false), (2, true)] {
        let held = caller.pull("ana").await.unwrap();
        assert_eq!((held.task_id.as_str(), held.attempt), ("road-drive", attempt));
        assert_eq!(held.technician_ids, ["ben", "ana"], "driver, then operator");
        let refusal = refused(caller.pull("ben").await, Code::FailedPrecondition, "HELD_ELSEWHERE");
        assert_eq!(
            (refusal.metadata["kind"].as_str(), refusal.metadata["id"].as_str()),
            ("technician", "ben")
        );
        if begun {
            caller.begin(&held).await.unwrap();
        }

        let record = caller.put_back(&held).await.unwrap();

        assert_eq!((record.outcome(), record.attempt), (v1::Outcome::PutBack, attempt));
        assert_eq!(caller.records("J-1").await.last(), Some(&record));
        assert_eq!(caller.holdings().await, []);
        assert_eq!(task(&caller, "J-1", "road-drive").await.state(), TaskState::Open);
    }
    assert_eq!(caller.work_off(&["ben", "ana"]).await.len(), 2);
}

#[tokio::test]
async fn an_expired_survey_stops_pulls_and_starts() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    ready_for_the_radar(&caller, "J-1").await;
    // Half an hour before and after the end of the last day on which the surveys count.
    let before: DateTime<Utc> = "2026-06-30T22:30:00Z".parse().unwrap();
    let after: DateTime<Utc> = "2026-06-30T23:30:00Z".parse().unwrap();
    assert!(at(0) < before);

    let service = service.restart_at(before).await;
    let held = service.caller().pull("ana").await.unwrap();
    assert_eq!((held.task_id.as_str(), held.survey_id.as_str()), ("front-radar", "may"));

    let service = service.restart_at(after).await;
    let caller = service.caller();
    let refusal = refused(caller.begin(&held).await, Code::FailedPrecondition, "NOT_READY");
    assert!(refusal.metadata["1"].contains("survey has expired"), "{refusal:?}");
    caller.put_back(&held).await.unwrap();
    let refusal = refused(caller.pull("ana").await, Code::FailedPrecondition, "NOTHING_READY");
    assert!(refusal.metadata["J-1/front-radar"].contains("No surveyed bay fits"), "{refusal:?}");

    let mut fresh = baywright_tests::system::survey(&definition().bays[1]);
    fresh.survey_id = "july".to_owned();
    fresh.taken_on = "2026-07-01".to_owned();
    fresh.valid_until = "2026-12-01".to_owned();
    caller.record_survey(fresh).await.unwrap();
    let held = caller.pull("ana").await.unwrap();
    assert_eq!((bay(&held), held.survey_id.as_str()), ("bay-2", "july"));
}

#[tokio::test]
async fn a_blocking_code_forbids_calibration_and_hand_back() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    caller.bring_in(estimate("J-1", &["bumper-removed"])).await;
    let scan = pull_and_begin(&caller, "ben", "pre-scan").await;
    let code = v1::FoundCode {
        code: "C-1 (invented)".to_owned(),
        text: "no signal from the sensor".to_owned(),
        blocking: true,
    };
    let finish = v1::FinishTaskRequest { codes: vec![code], ..Caller::finish_request(&scan) };
    let record = caller.send(finish).await.unwrap().record.unwrap();
    assert_eq!(record.codes.len(), 1);

    let refusal = refused(caller.pull("ana").await, Code::FailedPrecondition, "NOTHING_READY");
    assert!(refusal.metadata["J-1/front-radar"].contains("tried and not met"), "{refusal:?}");
    let reasons = caller.hand_back_reasons("J-1").await;
    assert!(reasons.iter().any(|reason| reason.key == "code:C-1 (invented)"), "{reasons:?}");

    caller.sign_off("J-1", "no-blocking-codes").await.unwrap();
    assert_eq!(caller.pull("ana").await.unwrap().task_id, "front-radar");
}

#[tokio::test]
async fn a_vehicle_left_behind_keeps_its_bay_until_it_is_moved() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition_with_bays(1)).await;
    for job in ["J-1", "J-2"] {
        ready_for_the_radar(&caller, job).await;
    }
    let running = pull_and_begin(&caller, "ana", "front-radar").await;
    let moved = caller.move_out(&running.job_id).await;
    refused(moved, Code::FailedPrecondition, "HELD_ELSEWHERE");
    caller.finish(&running).await.unwrap();
    let after = caller.pull("ana").await.unwrap();
    assert_eq!((after.task_id.as_str(), &after.job_id), ("post-scan", &running.job_id));
    caller.put_back(&after).await.unwrap();
    let other = if running.job_id == "J-1" { "J-2" } else { "J-1" };

    // The scan after work is in Ben's hands, so that nothing but the other radar is left to Ana.
    let scan = caller.pull("ben").await.unwrap();
    let refusal = refused(caller.pull("ana").await, Code::FailedPrecondition, "NOTHING_READY");
    let said = &refusal.metadata[&format!("{other}/front-radar")];
    assert!(said.contains(&format!("taken by the vehicle of job {}", running.job_id)), "{said}");
    let back = v1::PutBackTaskRequest {
        shop_id: SHOP.to_owned(),
        holding: Some(key_of(&scan)),
        note: "the bay is needed".to_owned(),
        request_id: new_request_id(),
    };
    caller.send(back).await.unwrap();
    caller.move_out(&running.job_id).await.unwrap();
    let scan = caller.pull("ben").await.unwrap();
    assert_eq!(scan.task_id, "post-scan");
    assert_eq!(caller.pull("ana").await.unwrap().job_id, other);
}
