//! Whether the run of a piece of work that is about to begin keeps out of sun, dark and unusable roads.
//!
//! The run begins when the set-up is over. At the pull that takes the whole set-up from now; at the
//! start, and when paused work goes on, what is left of both.

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
use prost_types::Timestamp;
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
    /// Minutes of the run itself that are still to go by.
    pub(super) minutes: u32,
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
        let barred = times.check(self.begins_at(), self.minutes);
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
        let length = TimeDelta::minutes(self.minutes.max(1).into());
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

/// Minutes of a method's set-up and of its run that are left at `now`: the set-up counts from the
/// pull, the run from the end of the set-up or the start, whichever is later, pauses apart.
pub(super) fn minutes_left(
    method: &Method,
    holding: &v1::Holding,
    now: DateTime<Utc>,
) -> (u32, u32) {
    let instant = |time: Option<&Timestamp>| time.and_then(|time| instant_from(time).ok());
    let paused: TimeDelta = holding
        .pauses
        .iter()
        .filter_map(|pause| {
            let until = instant(pause.until_time.as_ref()).unwrap_or(now);
            Some(until - instant(pause.from_time.as_ref())?)
        })
        .sum();
    let left = |minutes: u32, since: DateTime<Utc>| {
        let gone = (now - since - paused).num_minutes().max(0);
        minutes.saturating_sub(u32::try_from(gone).unwrap_or(u32::MAX))
    };
    let (setup, run) = (method.minutes().setup(), method.minutes().run());
    let Some(pulled) = instant(holding.pulled_time.as_ref()) else { return (setup, run) };
    let run_left = instant(holding.started_time.as_ref()).map_or(run, |started| {
        left(run, started.max(pulled + TimeDelta::minutes(setup.into()))).max(1)
    });
    (left(setup, pulled), run_left)
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_api::time::timestamp;
    use baywright_core::demand::{MethodDraft, MethodMinutesDraft, SunDemand};
    use baywright_core::ids::MethodId;
    use rstest::rstest;

    fn method() -> Method {
        Method::new(MethodDraft {
            id: MethodId::new("m").unwrap(),
            title: "usual".to_owned(),
            place: WorkPlace::Anywhere,
            roles: vec![],
            equipment: vec![],
            minutes: MethodMinutesDraft { setup_minutes: 15, run_minutes: 20, teardown_minutes: 5 },
            zones: vec![],
            sun: SunDemand::default(),
        })
        .unwrap()
    }

    /// Minutes after the pull: of the start, of a pause from and until, and of the question.
    #[rstest]
    #[case::at_the_pull(None, None, 0, (15, 20))]
    #[case::set_up_before_the_start(None, None, 10, (5, 20))]
    #[case::held_for_long(None, None, 90, (0, 20))]
    #[case::started_at_once(Some(0), None, 10, (5, 20))]
    #[case::in_the_run(Some(0), None, 25, (0, 10))]
    #[case::started_late(Some(60), None, 65, (0, 15))]
    #[case::after_a_pause(Some(0), Some((20, 50)), 55, (0, 10))]
    #[case::paused_while_setting_up(Some(0), Some((5, 45)), 45, (10, 20))]
    #[case::overrun(Some(0), None, 300, (0, 1))]
    fn what_is_left_counts_without_pauses(
        #[case] started: Option<i64>,
        #[case] pause: Option<(i64, i64)>,
        #[case] asked: i64,
        #[case] expected: (u32, u32),
    ) {
        let pulled: DateTime<Utc> = "2026-05-05T09:00:00Z".parse().unwrap();
        let at = |minutes: i64| Some(timestamp(pulled + TimeDelta::minutes(minutes)));
        let holding = v1::Holding {
            pulled_time: at(0),
            started_time: started.and_then(at),
            pauses: pause
                .into_iter()
                .map(|(from, until)| v1::Pause {
                    from_time: at(from),
                    until_time: at(until),
                    note: String::new(),
                })
                .collect(),
            ..v1::Holding::default()
        };
        let now = pulled + TimeDelta::minutes(asked);
        assert_eq!(minutes_left(&method(), &holding, now), expected);
    }
}
