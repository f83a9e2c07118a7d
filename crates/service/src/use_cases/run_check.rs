//! Whether the run of a piece of work that is about to begin keeps out of sun, dark and unusable roads.
//!
//! The run begins when the set-up is over. At the pull that takes the whole set-up from now; at the
//! start, what is left of it: the set-up counts from the pull.

use super::plans::standing_entries;
use crate::{error::ServiceError, snapshot::ShopSnapshot};
use baywright_api::{sun::sun_message, time::instant_from, v1};
use baywright_core::{
    calendar::Window,
    demand::{Method, Procedure, WorkPlace},
    ids::VehicleClassId,
    run_times::{RoadEntry, RunTimes},
    work::Place,
};
use chrono::{DateTime, TimeDelta, Utc};
use sea_orm::DatabaseTransaction;

/// Days looked at for when a run can begin: today and tomorrow.
const DAYS: u32 = 2;

/// The manager's entries about the roads, as kept and as the core takes them.
#[derive(Debug, Default)]
pub(super) struct Roads(Vec<(v1::RoadEntry, RoadEntry)>);

/// A piece of work that is about to begin.
#[derive(Debug, Clone, Copy)]
pub(super) struct Run<'a> {
    pub(super) shop: &'a ShopSnapshot,
    pub(super) procedure: &'a Procedure,
    pub(super) method: &'a Method,
    pub(super) class: &'a VehicleClassId,
    pub(super) place: Option<&'a Place>,
    pub(super) roads: &'a Roads,
    pub(super) now: DateTime<Utc>,
    /// Minutes of set-up that are still to go by.
    pub(super) setup_minutes: u32,
}

/// Why a run cannot begin, and when the work can.
#[derive(Debug)]
pub(super) struct CannotRun {
    pub(super) sentence: String,
    pub(super) start_at: Option<DateTime<Utc>>,
}

impl Roads {
    /// What managers say of the roads from now on.
    pub(super) async fn read(
        tx: &DatabaseTransaction,
        shop_id: &str,
        now: DateTime<Utc>,
    ) -> Result<Self, ServiceError> {
        let kept = standing_entries(tx, shop_id, now).await?;
        let both = kept.into_iter().map(|message| {
            let entry = RoadEntry::try_from(&message).map_err(ServiceError::internal)?;
            Ok((message, entry))
        });
        both.collect::<Result<_, ServiceError>>().map(Self)
    }
}

impl Run<'_> {
    fn times(&self) -> Option<RunTimes> {
        let span = (self.now, DAYS);
        match (self.place, self.method.place()) {
            (Some(place), _) => {
                let work = (self.procedure, self.method);
                self.shop.run_times_in_bay(work, self.class, place, span)
            }
            (None, WorkPlace::Road) => {
                let entries: Vec<_> = self.roads.0.iter().map(|(_, entry)| entry.clone()).collect();
                self.shop.run_times_on_road(self.method, &entries, span)
            }
            (None, WorkPlace::Bay | WorkPlace::Anywhere) => None,
        }
    }

    fn begins_at(&self) -> DateTime<Utc> {
        self.now + TimeDelta::minutes(self.setup_minutes.into())
    }

    /// Refuses a run that would meet sun, dark or an unusable road.
    pub(super) fn check(&self) -> Result<(), CannotRun> {
        let Some(times) = self.times() else { return Ok(()) };
        let barred = times.check(self.begins_at(), self.method.minutes().run());
        barred.map_err(|barred| {
            let zone = self.shop.definition().parts().shop.parts().hours.zone();
            let setup = i64::from(self.setup_minutes);
            CannotRun {
                sentence: barred.sentence(zone, self.now, setup),
                start_at: barred.next.map(|next| next - TimeDelta::minutes(setup)),
            }
        })
    }

    /// Writes what is known of sun, daylight and road into a holding, as evidence.
    pub(super) fn note_in(&self, holding: &mut v1::Holding) {
        let zone = self.shop.definition().parts().shop.parts().hours.zone();
        let date = zone.local(self.now).date();
        if let Some(place) = self.place {
            let work = (self.procedure, self.method);
            let answer = self.shop.sun_at(work, self.class, place, date);
            holding.sun = answer.map(|answer| sun_message(&answer, date, zone));
        }
        let length = TimeDelta::minutes(self.method.minutes().run().max(1).into());
        let run = Window::new(self.begins_at()..self.begins_at() + length);
        let (WorkPlace::Road, Some(times), Ok(run)) = (self.method.place(), self.times(), run)
        else {
            return;
        };
        let mut notes = Vec::new();
        if let Some(degrees) = self.method.sun().elevation_min_deg {
            let shown = |at: DateTime<Utc>| zone.local(at).format("%H:%M").to_string();
            notes.push(format!(
                "From {} to {} the sun stands above {degrees} degrees.",
                shown(run.start()),
                shown(run.end())
            ));
        }
        notes.extend(times.notes(run, zone));
        holding.road_notes = notes;
        let touch = self.roads.0.iter();
        let touch = touch.filter(|(_, entry)| entry.window.intersection(run).is_some());
        holding.road_entries = touch.map(|(message, _)| message.clone()).collect();
    }
}

/// Minutes of a method's set-up that are left at `now`, counted from the pull.
pub(super) fn setup_left(method: &Method, holding: &v1::Holding, now: DateTime<Utc>) -> u32 {
    let pulled = holding.pulled_time.as_ref().and_then(|time| instant_from(time).ok());
    let gone = pulled.map_or(0, |pulled| (now - pulled).num_minutes().max(0));
    method.minutes().setup().saturating_sub(u32::try_from(gone).unwrap_or(u32::MAX))
}
