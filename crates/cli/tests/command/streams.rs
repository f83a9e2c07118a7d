//! Watching, and proving the chain of records, against a stand-in that answers by script.

use super::Run;
use super::stand_in::{self, ReadShop};
use baywright_api::v1::record_service_server::{RecordService, RecordServiceServer};
use baywright_api::v1::shop_service_server::ShopServiceServer;
use baywright_api::v1::watch_service_server::{WatchService, WatchServiceServer};
use baywright_api::v1::{
    Change, CorrectRecordRequest, CorrectRecordResponse, RecordMisfit, RecordMismatch, Shop,
    ShopDefinition, ThingChange, VerifyRecordsRequest, VerifyRecordsResponse, WatchChangesRequest,
    WatchChangesResponse,
};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex};
use tonic::service::Routes;
use tonic::{Request, Response, Status};

type Item = Result<WatchChangesResponse, Status>;
type Items = Vec<Item>;

/// What the stand-in answers, call by call, and what it was asked.
#[derive(Debug, Clone, Default)]
struct Script {
    watches: Arc<Mutex<VecDeque<Items>>>,
    watched_from: Arc<Mutex<Vec<String>>>,
    proofs: Arc<Mutex<VecDeque<VerifyRecordsResponse>>>,
    verified: Arc<Mutex<Vec<VerifyRecordsRequest>>>,
}

#[tonic::async_trait]
impl WatchService for Script {
    type WatchChangesStream = tokio_stream::Iter<std::vec::IntoIter<Item>>;

    async fn watch_changes(
        &self,
        request: Request<WatchChangesRequest>,
    ) -> Result<Response<Self::WatchChangesStream>, Status> {
        self.watched_from.lock().unwrap().push(request.into_inner().resume_token);
        let items = self.watches.lock().unwrap().pop_front();
        let items = items.ok_or_else(|| Status::unavailable("starting"))?;
        Ok(Response::new(tokio_stream::iter(items)))
    }
}

#[tonic::async_trait]
impl RecordService for Script {
    async fn verify_records(
        &self,
        request: Request<VerifyRecordsRequest>,
    ) -> Result<Response<VerifyRecordsResponse>, Status> {
        self.verified.lock().unwrap().push(request.into_inner());
        let proof = self.proofs.lock().unwrap().pop_front();
        proof.map(Response::new).ok_or_else(|| Status::internal("asked too often"))
    }

    async fn correct_record(
        &self,
        _: Request<CorrectRecordRequest>,
    ) -> Result<Response<CorrectRecordResponse>, Status> {
        Err(Status::unimplemented("not asked here"))
    }
}

fn run_against(script: &Script, arguments: &[&str]) -> Run {
    let shop = Shop { time_zone: "Europe/Lisbon".to_owned(), ..Shop::default() };
    let shop = ReadShop(ShopDefinition { shop: Some(shop), ..ShopDefinition::default() });
    let routes = Routes::new(ShopServiceServer::new(shop))
        .add_service(WatchServiceServer::new(script.clone()))
        .add_service(RecordServiceServer::new(script.clone()));
    stand_in::run_against(routes, arguments)
}

#[expect(clippy::unnecessary_wraps, reason = "an item stands beside ends, which are faults")]
fn told(number: u64) -> Item {
    let change = Change {
        number,
        kind: "plan".to_owned(),
        thing_id: number.to_string(),
        change: ThingChange::Added.into(),
        method: "MakePlan".to_owned(),
        actor: "ruth".to_owned(),
        ..Change::default()
    };
    Ok(WatchChangesResponse { change: Some(change), resume_token: number.to_string() })
}

#[expect(clippy::unnecessary_wraps, reason = "an item stands beside ends, which are faults")]
fn token(number: u64) -> Item {
    Ok(WatchChangesResponse { change: None, resume_token: number.to_string() })
}

fn watching(watches: impl IntoIterator<Item = Items>) -> Script {
    Script { watches: Arc::new(Mutex::new(watches.into_iter().collect())), ..Script::default() }
}

#[test]
fn a_watch_goes_on_behind_the_last_token_after_a_lost_connection() {
    let gone = || Err(Status::unavailable("the service stops"));
    let script = watching([
        vec![token(4), told(5), told(6), token(6), gone()],
        vec![token(6), gone()],
        vec![token(6), told(7), told(8)],
    ]);

    let run = run_against(&script, &["watch", "--limit", "3"]);

    assert_eq!((run.code, run.stderr.as_str()), (0, ""));
    assert_eq!(
        run.stdout,
        "5  -  plan 5 added  (MakePlan by ruth)\n6  -  plan 6 added  (MakePlan by ruth)\n\
         7  -  plan 7 added  (MakePlan by ruth)\n"
    );
    assert_eq!(*script.watched_from.lock().unwrap(), ["", "6", "6"]);
}

#[test]
fn a_watch_begins_behind_a_number_and_writes_a_json_line_for_each_change() {
    let script = watching([vec![token(4), told(5), told(6)]]);
    let run = run_against(&script, &["watch", "--after", "4", "--limit", "2", "--json"]);
    assert_eq!(run.code, 0, "{}", run.stderr);
    let lines: Vec<_> = run.stdout.lines().collect();
    assert_eq!(lines.len(), 2);
    assert!(lines[0].starts_with("{\"number\":\"5\",\"kind\":\"plan\""), "{}", lines[0]);
    assert_eq!(*script.watched_from.lock().unwrap(), ["4"]);
}

#[test]
fn a_watch_that_is_refused_does_not_try_again() {
    let script = watching([vec![Err(Status::invalid_argument("no such token"))]]);
    let run = run_against(&script, &["watch", "--after", "99"]);
    assert_eq!((run.code, run.stdout.as_str()), (1, ""));
    assert_eq!(run.stderr, "error: no such token\n");
    assert_eq!(script.watched_from.lock().unwrap().len(), 1);
}

fn proving(proofs: impl IntoIterator<Item = VerifyRecordsResponse>) -> Script {
    Script { proofs: Arc::new(Mutex::new(proofs.into_iter().collect())), ..Script::default() }
}

fn proof(checked_count: u64, last_number: u64, next_number: u64) -> VerifyRecordsResponse {
    let last_hash = vec![0xab; 32];
    VerifyRecordsResponse { checked_count, last_number, last_hash, next_number, mismatch: None }
}

#[test]
fn a_long_chain_is_proved_part_by_part() {
    let script = proving([proof(100, 100, 101), proof(7, 107, 0)]);
    let run = run_against(&script, &["records-verify"]);
    assert_eq!((run.code, run.stderr.as_str()), (0, ""));
    let hash = "ab".repeat(32);
    assert_eq!(run.stdout, format!("107 records fit, up to number 107.\nHash: {hash}\n"));
    let asked: Vec<_> = script.verified.lock().unwrap().iter().map(|one| one.from_number).collect();
    assert_eq!(asked, [1, 101]);
}

#[test]
fn a_chain_that_does_not_fit_is_a_failure() {
    let sentence = "Record 5 was changed after it was kept: its hash is another.".to_owned();
    let misfit = RecordMisfit::Content.into();
    let mismatch = Some(RecordMismatch { number: 5, misfit, sentence });
    let script = proving([VerifyRecordsResponse { mismatch, ..proof(4, 4, 0) }]);
    let run = run_against(&script, &["records-verify"]);
    assert_eq!((run.code, run.stdout.as_str()), (1, ""));
    assert!(run.stderr.starts_with("error: Record 5 was changed"), "{}", run.stderr);
    assert!(run.stderr.contains("up to number 4 fit"), "{}", run.stderr);
}

#[test]
fn a_hash_that_was_written_down_is_compared() {
    let arguments = |hash: &'static str| ["records-verify", "--to", "4", "--hash", hash];
    let same = "ABABABABABABABABABABABABABABABABABABABABABABABABABABABABABABABAB";
    assert_eq!(run_against(&proving([proof(4, 4, 0)]), &arguments(same)).code, 0);
    let run = run_against(&proving([proof(4, 4, 0)]), &arguments("00"));
    assert_eq!(run.code, 1);
    assert!(run.stderr.contains("not 00 as written down"), "{}", run.stderr);
}
