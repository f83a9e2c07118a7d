//! What can be held once is held once.

use super::*;
use crate::storage::testing::{SHOP, TestDatabase, holding, job, keep, noon, task};
use rstest::rstest;

async fn two_jobs() -> TestDatabase {
    let test = TestDatabase::open().await;
    for job_id in ["J-1", "J-2"] {
        let mut job = job(job_id, 60);
        job.tasks.push(task("post-scan"));
        keep(test.database.writer(), job).await;
    }
    test
}

#[rstest]
#[case::the_task(Holding { ..holding("J-1", "ben", "scan-2") }, "task:J-1/front-camera")]
#[case::the_vehicle(
    Holding { task_id: "post-scan".to_owned(), ..holding("J-1", "ben", "scan-2") },
    "vehicle:J-1"
)]
#[case::the_technician(holding("J-2", "ada", "scan-2"), "technician:ada")]
#[case::the_unit(holding("J-2", "ben", "scan-1"), "unit:scan-1")]
#[case::a_helper(
    Holding { technician_ids: vec!["ben".to_owned(), "ada".to_owned()], ..holding("J-2", "ben", "scan-2") },
    "technician:ada"
)]
#[tokio::test]
async fn two_holdings_do_not_share(#[case] mut second: Holding, #[case] shared: &str) {
    let test = two_jobs().await;
    let conn = test.database.writer();
    insert_holding(conn, &mut holding("J-1", "ada", "scan-1")).await.unwrap();

    let refused = insert_holding(conn, &mut second).await.unwrap_err();

    let StorageError::Claimed { claim } = refused else { panic!("{refused}") };
    assert_eq!(claim, shared);
}

#[tokio::test]
async fn what_a_holding_held_is_free_after_its_end() {
    let test = two_jobs().await;
    let conn = test.database.writer();
    let mut first = holding("J-1", "ada", "scan-1");
    insert_holding(conn, &mut first).await.unwrap();

    end_holding(conn, &first, noon()).await.unwrap();

    assert_eq!(active_claims(conn, SHOP).await.unwrap(), BTreeMap::new());
    let mut again = Holding { attempt: 2, ..holding("J-1", "ada", "scan-1") };
    let fence = insert_holding(conn, &mut again).await.unwrap();
    assert!(fence > first.fence, "every pull has a higher number");
}

#[tokio::test]
async fn an_active_holding_is_found_by_technician_and_task() {
    let test = two_jobs().await;
    let conn = test.database.writer();
    let mut first = holding("J-1", "ada", "scan-1");
    let mut second = holding("J-2", "ben", "scan-2");
    insert_holding(conn, &mut first).await.unwrap();
    insert_holding(conn, &mut second).await.unwrap();
    first.minutes = 45;
    save_holding(conn, &first).await.unwrap();

    let fence = first.fence;
    let found = Some(first.clone());
    assert_eq!(active_holding_of_technician(conn, SHOP, "ada").await.unwrap(), found);
    assert_eq!(active_holding_of_technician(conn, SHOP, "eve").await.unwrap(), None);
    assert_eq!(active_holding_of_task(conn, SHOP, "J-1", "front-camera").await.unwrap(), found);
    assert_eq!(active_holdings(conn, SHOP).await.unwrap(), [first, second]);
    assert_eq!(active_claims(conn, SHOP).await.unwrap()["unit:scan-2"], fence + 1);
}

#[tokio::test]
async fn a_holding_that_is_over_can_neither_change_nor_end_again() {
    let test = two_jobs().await;
    let conn = test.database.writer();
    let mut over = holding("J-1", "ada", "scan-1");
    insert_holding(conn, &mut over).await.unwrap();
    end_holding(conn, &over, noon()).await.unwrap();

    let fence = over.fence;
    for refused in [save_holding(conn, &over).await, end_holding(conn, &over, noon()).await] {
        assert!(matches!(refused, Err(StorageError::FenceLost { fence: lost }) if lost == fence));
    }
    assert_eq!(active_holdings(conn, SHOP).await.unwrap(), []);
}

#[tokio::test]
async fn attempts_at_a_task_are_counted() {
    let test = two_jobs().await;
    let conn = test.database.writer();
    let next = async || next_attempt(conn, SHOP, "J-1", "front-camera").await.unwrap();
    assert_eq!(next().await, 1);
    insert_holding(conn, &mut holding("J-1", "ada", "scan-1")).await.unwrap();
    assert_eq!(next().await, 2);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn of_many_pulls_of_one_task_one_succeeds() {
    let test = two_jobs().await;
    let mut pulls = tokio::task::JoinSet::new();
    for number in 0..16 {
        let database = test.database.clone();
        let wanted = holding("J-1", &format!("tech-{number}"), &format!("unit-{number}"));
        pulls.spawn(async move {
            let pull = database.write(wanted, |tx, wanted| {
                Box::pin(async move { Ok(insert_holding(tx, &mut wanted.clone()).await?) })
            });
            pull.await
        });
    }

    let pulls = pulls.join_all().await;

    assert_eq!(pulls.iter().filter(|pull| pull.is_ok()).count(), 1);
    assert_eq!(active_holdings(test.database.reader(), SHOP).await.unwrap().len(), 1);
    assert_eq!(active_claims(test.database.reader(), SHOP).await.unwrap().len(), 4);
}

#[tokio::test]
async fn a_holding_of_a_task_that_is_not_there_is_refused() {
    let test = TestDatabase::open().await;
    let mut of_nothing = holding("J-9", "ada", "scan-1");
    let refused = insert_holding(test.database.writer(), &mut of_nothing).await;
    assert!(matches!(refused, Err(StorageError::Database(_))));
}
