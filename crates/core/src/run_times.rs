//! When the run of a piece of work may take place: free of sun in a bay, in daylight and on usable
//! roads outside; and what bars it at other times.
//!
//! The run alone is bound. Work may start earlier by its set-up: [`RunTimes::starts`].

use crate::calendar::{TimeZone, Window, WindowSet};
use crate::daylight::{SunTrack, daylight_of, start_windows};
use crate::demand::SunDemand;
use crate::fit::SunHours;
use crate::ids::{MethodId, ProcedureId, VehicleClassId};
use crate::work::Place;
use chrono::{DateTime, Duration, NaiveDate, Utc};
use std::collections::BTreeMap;

/// A time in which no run may take place, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Barred {
    /// When.
    pub window: Window,
    /// Why, as part of a sentence: `direct sun on zone target through W2`.
    pub why: String,
}

/// When a run may take place during a period.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RunTimes {
    period: Window,
    free: WindowSet,
    /// By begin.
    barred: Vec<Barred>,
    /// When somebody has confirmed what could not be computed; none where nothing is to confirm.
    confirmed: Option<WindowSet>,
}

/// The run times of all work that is bound by sun, daylight or road; other work is not listed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct BoundRuns {
    /// In bays, by procedure, method, vehicle class and place.
    pub in_bays: BTreeMap<(ProcedureId, MethodId, VehicleClassId, Place), RunTimes>,
    /// On the road, by procedure and method.
    pub on_road: BTreeMap<(ProcedureId, MethodId), RunTimes>,
}

/// What a manager said of the roads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoadEntry {
    /// For when.
    pub window: Window,
    /// Whether they can be used.
    pub usable: bool,
    /// Why.
    pub reason: String,
}

/// Why a run cannot take place when it was meant to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RunBarred {
    /// What bars it, in the order of time.
    pub barred: Vec<Barred>,
    /// When a run of the same length can begin next; none within the period.
    pub next: Option<DateTime<Utc>>,
}

impl RunTimes {
    /// The times of a period that nothing bars.
    pub fn new(period: Window, barred: Vec<Barred>) -> Self {
        let mut barred: Vec<Barred> = barred
            .into_iter()
            .filter_map(|one| {
                let window = one.window.intersection(period)?;
                Some(Barred { window, ..one })
            })
            .collect();
        barred.sort_by(|one, other| {
            let key = |one: &Barred| (one.window.start(), one.window.end());
            (key(one), &one.why).cmp(&(key(other), &other.why))
        });
        let taken: WindowSet = barred.iter().map(|one| one.window).collect();
        let free = WindowSet::from(period).difference(&taken);
        Self { period, free, barred, confirmed: None }
    }

    /// The times that the sun leaves in a bay.
    pub fn of_sun(hours: &SunHours) -> Self {
        let barred = hours.reached.iter().flat_map(|reach| {
            let why = format!("direct sun on {} through {}", reach.aim, reach.opening);
            reach.windows.iter().map(move |window| Barred { window, why: why.clone() })
        });
        Self::new(hours.period, barred.collect())
    }

    /// The times that daylight and the manager's entries leave on the road.
    ///
    /// `track` is none where the shop's position is not stated: a method that asks for daylight then
    /// cannot be driven at any time.
    pub fn of_road(
        period: Window,
        track: Option<&SunTrack>,
        demand: &SunDemand,
        entries: &[RoadEntry],
    ) -> Self {
        let mut barred = Vec::new();
        if let Some(limit) = demand.elevation_min() {
            let daylight = track.map_or(WindowSet::EMPTY, |track| daylight_of(track, limit));
            let why = if track.is_some() {
                format!("the sun stands lower than {} degrees", limit.degrees())
            } else {
                "the shop's position is not stated, so daylight is not known".to_owned()
            };
            let dark = WindowSet::from(period).difference(&daylight);
            barred.extend(dark.iter().map(|window| Barred { window, why: why.clone() }));
        }
        for entry in entries.iter().filter(|entry| !entry.usable) {
            let why = format!("the road is unusable: {}", entry.reason);
            barred.push(Barred { window: entry.window, why });
        }
        let usable = entries.iter().filter(|entry| entry.usable).map(|entry| entry.window);
        let confirmed: WindowSet = usable.collect();
        let confirmed = Some(confirmed.clipped(period));
        Self { confirmed, ..Self::new(period, barred) }
    }

    /// These times and those of the periods that follow, as one.
    #[must_use]
    pub fn joined(self, following: &[Self]) -> Self {
        let end = following.iter().map(|one| one.period.end()).fold(self.period.end(), Ord::max);
        let period = Window::new(self.period.start()..end).unwrap_or(self.period);
        let all = || std::iter::once(&self).chain(following);
        let barred = all().flat_map(|one| one.barred.iter().cloned()).collect();
        let confirmed = self.confirmed.is_some().then(|| {
            all().filter_map(|one| one.confirmed.as_ref()).flat_map(WindowSet::iter).collect()
        });
        Self { confirmed, ..Self::new(period, barred) }
    }

    /// The period looked at.
    pub fn period(&self) -> Window {
        self.period
    }

    /// When a run may take place.
    pub fn free(&self) -> &WindowSet {
        &self.free
    }

    /// What bars it at other times, by begin.
    pub fn barred(&self) -> &[Barred] {
        &self.barred
    }

    /// Whether somebody has confirmed a time; so does work of which nothing is to be confirmed.
    pub fn is_confirmed(&self, run: Window) -> bool {
        self.confirmed.as_ref().is_none_or(|confirmed| confirmed.covers(run))
    }

    /// When work may start, in whole minutes, so that its run falls into a time that is free.
    pub fn starts(&self, setup_minutes: u32, run_minutes: u32) -> WindowSet {
        start_windows(&self.free, setup_minutes, run_minutes)
    }

    /// Whether a run may take place from an instant on; a run of no minutes as one of a minute.
    ///
    /// # Errors
    /// What bars it, and when it can begin next.
    pub fn check(&self, from: DateTime<Utc>, run_minutes: u32) -> Result<(), RunBarred> {
        let length = Duration::minutes(i64::from(run_minutes.max(1)));
        let Ok(run) = Window::new(from..from + length) else { return Ok(()) };
        let barred: Vec<_> = self
            .barred
            .iter()
            .filter(|one| one.window.intersection(run).is_some())
            .cloned()
            .collect();
        if barred.is_empty() {
            return Ok(());
        }
        let next = self
            .free
            .iter()
            .map(|free| (free.start().max(from), free.end()))
            .find(|(start, end)| *start + length <= *end)
            .map(|(start, _)| minute_up(start));
        Err(RunBarred { barred, next })
    }

    /// What limits the start of work whose run takes place at `run`, a sentence each.
    pub fn notes(&self, run: Window, zone: TimeZone) -> Vec<String> {
        let mut notes = Vec::new();
        let today = zone.local(run.start()).date();
        let same_day = |at: DateTime<Utc>| zone.local(at).date() == today;
        if let Some(free) = self.free.iter().find(|free| free.covers(run)) {
            if free.start() > self.period.start() && same_day(free.start()) {
                let until = |one: &&Barred| one.window.end() == free.start();
                let why = self.reasons(until);
                notes.push(format!(
                    "Run not before {}: {why}.",
                    clock(zone, minute_up(free.start()))
                ));
            }
            if free.end() < self.period.end() && same_day(free.end()) {
                let from = |one: &&Barred| one.window.start() == free.end();
                let why = self.reasons(from);
                notes.push(format!("Run done by {}: {why}.", clock(zone, free.end())));
            }
        }
        if !self.is_confirmed(run) {
            notes.push(
                "Provisional: no manager has said that the road is dry and its lines visible then."
                    .to_owned(),
            );
        }
        notes
    }

    fn reasons(&self, wanted: impl Fn(&&Barred) -> bool) -> String {
        let mut reasons: Vec<&str> = Vec::new();
        for one in self.barred.iter().filter(wanted) {
            if !reasons.contains(&one.why.as_str()) {
                reasons.push(&one.why);
            }
        }
        reasons.join(", ")
    }

    /// What bars a local date, a sentence each, with local times.
    pub fn sentences(&self, zone: TimeZone, on: NaiveDate) -> Vec<String> {
        self.barred.iter().map(|one| one.sentence(zone, on)).collect()
    }
}

impl Barred {
    /// The reason with its times, as a part of a sentence; a time of another day carries its date.
    pub fn sentence(&self, zone: TimeZone, on: NaiveDate) -> String {
        let shown = |at| clock_on(zone, at, on);
        let (from, until) = (shown(self.window.start()), shown(minute_up(self.window.end())));
        format!("{} from {from} to {until}", self.why)
    }
}

impl RunBarred {
    /// The refusal as sentences, with local times; `setup_minutes` are still to go by before the run.
    pub fn sentence(&self, zone: TimeZone, now: DateTime<Utc>, setup_minutes: i64) -> String {
        let today = zone.local(now).date();
        let why: Vec<_> = self.barred.iter().map(|one| one.sentence(zone, today)).collect();
        let why = why.join("; ");
        let next = match self.next {
            None => "no later time of the days looked at is long enough for the run".to_owned(),
            Some(next) => {
                let start = clock_on(zone, next - Duration::minutes(setup_minutes), today);
                format!("the work can start at {start}, its run at {}", clock_on(zone, next, today))
            }
        };
        format!("During its run: {why}; {next}.")
    }
}

/// The first whole minute that is not before an instant.
fn minute_up(at: DateTime<Utc>) -> DateTime<Utc> {
    let minute = DateTime::from_timestamp(at.timestamp().div_euclid(60) * 60, 0).unwrap_or(at);
    if minute == at { at } else { minute + Duration::minutes(1) }
}

fn clock(zone: TimeZone, at: DateTime<Utc>) -> String {
    zone.local(at).format("%H:%M").to_string()
}

fn clock_on(zone: TimeZone, at: DateTime<Utc>, today: NaiveDate) -> String {
    let local = zone.local(at);
    if local.date() == today {
        local.format("%H:%M").to_string()
    } else {
        local.format("%Y-%m-%d %H:%M").to_string()
    }
}

#[cfg(test)]
mod tests;
