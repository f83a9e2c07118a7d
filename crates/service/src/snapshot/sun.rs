//! The sun in a shop's bays and over its roads: computed when it is asked for, day by day, and kept
//! as long as the snapshot.
//!
//! A day of one method in one bay takes well under a millisecond, so that a pull may ask for it within
//! its transaction; a plan asks for all days at once, off the threads that answer.

use super::ShopSnapshot;
use baywright_core::{
    axes::PoseFloor,
    calendar::{Window, instant_of_wall_time},
    daylight::SunTrack,
    demand::{Method, Procedure, WorkPlace},
    fit::{Fit, SunAnswer, asks_for_no_sun, sun_hours},
    floor::Bay,
    ids::{MethodId, ProcedureId, VehicleClassId},
    run_times::{BoundRuns, RoadEntry, RunTimes},
    work::Place,
};
use chrono::{DateTime, Days, NaiveDate, NaiveTime, Utc};
use std::{
    collections::{BTreeMap, BTreeSet},
    sync::{Arc, Mutex},
};

/// Days of one method, class and place that are kept; when there are more, all are computed anew.
const ANSWERS_KEPT_MAX: usize = 50_000;
/// Days of the sun's way that are kept.
const TRACKS_KEPT_MAX: usize = 500;

/// What the sun is asked for: procedure, method, vehicle class, place and local date.
type SunKey = (ProcedureId, MethodId, VehicleClassId, Place, NaiveDate);

/// Days that were computed.
#[derive(Debug, Default)]
pub(super) struct SunCache {
    tracks: Mutex<BTreeMap<NaiveDate, Option<Arc<SunTrack>>>>,
    answers: Mutex<BTreeMap<SunKey, Arc<SunAnswer>>>,
}

impl ShopSnapshot {
    /// From local midnight to local midnight.
    pub fn local_day(&self, date: NaiveDate) -> Option<Window> {
        let zone = self.definition.parts().shop.parts().hours.zone();
        let midnight = |date: NaiveDate| instant_of_wall_time(zone, date.and_time(NaiveTime::MIN));
        Window::new(midnight(date)..midnight(date.checked_add_days(Days::new(1))?)).ok()
    }

    /// The sun's way on a local date; none where the shop's position is not stated.
    pub fn sun_track(&self, date: NaiveDate) -> Option<Arc<SunTrack>> {
        if let Ok(tracks) = self.sun.tracks.lock()
            && let Some(known) = tracks.get(&date)
        {
            return known.clone();
        }
        let site = self.definition.parts().shop.sun_site();
        let period = self.local_day(date);
        let track = site.zip(period).and_then(|(site, period)| SunTrack::new(site, period).ok());
        let track = track.map(Arc::new);
        if let Ok(mut tracks) = self.sun.tracks.lock() {
            if tracks.len() >= TRACKS_KEPT_MAX {
                tracks.clear();
            }
            tracks.insert(date, track.clone());
        }
        track
    }

    /// The sun at a place on a local date; none where the shop has no such place or class.
    pub fn sun_at(
        &self,
        (procedure, method): (&Procedure, &Method),
        class: &VehicleClassId,
        place: &Place,
        date: NaiveDate,
    ) -> Option<Arc<SunAnswer>> {
        let key = (procedure.id().clone(), method.id().clone(), class.clone(), place.clone(), date);
        if let Ok(answers) = self.sun.answers.lock()
            && let Some(known) = answers.get(&key)
        {
            return Some(Arc::clone(known));
        }
        let parts = self.definition.parts();
        let vehicle = self.definition.vehicle_class(class)?;
        let bay = self.definition.bay(&place.bay)?;
        let pose = self.pose_at((procedure, method), class, bay, place)?;
        let bearing = parts.shop.bearing()?;
        let track = self.sun_track(date);
        let answer = sun_hours(track.as_deref(), bearing, (method, vehicle), (bay, &pose));
        let answer = Arc::new(answer);
        if let Ok(mut answers) = self.sun.answers.lock() {
            if answers.len() >= ANSWERS_KEPT_MAX {
                answers.clear();
            }
            answers.insert(key, Arc::clone(&answer));
        }
        Some(answer)
    }

    /// The pose of the bay's station of that name, else of the placement at which the bay fits.
    fn pose_at(
        &self,
        (procedure, method): (&Procedure, &Method),
        class: &VehicleClassId,
        bay: &Bay,
        place: &Place,
    ) -> Option<PoseFloor> {
        let painted = bay.stations().iter().find(|station| station.id == place.station);
        let key = (procedure.id().clone(), method.id().clone(), class.clone(), bay.id().clone());
        let found = || match &**self.fits.get(&key)? {
            Fit::Fits(placement) if *placement.station() == place.station => {
                Some(*placement.pose())
            }
            _ => None,
        };
        painted.map(|station| station.pose).or_else(found)
    }

    /// When the run of a method may take place at a place, on the local date of `from` and the days
    /// after it; none where no sun binds it or nothing could be computed.
    pub fn run_times_in_bay(
        &self,
        work: (&Procedure, &Method),
        class: &VehicleClassId,
        place: &Place,
        (from, days): (DateTime<Utc>, u32),
    ) -> Option<RunTimes> {
        let bay = self.definition.bay(&place.bay)?;
        if !asks_for_no_sun(work.1) || bay.daylight_openings().is_empty() {
            return None;
        }
        let mut times = Vec::new();
        for date in self.dates(from, days) {
            match &*self.sun_at(work, class, place, date)? {
                SunAnswer::Computed(hours) => times.push(RunTimes::of_sun(hours)),
                SunAnswer::NotAsked
                | SunAnswer::NoOpening
                | SunAnswer::NotDrawn(_)
                | SunAnswer::NoPosition => return None,
            }
        }
        joined(times)
    }

    /// When the run of a method may take place on the road.
    pub fn run_times_on_road(
        &self,
        method: &Method,
        entries: &[RoadEntry],
        (from, days): (DateTime<Utc>, u32),
    ) -> Option<RunTimes> {
        let times = self.dates(from, days).filter_map(|date| {
            let period = self.local_day(date)?;
            let track = self.sun_track(date);
            Some(RunTimes::of_road(period, track.as_deref(), method.sun(), entries))
        });
        joined(times.collect())
    }

    /// Everything that sun, daylight and road bind from `from` on, for the classes given.
    pub fn bound_runs(
        &self,
        classes: &BTreeSet<VehicleClassId>,
        entries: &[RoadEntry],
        (from, days): (DateTime<Utc>, u32),
    ) -> BoundRuns {
        let mut runs = BoundRuns::default();
        // The days planned are counted in hours: the last one ends on the local date after.
        let days = days.saturating_add(1);
        // Every place that hosts something on any of the days ahead.
        let hosts = self.ahead.hosts.values().flatten();
        for ((procedure, method, class), places) in hosts {
            let known = self.definition.procedure(procedure);
            let way = known.and_then(|known| {
                Some((known, known.methods().iter().find(|one| one.id() == method)?))
            });
            let Some(way) = way.filter(|_| classes.contains(class)) else { continue };
            for place in places {
                let key = (procedure.clone(), method.clone(), class.clone(), place.clone());
                if runs.in_bays.contains_key(&key) {
                    continue;
                }
                let times = self.run_times_in_bay(way, class, place, (from, days));
                runs.in_bays.extend(times.map(|times| (key, times)));
            }
        }
        for procedure in &self.definition.parts().procedures {
            for method in procedure.methods().iter().filter(|one| one.place() == WorkPlace::Road) {
                let times = self.run_times_on_road(method, entries, (from, days));
                let key = (procedure.id().clone(), method.id().clone());
                runs.on_road.extend(times.map(|times| (key, times)));
            }
        }
        runs
    }

    fn dates(&self, from: DateTime<Utc>, days: u32) -> impl Iterator<Item = NaiveDate> {
        let first = self.definition.parts().shop.parts().hours.zone().local(from).date();
        first.iter_days().take(usize::try_from(days).unwrap_or(usize::MAX))
    }
}

fn joined(mut times: Vec<RunTimes>) -> Option<RunTimes> {
    if times.is_empty() {
        return None;
    }
    let first = times.remove(0);
    Some(first.joined(&times))
}
