//! Exactly once, retries, trials without effect.

use super::*;
use crate::storage::{
    AuditRow, Settings, audit_of,
    jobs::{load_job, save_job},
    testing::{SHOP, TestDatabase, call, job},
};
use baywright_api::v1::{GetJobResponse, Job};
use sea_orm::ConnectionTrait as _;
use std::sync::{
    Arc,
    atomic::{AtomicU32, Ordering},
};

const REQUEST: &str = "0195563c-8f5c-7c1b-8f53-0f6b6f0d6a01";

/// Keeps a new job and counts its runs.
struct Input {
    job: Job,
    runs: Arc<AtomicU32>,
}

fn input(job: Job) -> (Input, Arc<AtomicU32>) {
    let runs = Arc::new(AtomicU32::new(0));
    (Input { job, runs: Arc::clone(&runs) }, runs)
}

async fn add(
    tx: &DatabaseTransaction,
    input: &Input,
) -> Result<Done<GetJobResponse>, ServiceError> {
    input.runs.fetch_add(1, Ordering::SeqCst);
    let mut job = input.job.clone();
    save_job(tx, &mut job, None).await?;
    let reply = GetJobResponse { job: Some(job.clone()), ..GetJobResponse::default() };
    Ok(Done::new(reply).changed("job", job.job_id.clone(), None, Some(&job)))
}

async fn send(database: &Database, request: &Job) -> (Result<GetJobResponse, ServiceError>, u32) {
    let (input, runs) = input(request.clone());
    let call = call(REQUEST, request);
    let answer = database.exactly_once(call, input, |tx, input| Box::pin(add(tx, input))).await;
    (answer, runs.load(Ordering::SeqCst))
}

async fn trail(database: &Database) -> Vec<AuditRow> {
    audit_of(database.reader(), SHOP, ("job", "J-1"), 0, 10).await.unwrap()
}

#[tokio::test]
async fn a_repeat_gets_equal_bytes_and_changes_nothing() {
    let test = TestDatabase::open().await;
    let request = job("J-1", 60);

    let (first, first_runs) = send(&test.database, &request).await;
    let (second, second_runs) = send(&test.database, &request).await;

    assert_eq!(first.unwrap().encode_to_vec(), second.unwrap().encode_to_vec());
    assert_eq!((first_runs, second_runs), (1, 0));
    let trail = trail(&test.database).await;
    assert_eq!(trail.len(), 1);
    assert_eq!((trail[0].actor.as_str(), trail[0].method.as_str()), ("Tester", "Test"));
    assert_eq!(trail[0].request_id, REQUEST);
    let kept = load_job(test.database.reader(), SHOP, "J-1").await.unwrap().unwrap();
    assert_eq!(trail[0].before, None);
    assert_eq!(trail[0].after, Some(kept.encode_to_vec()));
}

#[tokio::test]
async fn a_repeat_after_a_restart_gets_equal_bytes() {
    let test = TestDatabase::open().await;
    let (first, _) = send(&test.database, &job("J-1", 60)).await;

    let path = test.path();
    let TestDatabase { database, folder } = test;
    database.close().await.unwrap();
    let again = Database::open(&path).await.unwrap();
    let (second, runs) = send(&again, &job("J-1", 60)).await;

    assert_eq!(first.unwrap().encode_to_vec(), second.unwrap().encode_to_vec());
    assert_eq!(runs, 0);
    drop(folder);
}

#[tokio::test]
async fn another_body_with_the_same_request_id_is_refused() {
    let test = TestDatabase::open().await;
    send(&test.database, &job("J-1", 60)).await.0.unwrap();

    let (refused, runs) = send(&test.database, &job("J-2", 60)).await;

    assert!(matches!(refused, Err(ServiceError::RequestIdReused { .. })));
    assert_eq!(runs, 0);
    assert_eq!(load_job(test.database.reader(), SHOP, "J-2").await.unwrap(), None);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn duplicates_that_arrive_together_have_one_effect() {
    let test = TestDatabase::open().await;
    let mut sent = tokio::task::JoinSet::new();
    for _ in 0..16 {
        let database = test.database.clone();
        sent.spawn(async move { send(&database, &job("J-1", 60)).await });
    }

    let answers = sent.join_all().await;

    assert_eq!(answers.iter().map(|(_, runs)| runs).sum::<u32>(), 1);
    let bytes: Vec<_> =
        answers.into_iter().map(|(answer, _)| answer.unwrap().encode_to_vec()).collect();
    assert!(bytes.iter().all(|answer| *answer == bytes[0]));
    assert_eq!(trail(&test.database).await.len(), 1);
}

#[tokio::test]
async fn a_refusal_leaves_nothing_behind_and_may_be_sent_again() {
    let test = TestDatabase::open().await;
    let request = job("J-1", 60);
    let refused = test
        .database
        .exactly_once(call(REQUEST, &request), request.clone(), |tx, request| {
            Box::pin(async move {
                save_job(tx, &mut request.clone(), None).await?;
                Err::<Done<GetJobResponse>, _>(ServiceError::not_found("bay", "bay-9"))
            })
        })
        .await;
    assert!(matches!(refused, Err(ServiceError::NotFound { .. })));
    assert_eq!(load_job(test.database.reader(), SHOP, "J-1").await.unwrap(), None);

    send(&test.database, &request).await.0.unwrap();
    assert_eq!(trail(&test.database).await.len(), 1);
}

#[tokio::test]
async fn a_trial_says_what_would_happen_and_does_nothing() {
    let test = TestDatabase::open().await;
    let (input, runs) = input(job("J-1", 60));

    let done = test.database.rehearse(input, |tx, input| Box::pin(add(tx, input))).await.unwrap();

    assert_eq!(done.reply.job.unwrap().job_id, "J-1");
    assert_eq!(runs.load(Ordering::SeqCst), 1);
    assert_eq!(load_job(test.database.reader(), SHOP, "J-1").await.unwrap(), None);
}

#[tokio::test]
async fn work_that_panics_is_internal_trouble_and_frees_the_writer() {
    let test = TestDatabase::open().await;

    let panicked: Result<(), _> =
        test.database.write((), |_, ()| Box::pin(async { panic!("on purpose") })).await;

    assert!(matches!(panicked, Err(ServiceError::Internal(_))));
    send(&test.database, &job("J-1", 60)).await.0.unwrap();
}

#[tokio::test]
async fn a_caller_that_goes_away_does_not_tear_the_write() {
    let test = TestDatabase::open().await;
    let (input, _) = input(job("J-1", 60));
    let (begun, has_begun) = tokio::sync::oneshot::channel();
    let begun = std::sync::Mutex::new(Some(begun));
    let database = test.database.clone();
    let caller = tokio::spawn(async move {
        let work = (input, begun);
        let slow = database.write(work, |tx, (input, begun)| {
            Box::pin(async move {
                if let Some(begun) = begun.lock().unwrap().take() {
                    begun.send(()).unwrap();
                }
                tokio::time::sleep(Duration::from_millis(50)).await;
                add(tx, input).await
            })
        });
        slow.await.map(drop)
    });

    has_begun.await.unwrap();
    caller.abort();
    assert!(caller.await.unwrap_err().is_cancelled());
    test.database.drain().await;

    assert!(load_job(test.database.reader(), SHOP, "J-1").await.unwrap().is_some());
}

/// A second writer on the file, as another process would be.
async fn second_writer(test: &TestDatabase) -> DatabaseConnection {
    let mut options = sea_orm::ConnectOptions::new(format!("sqlite:{}", test.path().display()));
    options.max_connections(1).sqlx_logging(false);
    let second = sea_orm::Database::connect(options).await.unwrap();
    second.execute_unprepared("BEGIN IMMEDIATE").await.unwrap();
    second
}

#[tokio::test]
async fn a_write_waits_for_a_second_writer_and_tries_again() {
    // Without SQLite's own waiting, so that only the repeats can help.
    let test = TestDatabase::open_with(Settings { busy_wait: Duration::ZERO }).await;
    let second = second_writer(&test).await;
    let release = tokio::spawn(async move {
        tokio::time::sleep(Duration::from_millis(60)).await;
        second.execute_unprepared("COMMIT").await.unwrap();
    });

    let (answer, runs) = send(&test.database, &job("J-1", 60)).await;

    answer.unwrap();
    assert_eq!(runs, 1);
    release.await.unwrap();
}

#[tokio::test]
async fn a_database_that_stays_busy_is_said_to_be_busy() {
    let test = TestDatabase::open_with(Settings { busy_wait: Duration::ZERO }).await;
    let second = second_writer(&test).await;

    let (answer, runs) = send(&test.database, &job("J-1", 60)).await;

    assert!(matches!(answer, Err(ServiceError::Busy)));
    assert_eq!(runs, 0);
    second.execute_unprepared("ROLLBACK").await.unwrap();
    send(&test.database, &job("J-1", 60)).await.0.unwrap();
}

#[tokio::test]
async fn work_that_finds_the_database_busy_runs_again_from_the_start() {
    let test = TestDatabase::open().await;
    let (input, runs) = input(job("J-1", 60));

    let done = test
        .database
        .write(input, |tx, input| {
            Box::pin(async move {
                let done = add(tx, input).await?;
                let is_first_run = input.runs.load(Ordering::SeqCst) == 1;
                if is_first_run { Err(ServiceError::Busy) } else { Ok(done) }
            })
        })
        .await;

    assert!(done.is_ok(), "the first run's job was taken back, so it is new again");
    assert_eq!(runs.load(Ordering::SeqCst), 2);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn no_update_is_lost_between_writers() {
    let test = TestDatabase::open().await;
    save_job(test.database.writer(), &mut job("J-1", 0), None).await.unwrap();
    let mut writers = tokio::task::JoinSet::new();
    for _ in 0..4 {
        let database = test.database.clone();
        writers.spawn(async move {
            for _ in 0..25 {
                let raised = database.write((), |tx, ()| {
                    Box::pin(async move {
                        let mut job = load_job(tx, SHOP, "J-1").await?.unwrap();
                        job.weight += 1;
                        let version = crate::storage::etag::version_of(&job.etag);
                        Ok(save_job(tx, &mut job, version).await?)
                    })
                });
                raised.await.unwrap();
            }
        });
    }
    writers.join_all().await;

    let job = load_job(test.database.reader(), SHOP, "J-1").await.unwrap().unwrap();
    assert_eq!((job.weight, job.etag.as_str()), (100, "\"101\""));
}

#[tokio::test]
async fn reads_of_one_snapshot_agree() {
    let test = TestDatabase::open().await;
    let writer = test.database.clone();

    let counted = test
        .database
        .read(writer, |tx, writer| {
            Box::pin(async move {
                let before = load_job(tx, SHOP, "J-1").await?;
                save_job(writer.writer(), &mut job("J-1", 60), None).await?;
                let after = load_job(tx, SHOP, "J-1").await?;
                Ok((before.is_some(), after.is_some()))
            })
        })
        .await
        .unwrap();

    assert_eq!(counted, (false, false));
    assert!(load_job(test.database.reader(), SHOP, "J-1").await.unwrap().is_some());
}

#[test]
fn a_pause_doubles_and_is_never_longer_than_its_bound() {
    for repeats in 0..WRITE_RETRIES_MAX {
        let longest = Duration::from_millis(5 << repeats);
        let pause = pause(repeats);
        assert!(pause >= longest / 2 && pause <= longest, "{repeats}: {pause:?}");
    }
}
