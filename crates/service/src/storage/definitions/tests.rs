//! Revisions: immutable, one current at most.

use super::*;
use crate::storage::testing::{SHOP, TestDatabase, noon};
use sea_orm::ConnectionTrait as _;

fn bay(ceiling_mm: f64) -> Bay {
    Bay { bay_id: "bay-1".to_owned(), ceiling_mm, ..Bay::default() }
}

#[tokio::test]
async fn a_changed_thing_becomes_the_next_revision_and_the_old_one_stays() {
    let test = TestDatabase::open().await;
    let conn = test.database.writer();
    let put = async |bay| put_definition(conn, SHOP, &bay, noon()).await.unwrap();

    assert_eq!(put(bay(3_000.0)).await, Put::Added { revision: 1 });
    assert_eq!(put(bay(3_000.0)).await, Put::Unchanged { revision: 1 });
    assert_eq!(put(bay(3_200.0)).await, Put::Replaced { revision: 2 });

    let at = async |revision| definition_at::<Bay>(conn, SHOP, "bay-1", revision).await.unwrap();
    assert_eq!(at(1).await.unwrap().body, bay(3_000.0));
    assert_eq!(at(2).await.unwrap().body, bay(3_200.0));
    assert_eq!(at(3).await, None);
    let current = current_definitions::<Bay>(conn, SHOP).await.unwrap();
    assert_eq!(current, [Revision { revision: 2, since: noon(), body: bay(3_200.0) }]);
}

#[tokio::test]
async fn a_retired_thing_stays_readable_and_may_come_back() {
    let test = TestDatabase::open().await;
    let conn = test.database.writer();
    put_definition(conn, SHOP, &bay(3_000.0), noon()).await.unwrap();

    assert!(retire_definition::<Bay>(conn, SHOP, "bay-1", noon()).await.unwrap());
    assert!(!retire_definition::<Bay>(conn, SHOP, "bay-1", noon()).await.unwrap());
    assert_eq!(current_definition::<Bay>(conn, SHOP, "bay-1").await.unwrap(), None);
    assert!(definition_at::<Bay>(conn, SHOP, "bay-1", 1).await.unwrap().is_some());

    let back = put_definition(conn, SHOP, &bay(3_000.0), noon()).await.unwrap();
    assert_eq!(back, Put::Added { revision: 2 });
    let current = current_definition::<Bay>(conn, SHOP, "bay-1").await.unwrap();
    assert_eq!(current.unwrap().revision, 2);
}

#[tokio::test]
async fn things_of_different_kinds_may_share_a_name() {
    let test = TestDatabase::open().await;
    let conn = test.database.writer();
    let unit = Unit { unit_id: "bay-1".to_owned(), ..Unit::default() };
    put_definition(conn, SHOP, &bay(3_000.0), noon()).await.unwrap();
    put_definition(conn, SHOP, &unit, noon()).await.unwrap();

    assert_eq!(current_definitions::<Bay>(conn, SHOP).await.unwrap().len(), 1);
    assert_eq!(current_definitions::<Unit>(conn, SHOP).await.unwrap()[0].body, unit);
}

#[tokio::test]
async fn the_database_refuses_to_change_or_delete_a_revision() {
    let test = TestDatabase::open().await;
    let conn = test.database.writer();
    put_definition(conn, SHOP, &bay(3_000.0), noon()).await.unwrap();
    for sql in ["UPDATE definitions SET body = x'00'", "DELETE FROM definitions"] {
        let refused = conn.execute_unprepared(sql).await.unwrap_err().to_string();
        assert!(refused.contains("a revision of a definition"), "{refused}");
    }
}
