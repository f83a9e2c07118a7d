//! The ways of doing a task: each method at each place that can host it, with the people and units.

use super::minutes::minute_up;
use super::run_starts::{Frame, run_times, starts};
use super::{Hold, OptionMeaning, ShopState, minutes_of, needs_bay};
use crate::calendar::{TimeZone, instant_of_wall_time};
use crate::demand::{Method, Procedure};
use crate::planner::{OptionDraft, WindowDraft};
use crate::shop::Unit;
use crate::work::{Job, Place, Task};
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};

/// Name of a technician among the planner's resources.
pub(super) fn technician_resource(id: &crate::ids::TechnicianId) -> String {
    format!("technician:{id}")
}

/// Name of a unit among the planner's resources.
pub(super) fn unit_resource(id: &crate::ids::UnitId) -> String {
    format!("unit:{id}")
}

/// The options of an open task, each with its meaning, or why there is none.
pub(super) fn options_of(
    state: &ShopState<'_>,
    job: &Job,
    task: &Task,
    frame: Frame,
) -> Result<Vec<(OptionDraft, OptionMeaning)>, Vec<String>> {
    let Some(procedure) = state.shop.procedure(&task.procedure) else {
        return Err(vec![format!(
            "The shop no longer has procedure {}; write it down again or cancel the task.",
            task.procedure
        )]);
    };
    let mut options = Vec::new();
    let mut why = Vec::new();
    for method in procedure.methods() {
        let needs = match groups(state, method, frame.today) {
            Ok(needs) => needs,
            Err(sentence) => {
                why.push(sentence);
                continue;
            }
        };
        for place in places(state, job, procedure, method, &mut why) {
            let times = run_times(state, job, procedure, method, place.as_ref());
            let starts = match starts(times, method, place.as_ref(), frame) {
                Ok(starts) => starts,
                Err(sentence) => {
                    why.push(sentence);
                    continue;
                }
            };
            let draft = OptionDraft {
                minutes: minutes_of(method),
                place: place.as_ref().map(Place::to_string),
                starts,
                needs: needs.clone(),
            };
            options.push((draft, meaning(method, place)));
        }
    }
    if options.is_empty() { Err(why) } else { Ok(options) }
}

fn meaning(method: &Method, place: Option<Place>) -> OptionMeaning {
    OptionMeaning {
        method: method.id().clone(),
        place,
        minutes: minutes_of(method),
        roles: method.roles().len(),
    }
}

fn groups(
    state: &ShopState<'_>,
    method: &Method,
    today: NaiveDate,
) -> Result<Vec<Vec<String>>, String> {
    let parts = state.shop.parts();
    let mut needs = Vec::new();
    for role in method.roles() {
        let group: Vec<_> = parts
            .technicians
            .iter()
            .filter(|technician| technician.fills(role, today))
            .map(|technician| technician_resource(technician.id()))
            .collect();
        if group.is_empty() {
            return Err(format!("Method {}: no technician fills role {role}.", method.id()));
        }
        needs.push(group);
    }
    for kind in method.equipment() {
        let group: Vec<_> = parts
            .units
            .iter()
            .filter(|unit| unit.parts().kind == *kind && usable_some_day(state, unit, today))
            .flat_map(Unit::pieces)
            .map(|piece| unit_resource(&piece))
            .collect();
        if group.is_empty() {
            return Err(format!(
                "Method {}: no unit of kind {kind} is here with a verification that counts.",
                method.id()
            ));
        }
        needs.push(group);
    }
    Ok(needs)
}

/// Whether the unit can be used on one of the days planned; its windows say on which.
fn usable_some_day(state: &ShopState<'_>, unit: &Unit, today: NaiveDate) -> bool {
    let days = usize::try_from(state.days).unwrap_or(usize::MAX);
    today.iter_days().take(days).any(|day| unit.is_usable_on(day))
}

fn places(
    state: &ShopState<'_>,
    job: &Job,
    procedure: &Procedure,
    method: &Method,
    why: &mut Vec<String>,
) -> Vec<Option<Place>> {
    if !needs_bay(method) {
        return vec![None];
    }
    let key = (procedure.id().clone(), method.id().clone(), job.vehicle.class.clone());
    let hosts = state.hosts.get(&key).map_or(&[][..], Vec::as_slice);
    if hosts.is_empty() {
        why.push(format!(
            "Method {}: no surveyed bay fits it for a vehicle of class {}; see the fits for the \
             numbers.",
            method.id(),
            job.vehicle.class
        ));
    }
    hosts.iter().cloned().map(Some).collect()
}

/// The one option of a held task: as it is held.
pub(super) fn option_as_held(hold: &Hold) -> (OptionDraft, OptionMeaning, Vec<String>) {
    let uses: Vec<_> = hold
        .technicians
        .iter()
        .map(technician_resource)
        .chain(hold.units.iter().map(unit_resource))
        .collect();
    let minutes = i64::from(hold.minutes).max(1);
    let draft = OptionDraft {
        minutes,
        place: hold.place.as_ref().map(Place::to_string),
        starts: None,
        needs: uses.iter().map(|resource| vec![resource.clone()]).collect(),
    };
    let meaning = OptionMeaning {
        method: hold.method.clone(),
        place: hold.place.clone(),
        minutes,
        roles: hold.technicians.len(),
    };
    (draft, meaning, uses)
}

/// The windows in which a unit is here and verified, in minutes; none where it always is.
pub(super) fn usable_minutes(
    unit: &Unit,
    zone: TimeZone,
    zero: DateTime<Utc>,
    horizon: i64,
) -> Option<Vec<WindowDraft>> {
    let parts = unit.parts();
    if parts.verified_until.is_none() && parts.absences.is_empty() {
        return None;
    }
    let midnight = |date: NaiveDate| {
        let wall = date.and_time(NaiveTime::MIN);
        minute_up(zero, instant_of_wall_time(zone, wall)).clamp(0, horizon)
    };
    let end = parts.verified_until.map_or(horizon, midnight);
    let mut away: Vec<WindowDraft> = parts
        .absences
        .iter()
        .map(|one| [midnight(one.from), one.back.map_or(horizon, midnight)])
        .collect();
    away.sort_unstable();
    let mut windows = Vec::new();
    let mut from = 0;
    for [gone, back] in away {
        windows.push([from, gone.min(end)]);
        from = from.max(back);
    }
    windows.push([from, end]);
    windows.retain(|[from, to]| from < to);
    Some(windows)
}
