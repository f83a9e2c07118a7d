//! Versions, mirrored tasks, pages.

use super::*;
use crate::storage::{
    etag::version_of,
    testing::{SHOP, TestDatabase, job, keep, task},
};

#[tokio::test]
async fn a_job_is_read_back_as_it_was_kept_with_its_etag() {
    let test = TestDatabase::open().await;
    let conn = test.database.writer();
    let mut kept = job("J-1", 60);

    assert_eq!(save_job(conn, &mut kept, None).await.unwrap(), 1);

    assert_eq!(kept.etag, "\"1\"");
    assert_eq!(load_job(conn, SHOP, "J-1").await.unwrap(), Some(kept));
    assert_eq!(load_job(conn, "other-shop", "J-1").await.unwrap(), None);
}

#[tokio::test]
async fn a_change_that_rests_on_an_old_version_is_refused_with_the_new_etag() {
    let test = TestDatabase::open().await;
    let conn = test.database.writer();
    let mut first = keep(conn, job("J-1", 60)).await;
    let mut second = first.clone();
    let version = version_of(&first.etag);
    assert_eq!(save_job(conn, &mut first, version).await.unwrap(), 2);

    let refused = save_job(conn, &mut second, version).await.unwrap_err();

    assert!(matches!(&refused, StorageError::Stale { kind: "job", etag, .. } if etag == "\"2\""));
    assert_eq!(second.etag, "\"1\"", "a refused job keeps the etag that it was read with");
}

#[tokio::test]
async fn a_new_job_does_not_replace_one_of_its_name() {
    let test = TestDatabase::open().await;
    let conn = test.database.writer();
    keep(conn, job("J-1", 60)).await;

    let refused = save_job(conn, &mut job("J-1", 90), None).await.unwrap_err();

    assert!(matches!(refused, StorageError::Stale { .. }));
}

#[tokio::test]
async fn the_mirrored_tasks_follow_the_job() {
    let test = TestDatabase::open().await;
    let conn = test.database.writer();
    let open = async |state| tasks_in_state(conn, SHOP, state).await.unwrap();
    let named = |task_id: &str| ("J-1".to_owned(), task_id.to_owned());
    let mut kept = keep(conn, job("J-1", 60)).await;
    assert_eq!(open(TaskState::Open).await, [named("front-camera")]);

    kept.tasks[0].set_state(TaskState::Passed);
    kept.tasks.push(task("post-scan"));
    kept.tasks.push(task("pre-scan"));
    save_job(conn, &mut kept, Some(1)).await.unwrap();
    assert_eq!(open(TaskState::Open).await, [named("post-scan"), named("pre-scan")]);
    assert_eq!(open(TaskState::Passed).await, [named("front-camera")]);

    kept.tasks.retain(|task| task.task_id != "post-scan");
    save_job(conn, &mut kept, Some(2)).await.unwrap();
    assert_eq!(open(TaskState::Open).await, [named("pre-scan")]);
}

#[tokio::test]
async fn every_state_of_the_contract_can_be_kept() {
    let test = TestDatabase::open().await;
    let conn = test.database.writer();
    let mut many = job("J-1", 60);
    many.tasks.clear();
    for number in 1..=10 {
        let state = TaskState::try_from(number).unwrap();
        let mut task = task(&format!("task-{number}"));
        task.set_state(state);
        many.tasks.push(task);
    }
    keep(conn, many).await;
    for number in 1..=4 {
        let mut job = job(&format!("job-{number}"), 0);
        job.set_state(JobState::try_from(number).unwrap());
        keep(conn, job).await;
    }
    assert!(JobState::try_from(5).is_err() && TaskState::try_from(11).is_err());
}

#[tokio::test]
async fn a_job_without_state_or_promise_is_not_kept() {
    let test = TestDatabase::open().await;
    let no_state = Job { state: 0, ..job("J-1", 0) };
    let no_promise = Job { promise_time: None, ..job("J-1", 0) };
    for mut job in [no_state, no_promise] {
        let refused = save_job(test.database.writer(), &mut job, None).await.unwrap_err();
        assert!(matches!(refused, StorageError::Unstorable { .. }));
    }
}

#[tokio::test]
async fn pages_run_by_promise_then_by_name_without_gap_or_repeat() {
    let test = TestDatabase::open().await;
    let conn = test.database.writer();
    for (job_id, promise) in [("d", 30), ("a", 90), ("c", 30), ("b", 60)] {
        keep(conn, job(job_id, promise)).await;
    }
    let mut gone = job("gone", 10);
    gone.set_state(JobState::HandedBack);
    keep(conn, gone).await;

    let states = [JobState::Expected, JobState::OnSite];
    let mut seen = Vec::new();
    let mut after = None;
    loop {
        let page = list_jobs(conn, SHOP, &states, after.as_ref(), 3).await.unwrap();
        let Some(last) = page.last() else { break };
        let micros = last.promise_time.unwrap().seconds * 1_000_000;
        let promise = DateTime::from_timestamp_micros(micros).unwrap();
        after = Some(JobKey { promise, job_id: last.job_id.clone() });
        seen.extend(page.into_iter().map(|job| job.job_id));
    }

    assert_eq!(seen, ["c", "d", "b", "a"]);
    assert!(list_jobs(conn, SHOP, &[], None, 3).await.unwrap().is_empty());
}
