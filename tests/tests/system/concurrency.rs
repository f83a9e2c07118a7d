//! Sixteen technicians who pull at once: nothing is ever held twice, and every task passes once.

use baywright_api::v1;
use baywright_tests::system::{Caller, Refusal, TestService, definition_with_bays, estimate};
use std::{
    collections::{BTreeMap, BTreeSet},
    sync::{
        Arc, Mutex,
        atomic::{AtomicUsize, Ordering},
    },
    time::Duration,
};
use tokio::task::JoinSet;

const TECHNICIANS: usize = 16;
const JOBS: usize = 16;
const TASKS_PER_JOB: usize = 3;
const BAYS: u32 = 5;

/// What the technicians see of each other: who holds what, between the answer to a pull and the
/// sending of the finish, which lies within the real holding.
#[derive(Debug, Default)]
struct Board {
    held: Mutex<BTreeMap<String, u64>>,
    fences: Mutex<BTreeSet<u64>>,
    passed: AtomicUsize,
}

fn claims(holding: &v1::Holding) -> Vec<String> {
    let mut claims = vec![
        format!("task {}/{}", holding.job_id, holding.task_id),
        format!("vehicle {}", holding.job_id),
    ];
    claims.extend(holding.technician_ids.iter().map(|id| format!("technician {id}")));
    claims.extend(holding.unit_ids.iter().map(|id| format!("unit {id}")));
    claims.extend(
        holding.place.iter().map(|place| format!("place {}/{}", place.bay_id, place.station_id)),
    );
    claims
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
        self.passed.load(Ordering::SeqCst) == JOBS * TASKS_PER_JOB
    }
}

/// A shop with many hands: everybody can do everything, and there is a unit for each.
fn busy_shop() -> v1::ShopDefinition {
    let mut definition = definition_with_bays(BAYS);
    let model = definition.technicians[0].clone();
    definition.technicians = (0..TECHNICIANS)
        .map(|index| v1::Technician {
            technician_id: format!("technician-{index}"),
            ..model.clone()
        })
        .collect();
    for kind in ["scan-unit", "reflector"] {
        definition.units.extend((2..TECHNICIANS).map(|index| v1::Unit {
            unit_id: format!("{kind}-more-{index}"),
            unit_kind_id: kind.to_owned(),
            ..v1::Unit::default()
        }));
    }
    definition
}

async fn work(caller: Caller, technician: String, board: Arc<Board>) {
    while !board.is_done() {
        let held = match caller.pull(&technician).await {
            Ok(held) => held,
            Err(status) => {
                assert_eq!(Refusal::from(&status).reason, "NOTHING_READY", "{status:?}");
                tokio::time::sleep(Duration::from_millis(20)).await;
                continue;
            }
        };
        board.take(&held);
        let running = caller.begin(&held).await.unwrap();
        assert_eq!(running.fence, held.fence);
        board.leave(&held);
        caller.finish(&running).await.unwrap();
        board.passed.fetch_add(1, Ordering::SeqCst);
        // Out of the bay, unless somebody has taken the vehicle already.
        if let Err(status) = caller.move_out(&held.job_id).await {
            assert_eq!(Refusal::from(&status).reason, "HELD_ELSEWHERE", "{status:?}");
        }
    }
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
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    most
}

#[tokio::test]
async fn sixteen_technicians_who_pull_at_once_never_hold_anything_twice() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(busy_shop()).await;
    for index in 0..JOBS {
        caller.bring_in(estimate(&format!("J-{index:02}"), &["bumper-removed"])).await;
    }
    caller.plan().await.unwrap();
    let board = Arc::new(Board::default());

    let watching = tokio::spawn(watch(service.new_caller().await, Arc::clone(&board)));
    let mut working = JoinSet::new();
    for index in 0..TECHNICIANS {
        let own = service.new_caller().await;
        working.spawn(work(own, format!("technician-{index}"), Arc::clone(&board)));
    }
    // The first trouble of anybody ends the test.
    while let Some(ended) = working.join_next().await {
        ended.unwrap();
    }

    assert!(watching.await.unwrap() > 1, "nobody ever worked beside another");
    assert_eq!(caller.holdings().await, []);
    let mut numbers = BTreeSet::new();
    let mut bays = BTreeSet::new();
    for job in caller.jobs().await {
        assert!(job.tasks.iter().all(|task| task.state() == v1::TaskState::Passed), "{job:?}");
        let records = caller.records(&job.job_id).await;
        let tasks: BTreeSet<_> =
            records.iter().map(|record| record.task.as_ref().unwrap().task_id.clone()).collect();
        assert_eq!((records.len(), tasks.len()), (TASKS_PER_JOB, TASKS_PER_JOB), "{}", job.job_id);
        for record in records {
            assert_eq!((record.outcome(), record.attempt), (v1::Outcome::Passed, 1));
            assert!(numbers.insert(record.number), "record {} twice", record.number);
            bays.extend(record.holding.and_then(|held| held.place).map(|place| place.bay_id));
        }
    }
    let count = u64::try_from(JOBS * TASKS_PER_JOB).unwrap();
    assert_eq!(numbers, (1..=count).collect(), "numbered without gaps");
    assert!(bays.len() > 1, "{bays:?}");
}
