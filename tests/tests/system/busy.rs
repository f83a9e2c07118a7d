//! The busy shop of the tests under load: 64 technicians, 64 bays, 501 tasks.

use baywright_api::v1;
use baywright_tests::system::{Caller, TestService, definition_with_bays, estimate};
use std::{
    collections::BTreeSet,
    sync::{
        Arc,
        atomic::{AtomicUsize, Ordering},
    },
};
use tokio::task::JoinSet;

pub(super) const TECHNICIANS: usize = 64;
pub(super) const BAYS: u32 = 64;
pub(super) const JOBS: usize = 167;
/// Scan, radar, scan.
pub(super) const TASKS_PER_JOB: usize = 3;
pub(super) const TASKS: usize = JOBS * TASKS_PER_JOB;
/// How many write to the service at once while the jobs are brought in.
const DESKS: usize = 4;

/// The name of a technician.
pub(super) fn technician(index: usize) -> String {
    format!("technician-{index}")
}

/// A shop with many hands: everybody can scan and calibrate, and there is a unit for each.
pub(super) fn busy_shop() -> v1::ShopDefinition {
    let mut definition = definition_with_bays(BAYS);
    let model = definition.technicians[0].clone();
    definition.technicians = (0..TECHNICIANS)
        .map(|index| v1::Technician { technician_id: technician(index), ..model.clone() })
        .collect();
    for kind in ["scan-unit", "reflector"] {
        definition.units.extend((2..=TECHNICIANS).map(|index| v1::Unit {
            unit_id: format!("{kind}-more-{index}"),
            unit_kind_id: kind.to_owned(),
            ..v1::Unit::default()
        }));
    }
    let spots = &mut definition.shop.as_mut().unwrap().spots;
    spots[0].capacity = u32::try_from(JOBS).unwrap();
    definition
}

/// A service with the busy shop, every vehicle in the yard with its tasks accepted.
pub(super) async fn busy_service() -> TestService {
    let service = TestService::start().await;
    service.caller().set_up(busy_shop()).await;
    let next = Arc::new(AtomicUsize::new(0));
    let mut desks = JoinSet::new();
    for _ in 0..DESKS {
        let (caller, next) = (service.new_caller().await, Arc::clone(&next));
        desks.spawn(async move {
            loop {
                let index = next.fetch_add(1, Ordering::SeqCst);
                if index >= JOBS {
                    return;
                }
                caller.bring_in(estimate(&format!("J-{index:03}"), &["bumper-removed"])).await;
            }
        });
    }
    while let Some(ended) = desks.join_next().await {
        ended.unwrap();
    }
    service
}

/// What one holding holds alone.
pub(super) fn claims(holding: &v1::Holding) -> BTreeSet<String> {
    let mut claims = BTreeSet::from([
        format!("task {}/{}", holding.job_id, holding.task_id),
        format!("vehicle {}", holding.job_id),
    ]);
    claims.extend(holding.technician_ids.iter().map(|id| format!("technician {id}")));
    claims.extend(holding.unit_ids.iter().map(|id| format!("unit {id}")));
    claims.extend(
        holding.place.iter().map(|place| format!("place {}/{}", place.bay_id, place.station_id)),
    );
    claims
}

/// The chain of the shop's records, which must be whole: how many there are.
pub(super) async fn proved_chain(caller: &Caller) -> u64 {
    let request = v1::VerifyRecordsRequest {
        shop_id: baywright_tests::system::SHOP.to_owned(),
        from_number: 0,
        to_number: 0,
    };
    let proof = caller.send(request).await.unwrap();
    assert_eq!((proof.mismatch, proof.next_number), (None, 0));
    assert_eq!(proof.last_number, proof.checked_count);
    proof.checked_count
}
