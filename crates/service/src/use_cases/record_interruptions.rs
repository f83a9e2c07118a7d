//! Phases, pauses and hand-overs of an attempt, as statements of its conditions record.

use crate::snapshot::ShopSnapshot;
use baywright_api::{
    time::instant_from,
    v1::{self, EvidenceSource, WorkPhase},
};
use chrono::{DateTime, Utc};
use prost_types::Timestamp;

/// Every phase, pause and hand-over: the instants are measured, the reasons told.
pub(super) fn interruptions(
    shop: &ShopSnapshot,
    holding: &v1::Holding,
) -> Vec<v1::EvidenceStatement> {
    let at = |time: Option<&Timestamp>| {
        let instant = time.and_then(|time| instant_from(time).ok());
        instant.map_or_else(|| "an unknown time".to_owned(), |at| local(shop, at))
    };
    let phases = holding.phases.iter().map(|one| {
        let (from, until) = (at(one.from_time.as_ref()), at(one.until_time.as_ref()));
        let name = match one.phase() {
            WorkPhase::SetUp => "Set-up",
            WorkPhase::Run => "Run",
            WorkPhase::TearDown => "Tear-down",
            WorkPhase::Unspecified => "Work",
        };
        format!("{name} from {from} until {until}.")
    });
    let pauses = holding.pauses.iter().map(|pause| {
        let (from, until) = (at(pause.from_time.as_ref()), at(pause.until_time.as_ref()));
        format!("Paused from {from} until {until}: {}", pause.note)
    });
    let hand_overs = holding.hand_overs.iter().map(|one| {
        let when = at(one.handed_over_time.as_ref());
        let (from, to) = (&one.from_technician_id, &one.to_technician_id);
        format!("Handed over from {from} to {to} at {when}: {}", one.note)
    });
    phases
        .chain(pauses)
        .chain(hand_overs)
        .map(|sentence| v1::EvidenceStatement {
            subject: "time".to_owned(),
            sentence,
            source: EvidenceSource::Measured.into(),
        })
        .collect()
}

/// An instant in the shop's own time.
pub(super) fn local(shop: &ShopSnapshot, at: DateTime<Utc>) -> String {
    let zone = shop.definition().parts().shop.parts().hours.zone();
    format!("{} {}", zone.local(at).format("%Y-%m-%d %H:%M:%S"), zone.name())
}
