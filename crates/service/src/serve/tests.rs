//! The running service, in process: codes at the rim, and stopping.

use super::*;
use crate::storage::{
    jobs::{load_job, save_job},
    testing::{SHOP, job, noon},
};
use baywright_api::v1::{Shop, WatchChangesRequest, watch_service_client::WatchServiceClient};
use prost_reflect::DescriptorPool;
use std::{
    convert::Infallible,
    pin::Pin,
    sync::Arc,
    task::{Context, Poll},
};
use tempfile::TempDir;
use tokio::{
    sync::{Notify, oneshot},
    task::JoinHandle,
};
use tonic::{
    Code, Request, Status,
    body::Body,
    client::Grpc,
    codegen::http::{self, uri::PathAndQuery},
    server::NamedService,
    transport::{Channel, Endpoint},
};
use tonic_health::pb::{HealthCheckRequest, health_client::HealthClient};
use tonic_types::StatusExt as _;

/// A service with a method for each misfortune; it says when one has begun.
#[derive(Debug, Clone)]
struct Misfortunes {
    app: App,
    begun: Arc<Notify>,
}

impl NamedService for Misfortunes {
    const NAME: &'static str = "test.Misfortunes";
}

impl tower::Service<http::Request<Body>> for Misfortunes {
    type Response = http::Response<Body>;
    type Error = Infallible;
    type Future = Pin<Box<dyn Future<Output = Result<Self::Response, Infallible>> + Send>>;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: http::Request<Body>) -> Self::Future {
        let Self { app, begun } = self.clone();
        Box::pin(async move {
            let answer = match request.uri().path() {
                "/test.Misfortunes/Panic" => panic!("on purpose"),
                "/test.Misfortunes/Hang" => {
                    begun.notify_one();
                    std::future::pending().await
                }
                "/test.Misfortunes/SlowWrite" => slow_write(app, begun).await,
                _ => Status::unimplemented("no such misfortune"),
            };
            Ok(answer.into_http())
        })
    }
}

/// A quarter of a second between the job and the end of its transaction.
async fn slow_write(app: App, begun: Arc<Notify>) -> Status {
    let written = app.database.write(begun, |tx, begun| {
        Box::pin(async move {
            crate::storage::shops::put_shop(tx, &shop(), noon()).await?;
            save_job(tx, &mut job("J-1", 60), None).await?;
            begun.notify_one();
            tokio::time::sleep(Duration::from_millis(250)).await;
            Ok(())
        })
    });
    // An answer without message is no proper one; its code is what the tests look at.
    written.await.map_or_else(Status::from, |()| Status::already_exists("written"))
}

fn shop() -> Shop {
    Shop { shop_id: SHOP.to_owned(), ..Shop::default() }
}

struct Running {
    channel: Channel,
    stop: oneshot::Sender<()>,
    ended: JoinHandle<Result<(), ServeError>>,
    begun: Arc<Notify>,
    database: PathBuf,
    _folder: TempDir,
}

async fn running(deadline_max: Duration, drain_max: Duration) -> Running {
    let folder = tempfile::tempdir().unwrap();
    let database = folder.path().join("shop.db");
    let options = ServeOptions {
        deadline_max,
        drain_max,
        ..ServeOptions::new(database.clone(), "127.0.0.1:0".parse().unwrap())
    };
    let begun = Arc::new(Notify::new());
    let said = Arc::clone(&begun);
    let routes = |app| Routes::default().add_service(Misfortunes { app, begun: said });
    let service = Service::start(options, routes).await.unwrap();
    let endpoint = Endpoint::from_shared(format!("http://{}", service.address())).unwrap();
    let (stop, stopped) = oneshot::channel();
    let ended = tokio::spawn(service.run_until(async {
        stopped.await.unwrap();
    }));
    let channel = endpoint.connect().await.unwrap();
    Running { channel, stop, ended, begun, database, _folder: folder }
}

/// The whole service, and its address.
async fn whole() -> (Service, TempDir) {
    let folder = tempfile::tempdir().unwrap();
    let options = ServeOptions::new(folder.path().join("shop.db"), "127.0.0.1:0".parse().unwrap());
    let service = Service::start(options, crate::handlers::routes).await.unwrap();
    crate::storage::shops::put_shop(service.app().database.writer(), &shop(), noon())
        .await
        .unwrap();
    (service, folder)
}

async fn usual() -> Running {
    running(DEADLINE_MAX, DRAIN_MAX).await
}

async fn meet(channel: Channel, misfortune: &str) -> Status {
    let path = format!("/test.Misfortunes/{misfortune}");
    let path = PathAndQuery::try_from(path).unwrap();
    let mut client = Grpc::new(channel);
    client.ready().await.unwrap();
    let codec = tonic_prost::ProstCodec::<(), ()>::default();
    client.unary(Request::new(()), path, codec).await.unwrap_err()
}

fn reason(status: &Status) -> String {
    status.get_error_details().error_info().unwrap().reason.clone()
}

#[tokio::test]
async fn a_panic_is_internal_and_the_connection_lives_on() {
    let running = usual().await;

    let status = meet(running.channel.clone(), "Panic").await;

    assert_eq!((status.code(), reason(&status)), (Code::Internal, "INTERNAL".to_owned()));
    assert!(!status.message().contains("on purpose"));
    let mut health = HealthClient::new(running.channel);
    health.check(HealthCheckRequest::default()).await.unwrap();
}

#[tokio::test]
async fn a_call_that_hangs_ends_with_deadline_exceeded() {
    let running = running(Duration::from_millis(50), DRAIN_MAX).await;

    let status = meet(running.channel, "Hang").await;

    assert_eq!(status.code(), Code::DeadlineExceeded);
    assert_eq!(reason(&status), "DEADLINE_EXCEEDED");
}

/// The transport's own timer answers CANCELLED. Set to the same time it races with ours, as it does
/// for every caller that sends `grpc-timeout`.
#[tokio::test]
async fn our_deadline_wins_over_the_transports() {
    let folder = tempfile::tempdir().unwrap();
    let database = Database::open(&folder.path().join("shop.db")).await.unwrap();
    let app = App::new(database, Clock::system());
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let same = Duration::from_millis(20);
    let serving = Server::builder()
        .timeout(same)
        .layer(ServiceBuilder::new().layer(panic_layer()).layer(DeadlineLayer::new(same)))
        .add_service(Misfortunes { app, begun: Arc::default() })
        .serve_with_incoming(TcpIncoming::from(listener));
    let serving = tokio::spawn(serving);
    let channel = Endpoint::from_shared(format!("http://{address}")).unwrap();
    let channel = channel.connect().await.unwrap();

    for _ in 0..20 {
        assert_eq!(meet(channel.clone(), "Hang").await.code(), Code::DeadlineExceeded);
    }
    serving.abort();
}

#[tokio::test]
async fn stopping_answers_accepted_calls_and_keeps_their_writes() {
    let running = usual().await;
    let accepted = tokio::spawn(meet(running.channel.clone(), "SlowWrite"));
    running.begun.notified().await;

    running.stop.send(()).unwrap();

    assert_eq!(accepted.await.unwrap().code(), Code::AlreadyExists);
    running.ended.await.unwrap().unwrap();
    let database = Database::open(&running.database).await.unwrap();
    assert!(load_job(database.reader(), SHOP, "J-1").await.unwrap().is_some());
}

#[tokio::test]
async fn stopping_waits_for_a_write_whose_caller_is_gone() {
    let running = usual().await;
    let caller = tokio::spawn(meet(running.channel.clone(), "SlowWrite"));
    running.begun.notified().await;
    caller.abort();

    running.stop.send(()).unwrap();

    running.ended.await.unwrap().unwrap();
    let database = Database::open(&running.database).await.unwrap();
    assert!(load_job(database.reader(), SHOP, "J-1").await.unwrap().is_some());
}

#[tokio::test]
async fn stopping_does_not_wait_for_ever() {
    let running = running(DEADLINE_MAX, Duration::from_millis(100)).await;
    let hanging = tokio::spawn(meet(running.channel.clone(), "Hang"));
    running.begun.notified().await;
    let before = Instant::now();

    running.stop.send(()).unwrap();

    running.ended.await.unwrap().unwrap();
    assert!(before.elapsed() < Duration::from_secs(5));
    assert!(!hanging.is_finished(), "the call that hangs ends with the process");
    hanging.abort();
}

#[tokio::test]
async fn a_health_watcher_hears_of_the_stop_and_does_not_delay_it() {
    let running = usual().await;
    let mut health = HealthClient::new(running.channel);
    let watched = health.watch(HealthCheckRequest::default()).await.unwrap();
    let mut watched = watched.into_inner();
    // Serving is 1 and not serving 2 in grpc.health.v1.
    assert_eq!(watched.message().await.unwrap().unwrap().status, 1);
    let before = Instant::now();

    running.stop.send(()).unwrap();

    assert_eq!(watched.message().await.unwrap().unwrap().status, 2);
    assert!(watched.message().await.unwrap().is_none());
    running.ended.await.unwrap().unwrap();
    assert!(before.elapsed() < DRAIN_MAX / 2);
}

#[tokio::test]
async fn an_open_watch_hears_of_the_stop_and_does_not_delay_it() {
    let (service, _folder) = whole().await;
    let endpoint = Endpoint::from_shared(format!("http://{}", service.address())).unwrap();
    let (stop, stopped) = oneshot::channel();
    let ended = tokio::spawn(service.run_until(async {
        stopped.await.unwrap();
    }));
    let mut client = WatchServiceClient::new(endpoint.connect().await.unwrap());
    let watched = client.watch_changes(watch_request()).await.unwrap();
    let mut watched = watched.into_inner();
    assert_eq!(watched.message().await.unwrap().unwrap().resume_token, "0");
    let before = Instant::now();

    stop.send(()).unwrap();

    let last = watched.message().await.unwrap().unwrap();
    assert_eq!((last.change, last.resume_token.as_str()), (None, "0"));
    let status = watched.message().await.unwrap_err();
    assert_eq!((status.code(), reason(&status)), (Code::Unavailable, "WATCH_ENDED".to_owned()));
    let metadata = status.get_error_details().error_info().unwrap().metadata.clone();
    assert_eq!((metadata["cause"].as_str(), metadata["resume_token"].as_str()), ("stopping", "0"));
    ended.await.unwrap().unwrap();
    assert!(before.elapsed() < DRAIN_MAX / 2);
}

#[tokio::test]
async fn a_watch_outlives_the_longest_call_and_keeps_its_own_deadline() {
    let folder = tempfile::tempdir().unwrap();
    let options = ServeOptions {
        deadline_max: Duration::from_millis(100),
        ..ServeOptions::new(folder.path().join("shop.db"), "127.0.0.1:0".parse().unwrap())
    };
    let service = Service::start(options, crate::handlers::routes).await.unwrap();
    crate::storage::shops::put_shop(service.app().database.writer(), &shop(), noon())
        .await
        .unwrap();
    let endpoint = Endpoint::from_shared(format!("http://{}", service.address())).unwrap();
    let serving = tokio::spawn(service.run_until(std::future::pending()));
    let mut client = WatchServiceClient::new(endpoint.connect().await.unwrap());
    let mut request = Request::new(watch_request());
    request.set_timeout(Duration::from_millis(600));
    let before = Instant::now();

    let mut watched = client.watch_changes(request).await.unwrap().into_inner();
    let first = watched.message().await.unwrap().unwrap();
    let last = watched.message().await.unwrap().unwrap();
    let status = watched.message().await.unwrap_err();

    assert_eq!((first.resume_token.as_str(), last.resume_token.as_str()), ("0", "0"));
    assert_eq!(status.code(), Code::DeadlineExceeded);
    assert!(before.elapsed() >= Duration::from_millis(500));
    serving.abort();
}

fn watch_request() -> WatchChangesRequest {
    WatchChangesRequest { shop_id: SHOP.to_owned(), resume_token: String::new() }
}

#[tokio::test]
async fn an_address_that_is_taken_is_named() {
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let address = taken.local_addr().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let listen = ListenAddress::new(address).unwrap();
    let options = ServeOptions::new(folder.path().join("shop.db"), listen);

    let refused = Service::start(options, |_| Routes::default()).await.unwrap_err();

    assert!(refused.to_string().contains(&address.to_string()), "{refused}");
}

/// The names that reflection lists, in one of its versions.
macro_rules! listed {
    ($version:ident, $channel:expr) => {{
        use tonic_reflection::pb::$version::{
            ServerReflectionRequest, server_reflection_client::ServerReflectionClient,
            server_reflection_request::MessageRequest, server_reflection_response::MessageResponse,
        };
        let request = ServerReflectionRequest {
            host: String::new(),
            message_request: Some(MessageRequest::ListServices(String::new())),
        };
        let mut client = ServerReflectionClient::new($channel);
        let answers = client.server_reflection_info(tokio_stream::once(request)).await.unwrap();
        let answer = answers.into_inner().message().await.unwrap().unwrap();
        let Some(MessageResponse::ListServicesResponse(list)) = answer.message_response else {
            panic!("no list")
        };
        list.service.into_iter().map(|service| service.name).collect::<Vec<_>>()
    }};
}

#[tokio::test]
async fn reflection_describes_the_contract_and_health_in_both_versions() {
    let running = usual().await;
    let first = listed!(v1, running.channel.clone());
    let older = listed!(v1alpha, running.channel);
    for names in [first, older] {
        for name in ["baywright.v1.WorkService", "grpc.health.v1.Health"] {
            assert!(names.iter().any(|listed| listed == name), "{name} is not in {names:?}");
        }
    }
}

#[test]
fn the_described_contract_is_whole() {
    let pool = DescriptorPool::decode(baywright_api::CONTRACT_DESCRIPTOR_SET).unwrap();
    assert!(pool.get_service_by_name("baywright.v1.WorkService").is_some());
    infrastructure::add_to(Routes::default()).unwrap();
}
