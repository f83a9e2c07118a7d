//! 64 technicians who pull at once from 501 tasks: nothing is ever held twice, every task passes
//! once, and a late finish with an old fencing number is refused.
//!
//! Three witnesses: what the technicians see of each other while they work, what a watcher lists
//! meanwhile, and the audit trail, which has every change in the order of the commits.

use super::busy::{
    JOBS, TASKS, TASKS_PER_JOB, TECHNICIANS, busy_service, claims, proved_chain, technician,
};
use baywright_api::v1::{self, ThingChange};
use baywright_tests::system::{Caller, Refusal, SHOP};
use std::{
    collections::{BTreeMap, BTreeSet},
    sync::{
        Arc, Mutex,
        atomic::{AtomicUsize, Ordering},
    },
    time::Duration,
};
use tokio::task::JoinSet;

/// One pull in so many is put back, so that old fencing numbers come back late.
const PUT_BACK_EVERY: u64 = 12;

/// What the technicians see of each other: who holds what, between the answer to a pull and the
/// sending of the finish, which lies within the real holding.
#[derive(Debug, Default)]
struct Board {
    held: Mutex<BTreeMap<String, u64>>,
    fences: Mutex<BTreeSet<u64>>,
    passed: AtomicUsize,
    put_back: AtomicUsize,
}

impl Board {
    fn take(&self, holding: &v1::Holding) {
        assert!(self.fences.lock().unwrap().insert(holding.fence), "fence {} twice", holding.fence);
        let mut held = self.held.lock().unwrap();
        for claim in claims(holding) {
            let other = held.insert(claim.clone(), holding.fence);
            assert_eq!(other, None, "{claim} is held twice, by {}", holding.fence);
        }
    }

    fn leave(&self, holding: &v1::Holding) {
        let mut held = self.held.lock().unwrap();
        for claim in claims(holding) {
            assert_eq!(held.remove(&claim), Some(holding.fence), "{claim}");
        }
    }

    fn is_done(&self) -> bool {
        self.passed.load(Ordering::SeqCst) == TASKS
    }
}

async fn work(caller: Caller, technician: String, board: Arc<Board>) {
    while !board.is_done() {
        let held = match caller.pull(&technician).await {
            Ok(held) => held,
            Err(status) => {
                assert_eq!(Refusal::from(&status).reason, "NOTHING_READY", "{status:?}");
                tokio::time::sleep(Duration::from_millis(250)).await;
                continue;
            }
        };
        board.take(&held);
        if held.fence % PUT_BACK_EVERY == 0 {
            board.leave(&held);
            caller.put_back(&held).await.unwrap();
            board.put_back.fetch_add(1, Ordering::SeqCst);
            old_number_is_refused(&caller, &held).await;
            continue;
        }
        let running = caller.begin(&held).await.unwrap();
        assert_eq!(running.fence, held.fence);
        board.leave(&held);
        caller.finish(&running).await.unwrap();
        board.passed.fetch_add(1, Ordering::SeqCst);
        old_number_is_refused(&caller, &running).await;
        // Out of the bay, unless somebody has taken the vehicle already.
        if let Err(status) = caller.move_out(&held.job_id).await {
            assert_eq!(Refusal::from(&status).reason, "HELD_ELSEWHERE", "{status:?}");
        }
    }
}

/// A finish that comes late, as a new request, whoever has the task by now.
async fn old_number_is_refused(caller: &Caller, holding: &v1::Holding) {
    let status = caller.finish(holding).await.unwrap_err();
    let reason = Refusal::from(&status).reason;
    // NOT_HOLDER where nobody or another technician has the task, FENCE_LOST where the same one has
    // pulled it again.
    assert!(["FENCE_LOST", "NOT_HOLDER"].contains(&reason.as_str()), "{status:?}");
}

/// Looks at what is held until everything is done: in no answer does anything stand twice.
async fn watch(caller: Caller, board: Arc<Board>) -> usize {
    let mut most = 0;
    while !board.is_done() {
        let holdings = caller.holdings().await;
        let all: Vec<_> = holdings.iter().flat_map(claims).collect();
        let each: BTreeSet<_> = all.iter().collect();
        assert_eq!(each.len(), all.len(), "{all:?}");
        most = most.max(holdings.len());
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    most
}

/// The whole audit trail, oldest first: it has every change in the order of the commits.
async fn audit_trail(caller: &Caller) -> Vec<v1::AuditEntry> {
    let mut request = v1::ListAuditEntriesRequest {
        shop_id: SHOP.to_owned(),
        page_size: 200,
        ..v1::ListAuditEntriesRequest::default()
    };
    let mut entries = Vec::new();
    loop {
        let page = caller.send(request.clone()).await.unwrap();
        entries.extend(page.entries);
        if page.next_page_token.is_empty() {
            return entries;
        }
        request.page_token = page.next_page_token;
    }
}

/// Goes through the trail: at no commit is anything held twice, nor do two vehicles stand in a bay.
fn nothing_was_ever_held_twice(trail: &[v1::AuditEntry], by_fence: &BTreeMap<u64, v1::Holding>) {
    let mut held: BTreeMap<String, u64> = BTreeMap::new();
    let mut bays: BTreeMap<String, String> = BTreeMap::new();
    let mut pulls = 0;
    for entry in trail {
        let fence = || entry.thing_id.parse::<u64>().unwrap();
        match (entry.kind.as_str(), entry.change()) {
            ("holding", ThingChange::Added) => {
                pulls += 1;
                for claim in claims(&by_fence[&fence()]) {
                    let other = held.insert(claim.clone(), fence());
                    assert_eq!(other, None, "{claim} was held twice: {entry:?}");
                }
            }
            ("holding", ThingChange::Removed) => {
                for claim in claims(&by_fence[&fence()]) {
                    assert_eq!(held.remove(&claim), Some(fence()), "{claim}: {entry:?}");
                }
            }
            ("job", ThingChange::Changed) => {
                let (before, after) = bay_change(entry);
                if let Some(bay) = before {
                    assert_eq!(bays.remove(&bay).as_ref(), Some(&entry.thing_id), "{entry:?}");
                }
                if let Some(bay) = after {
                    let other = bays.insert(bay, entry.thing_id.clone());
                    assert_eq!(other, None, "two vehicles in one bay: {entry:?}");
                }
            }
            (_, _) => {}
        }
    }
    assert_eq!(held, BTreeMap::new(), "everything was put down");
    assert_eq!(pulls, by_fence.len());
}

/// The bay that a vehicle left, and the one that it came into, by one entry of the trail.
fn bay_change(entry: &v1::AuditEntry) -> (Option<String>, Option<String>) {
    let bay = |path: &str, text: &str| -> Option<String> {
        let value: serde_json::Value = serde_json::from_str(text).ok()?;
        let bay = match path {
            "whereabouts" => &value["place"]["bay_id"],
            "whereabouts.place" => &value["bay_id"],
            "whereabouts.place.bay_id" => &value,
            _ => return None,
        };
        Some(bay.as_str()?.to_owned())
    };
    let change = |side: fn(&v1::FieldChange) -> &str| {
        entry.fields.iter().find_map(|field| bay(&field.path, side(field)))
    };
    (change(|field| &field.before), change(|field| &field.after))
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn sixty_four_technicians_who_pull_at_once_never_hold_anything_twice() {
    let service = busy_service().await;
    let caller = service.caller();
    caller.plan().await.unwrap();
    let board = Arc::new(Board::default());

    let watching = tokio::spawn(watch(service.new_caller().await, Arc::clone(&board)));
    let mut working = JoinSet::new();
    for index in 0..TECHNICIANS {
        let own = service.new_caller().await;
        working.spawn(work(own, technician(index), Arc::clone(&board)));
    }
    // The first trouble of anybody ends the test.
    while let Some(ended) = working.join_next().await {
        ended.unwrap();
    }

    assert!(watching.await.unwrap() > 1, "nobody ever worked beside another");
    assert_eq!(caller.holdings().await, []);
    let put_back = board.put_back.load(Ordering::SeqCst);
    assert!(put_back > 0, "no fencing number ever came late");
    let mut by_fence = BTreeMap::new();
    let mut numbers = BTreeSet::new();
    for job in caller.jobs().await {
        assert!(job.tasks.iter().all(|task| task.state() == v1::TaskState::Passed), "{job:?}");
        let mut passed = BTreeSet::new();
        for record in caller.records(&job.job_id).await {
            assert!(numbers.insert(record.number), "record {} twice", record.number);
            let holding = record.holding.clone().unwrap();
            if record.outcome() == v1::Outcome::Passed {
                assert!(passed.insert(holding.task_id.clone()), "{} twice", holding.task_id);
            } else {
                assert_eq!(record.outcome(), v1::Outcome::PutBack);
            }
            assert_eq!(by_fence.insert(holding.fence, holding), None);
        }
        assert_eq!(passed.len(), TASKS_PER_JOB, "{}", job.job_id);
    }
    let count = u64::try_from(JOBS * TASKS_PER_JOB + put_back).unwrap();
    assert_eq!(numbers, (1..=count).collect(), "numbered without gaps");
    assert_eq!(proved_chain(&caller).await, count);
    let bays: BTreeSet<_> =
        by_fence.values().filter_map(|held| Some(held.place.as_ref()?.bay_id.clone())).collect();
    assert!(bays.len() > 1, "{bays:?}");
    nothing_was_ever_held_twice(&audit_trail(&caller).await, &by_fence);
}
