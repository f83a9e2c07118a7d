//! How long a caller on the same machine waits: pull, list and estimate calls over a real socket, beside
//! the time that the disk takes to keep a page for good.
//!
//! `cargo bench -p baywright-tests --bench loopback` prints p50 and p99 of each with its ratio to the
//! disk's. The database and the file that is synchronised stand in one folder. A write waits for the disk
//! at least once; what it takes beyond is the service's own.
#![cfg(unix)]
#![expect(clippy::unwrap_used, clippy::print_stdout, reason = "it prints; trouble ends it at once")]

use baywright_api::v1;
use baywright_tests::system::{
    BOTH, Caller, Request, SHOP, TestService, definition_with_bays, estimate, new_request_id,
};
use std::{
    fs::File,
    io::Write as _,
    path::Path,
    time::{Duration, Instant},
};

/// Calls of each kind.
const CALLS: usize = 300;
/// Offers, each declined before the next.
const OFFERS: usize = 40;
/// Jobs on site while they are made.
const JOBS: usize = 60;
const BAYS: u32 = 8;
/// What one synchronisation writes: a page of the database.
const PAGE: [u8; 4096] = [7; 4096];

#[tokio::main(flavor = "current_thread")]
async fn main() {
    let service = TestService::start().await;
    let caller = service.caller();
    bring_in_all(&caller).await;

    println!(
        "{JOBS} jobs on site, {BAYS} bays, {CALLS} calls of each kind, one caller on loopback"
    );
    println!("{:<38}{:>10}{:>10}{:>14}", "call", "p50 ms", "p99 ms", "p50 / disk");
    let disk = synchronised(service.folder().path());
    let base = disk[disk.len() / 2];
    line("disk: write 4 KiB and synchronise", disk, base);
    line("pull (PullTask)", pulls(&caller).await, base);
    // Each pull and each putting back is a change: the search is under way nearly all the time.
    let replanning = TestService::start_replanning(Duration::from_millis(1)).await;
    let other = replanning.caller();
    bring_in_all(&other).await;
    line("pull while the service plans anew", pulls(&other).await, base);
    println!("{:<38}{:>10}", "revisions made meanwhile", other.newest_plan().await.revision - 1);
    drop(replanning);
    line("list (ListJobs, 50 a page)", lists(&caller).await, base);
    line("estimate, tried (SubmitEstimate)", estimates(&caller, true).await, base);
    line("offer over a week (MakeOffer)", offers(&caller).await, base);
    line("estimate, taken (SubmitEstimate)", estimates(&caller, false).await, base);
}

/// A shop with its jobs on site, and a plan.
async fn bring_in_all(caller: &Caller) {
    let mut definition = definition_with_bays(BAYS);
    definition.shop.as_mut().unwrap().spots[0].capacity = 1_000;
    caller.set_up(definition).await;
    for index in 0..JOBS {
        caller.bring_in(estimate(&format!("J-{index}"), &["bumper-removed"])).await;
    }
    caller.plan().await.unwrap();
}

fn line(name: &str, mut times: Vec<Duration>, base: Duration) {
    times.sort_unstable();
    let (p50, p99) = (times[times.len() / 2], times[times.len() * 99 / 100]);
    let ms = |time: Duration| time.as_secs_f64() * 1e3;
    let ratio = p50.as_secs_f64() / base.as_secs_f64();
    println!("{name:<38}{:>10.2}{:>10.2}{ratio:>14.1}", ms(p50), ms(p99));
}

/// What the disk takes, sorted.
fn synchronised(folder: &Path) -> Vec<Duration> {
    let mut file = File::create(folder.join("synchronised")).unwrap();
    let mut times: Vec<_> = (0..CALLS)
        .map(|_| {
            let begun = Instant::now();
            file.write_all(&PAGE).unwrap();
            file.sync_data().unwrap();
            begun.elapsed()
        })
        .collect();
    times.sort_unstable();
    times
}

async fn timed<R: Request>(caller: &Caller, request: R) -> (Duration, R::Reply) {
    let begun = Instant::now();
    let reply = caller.send(request).await.unwrap();
    (begun.elapsed(), reply)
}

/// Each pull is put back, so that the next one finds the same.
async fn pulls(caller: &Caller) -> Vec<Duration> {
    let mut times = Vec::new();
    for _ in 0..CALLS {
        let request = v1::PullTaskRequest {
            shop_id: SHOP.to_owned(),
            technician_id: "ana".to_owned(),
            request_id: new_request_id(),
        };
        let (time, reply) = timed(caller, request).await;
        times.push(time);
        caller.put_back(&reply.holding.unwrap()).await.unwrap();
    }
    times
}

async fn lists(caller: &Caller) -> Vec<Duration> {
    let mut times = Vec::new();
    for _ in 0..CALLS {
        let request =
            v1::ListJobsRequest { shop_id: SHOP.to_owned(), ..v1::ListJobsRequest::default() };
        times.push(timed(caller, request).await.0);
    }
    times
}

async fn estimates(caller: &Caller, validate_only: bool) -> Vec<Duration> {
    let mut times = Vec::new();
    for index in 0..CALLS {
        let request = v1::SubmitEstimateRequest {
            shop_id: SHOP.to_owned(),
            estimate: Some(estimate(&format!("N-{index}"), &["bumper-removed"])),
            request_id: new_request_id(),
            actor: "Mia (invented)".to_owned(),
            validate_only,
        };
        times.push(timed(caller, request).await.0);
    }
    times
}

/// An offer for work on both sensors, with the menu of earlier promises.
async fn offers(caller: &Caller) -> Vec<Duration> {
    let mut times = Vec::new();
    for index in 0..OFFERS {
        let request = v1::MakeOfferRequest {
            shop_id: SHOP.to_owned(),
            estimate: Some(estimate(&format!("W-{index}"), &BOTH)),
            hold_minutes: 30,
            days: 7,
            request_id: new_request_id(),
            actor: "Mia (invented)".to_owned(),
        };
        let (time, reply) = timed(caller, request).await;
        times.push(time);
        let offer = reply.offer.unwrap();
        assert_eq!(offer.state(), v1::OfferState::Held, "{offer:?}");
        let decline = v1::DeclineOfferRequest {
            shop_id: SHOP.to_owned(),
            offer_id: offer.offer_id,
            reason: "only measured".to_owned(),
            request_id: new_request_id(),
            actor: "Mia (invented)".to_owned(),
        };
        caller.send(decline).await.unwrap();
    }
    times
}
