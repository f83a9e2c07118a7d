//! No gap, no duplicate, and an end that tells where to go on.

use super::*;
use crate::{
    clock::Clock,
    storage::{
        Call, CallParts, Done,
        shops::put_shop,
        testing::{SHOP, TestDatabase, job, noon},
    },
};
use baywright_api::v1::{GetJobResponse, Shop};
use futures_util::StreamExt as _;
use rstest::rstest;
use uuid::Uuid;

const LONG: Duration = Duration::from_mins(1);

async fn shop() -> (TestDatabase, App) {
    let test = TestDatabase::open().await;
    let app = App::new(test.database.clone(), Clock::system());
    (test, app)
}

/// Notes that a job of a shop is new, by a call of its own.
async fn note(app: &App, shop_id: &'static str) {
    let request_id = Uuid::new_v4().to_string();
    let (method, request_id, actor) = ("Test", request_id.as_str(), "Tester");
    let parts = CallParts { shop_id, method, request_id, actor, at: noon() };
    let call = Call::new(parts, &()).unwrap();
    let noted = app.database.exactly_once(call, (), |_, ()| {
        Box::pin(async {
            let done = Done::new(GetJobResponse::default());
            Ok(done.changed("job", "J-1", None, Some(&job("J-1", 60))))
        })
    });
    noted.await.unwrap();
}

fn from(token: &str) -> v1::WatchChangesRequest {
    v1::WatchChangesRequest { shop_id: SHOP.to_owned(), resume_token: token.to_owned() }
}

async fn open(app: &App, token: &str) -> std::pin::Pin<Box<dyn Stream<Item = WatchItem> + Send>> {
    Box::pin(watch_changes(app, from(token), None).await.unwrap())
}

async fn trail(app: &App) -> Vec<u64> {
    let (all, order) = (AuditFilter::default(), AuditOrder::OldestFirst(0));
    let rows = list_audit(app.database.reader(), SHOP, &all, order, 100_000).await.unwrap();
    rows.iter().map(|row| row.id.unsigned_abs()).collect()
}

#[tokio::test]
async fn a_watch_from_now_on_tells_first_where_it_stands_and_then_what_changes() {
    let (_test, app) = shop().await;
    note(&app, SHOP).await;
    let mut watch = open(&app, "").await;

    assert_eq!(watch.next().await.unwrap().unwrap(), token_only(1));
    let before = Instant::now();
    let (item, ()) = tokio::join!(watch.next(), note(&app, SHOP));

    let item = item.unwrap().unwrap();
    assert_eq!(item.resume_token, "2");
    let change = item.change.unwrap();
    assert_eq!((change.number, change.kind.as_str(), change.job_id.as_str()), (2, "job", "J-1"));
    assert_eq!((change.method.as_str(), change.actor.as_str()), ("Test", "Tester"));
    assert!(before.elapsed() < WATCH_POLL, "the commit wakes it");
}

/// A change that no commit of this process announces is found all the same.
#[tokio::test]
async fn a_watch_looks_by_itself_when_nothing_wakes_it() {
    let (test, app) = shop().await;
    let mut watch = open(&app, "").await;
    watch.next().await.unwrap().unwrap();
    let asleep = tokio::spawn(async move { watch.next().await });
    sleep(Duration::from_millis(200)).await;

    let call = crate::storage::testing::call(&Uuid::new_v4().to_string(), &());
    let entry = crate::storage::AuditEntry {
        kind: "job",
        thing_id: "J-1".to_owned(),
        before: None,
        after: None,
    };
    crate::storage::append(test.database.writer(), &call, &[entry]).await.unwrap();

    let found = tokio::time::timeout(WATCH_POLL * 3, asleep).await.unwrap().unwrap();
    assert_eq!(found.unwrap().unwrap().resume_token, "1");
}

#[tokio::test]
async fn a_watch_from_the_beginning_tells_the_whole_trail() {
    let (_test, app) = shop().await;
    for _ in 0..WATCH_AHEAD_MAX + 20 {
        note(&app, SHOP).await;
    }
    let watch = open(&app, "0").await;
    let trail = trail(&app).await;
    let items: Vec<_> = watch.take(trail.len() + 1).collect().await;
    let told: Vec<_> =
        items.iter().filter_map(|item| item.as_ref().unwrap().change.as_ref()).collect();
    let numbers: Vec<_> = told.iter().map(|change| change.number).collect();
    assert_eq!(numbers, trail);
}

/// Cuts the connection at random points while a writer goes on, and compares with the trail.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_watch_that_is_cut_again_and_again_has_no_gap_and_no_duplicate() {
    const WRITES: usize = 300;
    let (_test, app) = shop().await;
    put_shop(app.database.writer(), &other_shop(), noon()).await.unwrap();
    let writer = app.clone();
    let writing = tokio::spawn(async move {
        for _ in 0..WRITES {
            note(&writer, SHOP).await;
            note(&writer, "other-shop").await;
        }
    });

    let (mut token, mut told, mut cuts) = ("0".to_owned(), Vec::new(), 0);
    while told.len() < WRITES {
        let mut watch = open(&app, &token).await;
        let until_cut = Uuid::new_v4().as_u128() % 12;
        for _ in 0..until_cut {
            if told.len() == WRITES {
                break;
            }
            let item = watch.next().await.unwrap().unwrap();
            token = item.resume_token;
            told.extend(item.change.map(|change| change.number));
        }
        cuts += 1;
    }

    writing.await.unwrap();
    assert_eq!(told, trail(&app).await);
    assert!(cuts > 20, "{cuts}");
}

fn other_shop() -> Shop {
    Shop { shop_id: "other-shop".to_owned(), ..Shop::default() }
}

#[rstest]
#[case::a_word("yesterday")]
#[case::a_negative_number("-1")]
#[case::beyond_the_newest("2")]
#[tokio::test]
async fn a_token_that_was_never_given_is_refused(#[case] token: &str) {
    let (_test, app) = shop().await;
    note(&app, SHOP).await;
    let refused = watch_changes(&app, from(token), None).await.err().unwrap();
    match refused {
        ServiceError::InvalidFields(faults) => assert_eq!(faults.list()[0].field, "resume_token"),
        other => panic!("{other}"),
    }
    assert_eq!(app.watchers.available_permits(), WATCHERS_MAX);
}

#[tokio::test]
async fn a_shop_that_does_not_exist_is_not_watched() {
    let (_test, app) = shop().await;
    let request = v1::WatchChangesRequest { shop_id: "other-shop".to_owned(), ..from("") };
    let refused = watch_changes(&app, request, None).await.err().unwrap();
    assert!(matches!(refused, ServiceError::NotFound { kind: "shop", .. }), "{refused}");
}

#[tokio::test]
async fn no_more_watches_are_opened_than_the_limit_says() {
    let (_test, app) = shop().await;
    let mut open_ones = Vec::new();
    for _ in 0..WATCHERS_MAX {
        open_ones.push(open(&app, "").await);
    }
    let refused = watch_changes(&app, from(""), None).await.err().unwrap();
    assert!(matches!(refused, ServiceError::TooManyWatchers { most: WATCHERS_MAX }), "{refused}");

    open_ones.pop();
    drop(open(&app, "").await);
}

/// The items up to the end and the end itself.
async fn to_the_end(
    watch: impl Stream<Item = WatchItem>,
) -> (Vec<v1::WatchChangesResponse>, ServiceError) {
    let mut items: Vec<_> = watch.collect().await;
    let end = items.pop().unwrap().unwrap_err();
    (items.into_iter().map(Result::unwrap).collect(), end)
}

#[rstest]
#[case::the_callers_deadline(Some(Duration::from_millis(300)), LONG, false, "the deadline passed")]
#[case::its_longest_life(None, Duration::from_millis(300), false, "longest life")]
#[case::the_service_stops(Some(LONG), LONG, true, "the service stops")]
#[tokio::test]
async fn a_watch_ends_with_its_resume_token(
    #[case] deadline: Option<Duration>,
    #[case] life: Duration,
    #[case] stops: bool,
    #[case] said: &str,
) {
    let (_test, app) = shop().await;
    note(&app, SHOP).await;
    let watch = watch_for(&app, from("0"), deadline, life).await.unwrap();
    let stopping = app.stopping.clone();
    let ending = tokio::spawn(to_the_end(watch));
    sleep(Duration::from_millis(200)).await;
    if stops {
        stopping.cancel();
    }

    let (items, end) = ending.await.unwrap();

    let tokens: Vec<_> = items.iter().map(|item| item.resume_token.as_str()).collect();
    assert_eq!(tokens, ["0", "1", "1"]);
    assert_eq!(items[2].change, None);
    assert!(end.to_string().contains(said), "{end}");
    if let ServiceError::WatchEnded { resume_token, .. } = end {
        assert_eq!(resume_token, "1");
    }
    assert_eq!(app.watchers.available_permits(), WATCHERS_MAX);
}

/// What was read ahead but not taken is told again after the end, not lost with it.
#[tokio::test]
async fn the_last_token_is_that_of_what_was_taken() {
    let (_test, app) = shop().await;
    for _ in 0..5 {
        note(&app, SHOP).await;
    }
    let mut watch = open(&app, "0").await;
    for expected in ["0", "1", "2"] {
        assert_eq!(watch.next().await.unwrap().unwrap().resume_token, expected);
    }
    app.stopping.cancel();
    assert_eq!(watch.next().await.unwrap().unwrap(), token_only(2));
    assert!(watch.next().await.unwrap().is_err());
    assert!(watch.next().await.is_none());
}
