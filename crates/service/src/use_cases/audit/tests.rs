//! Filters, pages and what an entry says.

use super::*;
use crate::{
    clock::Clock,
    storage::{
        Call, CallParts, Done,
        testing::{SHOP, TestDatabase, job, noon, task},
    },
};
use baywright_api::v1::GetJobResponse;
use chrono::TimeDelta;
use rstest::rstest;
use uuid::Uuid;

/// Notes that a thing changed, by a call of its own.
async fn note(
    app: &App,
    (method, actor, minute): (&'static str, &str, i64),
    (kind, thing_id): (&'static str, &'static str),
    bodies: [Option<Vec<u8>>; 2],
) {
    let request_id = Uuid::new_v4().to_string();
    let at = noon() + TimeDelta::minutes(minute);
    let parts = CallParts { shop_id: SHOP, method, request_id: &request_id, actor, at };
    let call = Call::new(parts, &()).unwrap();
    let noted = app.database.exactly_once(call, bodies, move |_, [before, after]| {
        let done = Done::new(GetJobResponse::default());
        let done = done.changed_bytes(kind, thing_id, before.clone(), after.clone());
        Box::pin(async { Ok(done) })
    });
    noted.await.unwrap();
}

/// Two jobs, one of which changes, and a holding that ends.
async fn shop_with_a_trail() -> (TestDatabase, App) {
    let test = TestDatabase::open().await;
    let app = App::new(test.database.clone(), Clock::system());
    let first = job("J-1", 60);
    let held = v1::Task { state: v1::TaskState::Held.into(), ..task("front-camera") };
    let changed = v1::Job { tasks: vec![held], weight: 3, ..first.clone() };
    let bytes = |job: &v1::Job| Some(job.encode_to_vec());
    note(&app, ("SubmitEstimate", "ruth", 0), ("job", "J-1"), [None, bytes(&first)]).await;
    note(&app, ("SubmitEstimate", "ruth", 1), ("job", "J-2"), [None, bytes(&job("J-2", 9))]).await;
    note(&app, ("PullTask", "ada", 2), ("job", "J-1"), [bytes(&first), bytes(&changed)]).await;
    let holding = crate::storage::testing::holding("J-1", "ada", "scan-1").encode_to_vec();
    note(&app, ("PutBackTask", "ada", 3), ("holding", "7"), [Some(holding), None]).await;
    (test, app)
}

fn asked() -> v1::ListAuditEntriesRequest {
    v1::ListAuditEntriesRequest { shop_id: SHOP.to_owned(), ..Default::default() }
}

async fn numbers(app: &App, request: v1::ListAuditEntriesRequest) -> Vec<u64> {
    let page = list_entries(app, request).await.unwrap();
    page.entries.iter().map(|entry| entry.number).collect()
}

#[tokio::test]
async fn an_entry_says_who_did_what_to_which_field() {
    let (_test, app) = shop_with_a_trail().await;
    let entries = list_entries(&app, asked()).await.unwrap().entries;

    let pulled = &entries[2];
    assert_eq!((pulled.actor.as_str(), pulled.method.as_str()), ("ada", "PullTask"));
    assert_eq!((pulled.kind.as_str(), pulled.thing_id.as_str()), ("job", "J-1"));
    assert_eq!(pulled.change(), ThingChange::Changed);
    assert_eq!(pulled.time, Some(timestamp(noon() + TimeDelta::minutes(2))));
    let fields: Vec<_> = pulled
        .fields
        .iter()
        .map(|field| [field.path.as_str(), field.before.as_str(), field.after.as_str()])
        .collect();
    let state = ["tasks[front-camera].state", "\"TASK_STATE_OPEN\"", "\"TASK_STATE_HELD\""];
    assert_eq!(fields, [state, ["weight", "", "3"]]);
    assert_eq!(entries[0].change(), ThingChange::Added);
    assert_eq!(entries[3].change(), ThingChange::Removed);
    assert!(entries[3].fields.iter().all(|field| field.after.is_empty()));
}

#[rstest]
#[case::all(asked(), &[1, 2, 3, 4])]
#[case::newest_first(v1::ListAuditEntriesRequest { newest_first: true, ..asked() }, &[4, 3, 2, 1])]
#[case::a_kind(v1::ListAuditEntriesRequest { kind: "job".into(), ..asked() }, &[1, 2, 3])]
#[case::a_thing(
    v1::ListAuditEntriesRequest { kind: "job".into(), thing_id: "J-1".into(), ..asked() }, &[1, 3]
)]
#[case::an_actor(v1::ListAuditEntriesRequest { actor: "ada".into(), ..asked() }, &[3, 4])]
#[case::a_method(v1::ListAuditEntriesRequest { method: "PullTask".into(), ..asked() }, &[3])]
#[case::a_time_range(
    v1::ListAuditEntriesRequest {
        from_time: Some(timestamp(noon() + TimeDelta::minutes(1))),
        until_time: Some(timestamp(noon() + TimeDelta::minutes(3))),
        ..asked()
    },
    &[2, 3]
)]
#[case::nobody(v1::ListAuditEntriesRequest { actor: "nobody".into(), ..asked() }, &[])]
#[tokio::test]
async fn entries_are_found_by(
    #[case] request: v1::ListAuditEntriesRequest,
    #[case] expected: &[u64],
) {
    let (_test, app) = shop_with_a_trail().await;
    assert_eq!(numbers(&app, request).await, expected);
}

#[rstest]
#[case::oldest_first(false)]
#[case::newest_first(true)]
#[tokio::test]
async fn pages_join_into_the_whole_list(#[case] newest_first: bool) {
    let (_test, app) = shop_with_a_trail().await;
    let whole = v1::ListAuditEntriesRequest { newest_first, ..asked() };
    let mut request = v1::ListAuditEntriesRequest { page_size: 3, ..whole.clone() };
    let mut joined = Vec::new();
    loop {
        let page = list_entries(&app, request.clone()).await.unwrap();
        assert!(page.entries.len() <= 3);
        joined.extend(page.entries.iter().map(|entry| entry.number));
        request.page_token = page.next_page_token;
        if request.page_token.is_empty() {
            break;
        }
    }
    assert_eq!(joined, numbers(&app, whole).await);
}

#[tokio::test]
async fn more_rows_than_are_read_at_once_come_in_one_page() {
    let (_test, app) = shop_with_a_trail().await;
    for _ in 0..ROWS_AT_ONCE {
        note(&app, ("Test", "ruth", 5), ("plan", "1"), [None, Some(Vec::new())]).await;
    }
    let request = v1::ListAuditEntriesRequest { page_size: 54, ..asked() };
    let page = list_entries(&app, request).await.unwrap();
    assert_eq!((page.entries.len(), page.next_page_token.as_str()), (54, ""));
}

#[tokio::test]
async fn a_page_that_grows_too_long_ends_early() {
    let (_test, app) = shop_with_a_trail().await;
    // 200 fields of 2000 characters: an entry of 400 kB, so that eleven go beyond 4 MiB.
    let tasks = (0..200).map(|n| v1::Task { title: "x".repeat(3_000), ..task(&format!("t{n}")) });
    let long = v1::Job { tasks: tasks.collect(), ..job("J-9", 60) };
    let (none, long) = (job("J-9", 60).encode_to_vec(), long.encode_to_vec());
    for _ in 0..12 {
        let bodies = [Some(none.clone()), Some(long.clone())];
        note(&app, ("Test", "ruth", 5), ("job", "J-9"), bodies).await;
    }
    let request = v1::ListAuditEntriesRequest { page_size: 200, ..asked() };
    let page = list_entries(&app, request.clone()).await.unwrap();
    assert!(page.entries.len() < 16 && page.encoded_len() < 2 * AUDIT_PAGE_BYTES_MAX);
    let next = v1::ListAuditEntriesRequest { page_token: page.next_page_token, ..request };
    let rest = list_entries(&app, next).await.unwrap();
    assert_eq!(page.entries.len() + rest.entries.len(), 16);
}

#[rstest]
#[case::a_name_without_its_kind(
    v1::ListAuditEntriesRequest { thing_id: "J-1".into(), ..asked() }, "kind"
)]
#[case::a_page_size(v1::ListAuditEntriesRequest { page_size: -1, ..asked() }, "page_size")]
#[case::a_page_token(v1::ListAuditEntriesRequest { page_token: "x".into(), ..asked() }, "page_token")]
#[case::times_the_wrong_way_round(
    v1::ListAuditEntriesRequest {
        from_time: Some(timestamp(noon())), until_time: Some(timestamp(noon())), ..asked()
    },
    "until_time"
)]
#[tokio::test]
async fn a_fault_of_the_request_is_named(
    #[case] request: v1::ListAuditEntriesRequest,
    #[case] field: &str,
) {
    let (_test, app) = shop_with_a_trail().await;
    match list_entries(&app, request).await.unwrap_err() {
        ServiceError::InvalidFields(faults) => assert_eq!(faults.list()[0].field, field),
        other => panic!("{other}"),
    }
}

#[tokio::test]
async fn nothing_of_another_shop_is_listed() {
    let (_test, app) = shop_with_a_trail().await;
    let request = v1::ListAuditEntriesRequest { shop_id: "other-shop".into(), ..asked() };
    let refused = list_entries(&app, request).await.unwrap_err();
    assert!(matches!(refused, ServiceError::NotFound { kind: "shop", .. }), "{refused}");
}
