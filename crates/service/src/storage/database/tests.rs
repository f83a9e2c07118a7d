//! What the opened file promises: durability, one process, readers that only read.

use super::*;
use crate::storage::testing::{TestDatabase, noon};
use rstest::rstest;
use sea_orm::{ConnectionTrait, Statement};

async fn pragma(conn: &impl ConnectionTrait, name: &str) -> String {
    let sql = format!("PRAGMA {name}");
    let row = conn.query_one_raw(Statement::from_string(conn.get_database_backend(), sql));
    let row = row.await.unwrap().unwrap();
    row.try_get_by_index::<i64>(0)
        .map(|number| number.to_string())
        .or_else(|_| row.try_get_by_index::<String>(0))
        .unwrap()
}

#[rstest]
// SQLite documentation, "PRAGMA Statements": synchronous 2 is FULL.
#[case::write_ahead_log("journal_mode", "wal", "wal")]
#[case::full_synchronisation("synchronous", "2", "2")]
#[case::foreign_keys("foreign_keys", "1", "1")]
#[case::busy_wait("busy_timeout", "5000", "5000")]
#[case::no_trust_in_the_schema("trusted_schema", "0", "0")]
#[case::only_the_writer_writes("query_only", "0", "1")]
#[tokio::test]
async fn every_connection_has_its_settings(
    #[case] name: &str,
    #[case] of_writer: &str,
    #[case] of_reader: &str,
) {
    let test = TestDatabase::open().await;
    assert_eq!(pragma(test.database.writer(), name).await, of_writer);
    assert_eq!(pragma(test.database.reader(), name).await, of_reader);
}

#[tokio::test]
async fn a_reader_refuses_to_write() {
    let test = TestDatabase::open().await;
    test.database.reader().execute_unprepared("DELETE FROM shops").await.unwrap_err();
}

#[tokio::test]
async fn a_second_process_on_one_file_is_refused_until_the_first_is_gone() {
    let test = TestDatabase::open().await;

    let refused = Database::open(&test.path()).await.unwrap_err();
    assert!(matches!(refused, OpenError::InUse { .. }));
    assert!(refused.to_string().contains("another process serves the database"));

    let (path, TestDatabase { database, folder }) = (test.path(), test);
    database.close().await.unwrap();
    let again = Database::open(&path).await.unwrap();
    let shop = crate::storage::shops::load_shop(again.reader(), "test-shop").await.unwrap();
    assert_eq!(shop.unwrap().1, 1, "what was kept is there again since {}", noon());
    drop(folder);
}

#[tokio::test]
async fn a_folder_that_is_not_there_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let refused = Database::open(&folder.path().join("absent/shop.db")).await.unwrap_err();
    assert!(refused.to_string().contains("shop.db.lock"), "{refused}");
}

#[tokio::test]
async fn a_file_that_is_no_database_is_refused_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("notes.txt");
    std::fs::write(&path, "not a database, but somebody's notes".repeat(100)).unwrap();

    Database::open(&path).await.unwrap_err();

    assert!(std::fs::read_to_string(&path).unwrap().starts_with("not a database"));
}
