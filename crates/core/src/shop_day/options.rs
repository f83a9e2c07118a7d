//! The ways of doing a task: each method at each place that can host it, with the people and units.

use super::minutes::minute_up;
use super::run_starts::{run_starts, run_times};
use super::starts::{Span, both};
use super::{Hold, OptionMeaning, ShopState, minutes_of, needs_bay};
use crate::calendar::{TimeZone, instant_of_wall_time};
use crate::demand::{Method, Procedure, TaskKind, WorkPlace};
use crate::ids::{MethodId, ProcedureId, VehicleClassId};
use crate::planner::{OptionDraft, WindowDraft};
use crate::shop::Unit;
use crate::work::{Job, Place, Task, TaskState};
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use std::collections::BTreeSet;

/// Name of a technician among the planner's resources.
pub(super) fn technician_resource(id: &crate::ids::TechnicianId) -> String {
    format!("technician:{id}")
}

/// The technician that a resource of the planner stands for.
pub(crate) fn technician_of(resource: &str) -> Option<crate::ids::TechnicianId> {
    crate::ids::TechnicianId::new(resource.strip_prefix("technician:")?).ok()
}

/// Name of a unit among the planner's resources.
pub(super) fn unit_resource(id: &crate::ids::UnitId) -> String {
    format!("unit:{id}")
}

/// The options of an open task, each with its meaning, or why there is none.
///
/// People, units and bays are judged on each day of the plan: an option may start only so that the
/// whole of it lies in days on which its people fill their roles and its bay fits.
pub(super) fn options_of(
    state: &ShopState<'_>,
    job: &Job,
    task: &Task,
    span: &Span,
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
        let found = options_of_method(state, job, procedure, method, span);
        match found {
            Ok(found) => options.extend(found),
            Err(sentence) => why.push(sentence),
        }
    }
    if options.is_empty() { Err(why) } else { Ok(options) }
}

fn options_of_method(
    state: &ShopState<'_>,
    job: &Job,
    procedure: &Procedure,
    method: &Method,
    span: &Span,
) -> Result<Vec<(OptionDraft, OptionMeaning)>, String> {
    let minutes = minutes_of(method);
    let by_groups = groups_by_day(state, method, span)?;
    let key = (procedure.id().clone(), method.id().clone(), job.vehicle.class.clone());
    let places = places(state, method, &key, span);
    if places.is_empty() {
        return Err(format!(
            "Method {}: no surveyed bay fits it for a vehicle of class {}; see the fits for the \
             numbers.",
            method.id(),
            job.vehicle.class
        ));
    }
    // The adhesive maker states when the vehicle may be driven, whatever the drive is for.
    let drivable = job.drivable_at().filter(|_| method.place() == WorkPlace::Road);
    let mut options = Vec::new();
    let mut why_no_run = Vec::new();
    for (needs, dates) in &by_groups {
        for place in &places {
            let holds = |date: NaiveDate| {
                let hosts = |place| state.hosts.places_on(date, &key).contains(place);
                dates.contains(&date) && place.as_ref().is_none_or(hosts)
            };
            let days = span.days.starts_within(minutes, holds);
            let times = run_times(state, job, procedure, method, place.as_ref());
            let runs = match run_starts(times, method, place.as_ref(), span) {
                Ok(runs) => runs,
                Err(sentence) => {
                    why_no_run.push(sentence);
                    continue;
                }
            };
            let starts = both(both(days, drivable.map(|at| span.from(at))), runs);
            if starts.as_ref().is_some_and(Vec::is_empty) {
                continue;
            }
            let place_name = place.as_ref().map(Place::to_string);
            let draft = OptionDraft { minutes, place: place_name, starts, needs: needs.clone() };
            options.push((draft, meaning(method, place.clone())));
        }
    }
    if options.is_empty() && !why_no_run.is_empty() {
        why_no_run.dedup();
        return Err(why_no_run.join(" "));
    }
    if options.is_empty() {
        return Err(format!(
            "Method {}: on no day planned are its people, its units and a bay that fits there for \
             {minutes} minutes together.",
            method.id()
        ));
    }
    Ok(options)
}

fn meaning(method: &Method, place: Option<Place>) -> OptionMeaning {
    OptionMeaning {
        method: method.id().clone(),
        place,
        minutes: minutes_of(method),
        roles: method.roles().len(),
    }
}

/// Whether an option drives the vehicle on the road.
pub(super) fn is_road(state: &ShopState<'_>, task: &Task, option: &OptionMeaning) -> bool {
    let procedure = state.shop.procedure(&task.procedure);
    let methods = procedure.map_or(&[][..], Procedure::methods);
    methods.iter().any(|one| *one.id() == option.method && one.place() == WorkPlace::Road)
}

/// The options without drives, where there are others and glass is still to be set: how long the
/// vehicle may not be driven afterwards would bind all of them.
pub(super) fn without_drives_before_glass(
    state: &ShopState<'_>,
    job: &Job,
    task: &Task,
    options: Vec<(OptionDraft, OptionMeaning)>,
) -> Vec<(OptionDraft, OptionMeaning)> {
    let to_be_set = |other: &Task| {
        other.kind == TaskKind::Glass
            && other.id != task.id
            && (other.state == TaskState::Open || other.state.is_held())
    };
    if !job.tasks.iter().any(to_be_set) {
        return options;
    }
    let (drives, others): (Vec<_>, Vec<_>) =
        options.into_iter().partition(|(_, option)| is_road(state, task, option));
    if others.is_empty() { drives } else { others }
}

/// People and units for a method: a group of resources for each role and kind of equipment.
type Groups = Vec<Vec<String>>;

/// The different groups of the days planned, each with its days; why not where there is none.
fn groups_by_day(
    state: &ShopState<'_>,
    method: &Method,
    span: &Span,
) -> Result<Vec<(Groups, BTreeSet<NaiveDate>)>, String> {
    let mut all: Vec<(Groups, BTreeSet<NaiveDate>)> = Vec::new();
    let mut why = None;
    for date in span.days.dates() {
        match groups(state, method, date, span) {
            Ok(found) => match all.iter_mut().find(|(known, _)| *known == found) {
                Some((_, dates)) => {
                    dates.insert(date);
                }
                None => all.push((found, BTreeSet::from([date]))),
            },
            Err(sentence) => {
                why.get_or_insert(sentence);
            }
        }
    }
    match why {
        Some(sentence) if all.is_empty() => Err(sentence),
        _ => Ok(all),
    }
}

fn groups(
    state: &ShopState<'_>,
    method: &Method,
    date: NaiveDate,
    span: &Span,
) -> Result<Groups, String> {
    let parts = state.shop.parts();
    let mut needs = Vec::new();
    for role in method.roles() {
        let group: Vec<_> = parts
            .technicians
            .iter()
            .filter(|technician| technician.fills(role, date))
            .map(|technician| technician_resource(technician.id()))
            .collect();
        if group.is_empty() {
            return Err(format!("Method {}: no technician fills role {role}.", method.id()));
        }
        needs.push(group);
    }
    for kind in method.equipment() {
        // The windows of a unit say on which of the days it can be used.
        let usable = |unit: &Unit| span.days.dates().any(|day| unit.is_usable_on(day));
        let group: Vec<_> = parts
            .units
            .iter()
            .filter(|unit| unit.parts().kind == *kind && usable(unit))
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

/// The places that host the method on some day planned, those of the first days first; one that is
/// no place where the method needs none.
fn places(
    state: &ShopState<'_>,
    method: &Method,
    key: &(ProcedureId, MethodId, VehicleClassId),
    span: &Span,
) -> Vec<Option<Place>> {
    if !needs_bay(method) {
        return vec![None];
    }
    let mut places: Vec<Option<Place>> = Vec::new();
    for date in span.days.dates() {
        for place in state.hosts.places_on(date, key) {
            if !places.iter().any(|known| known.as_ref() == Some(place)) {
                places.push(Some(place.clone()));
            }
        }
    }
    places
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
