//! Drawings of a bay or the whole floor, with a vehicle where one is named.

mod sunlight;

use super::fit_details::method_and_class;
use crate::{
    app::App,
    error::ServiceError,
    off_thread::off_thread,
    snapshot::{FitKey, ShopSnapshot},
};
use baywright_api::v1;
use baywright_core::{
    axes::PoseFloor,
    drawing::{DrawnBay, Plan, Standing},
    fault::{Fault, FaultList},
    fit::{Finding, Fit, StationFindings, free_placements, room_at, zones_at},
    floor::Bay,
    ids::{BayId, MethodId, ProcedureId, VehicleClassId},
    survey::Survey,
};
use std::sync::Arc;

/// Draws a bay or the whole floor.
///
/// # Errors
/// No such shop, bay, procedure, method, class or station; a vehicle without a bay; a method that is
/// not done in a bay; an instant in a year for which no sun is computed.
pub async fn draw_plan(
    app: &App,
    request: v1::DrawPlanRequest,
) -> Result<v1::DrawPlanResponse, ServiceError> {
    let snapshot = app.snapshot(&request.shop_id, app.clock.now()).await?;
    let svg = off_thread(move |_| drawn(&snapshot, &request)).await??;
    Ok(v1::DrawPlanResponse { svg })
}

fn drawn(
    snapshot: &Arc<ShopSnapshot>,
    request: &v1::DrawPlanRequest,
) -> Result<String, ServiceError> {
    let parts = snapshot.definition().parts();
    let bays: Vec<&Bay> =
        parts.bays.iter().filter(|bay| asks(&request.bay_id, bay.id().as_str())).collect();
    if bays.is_empty() && !request.bay_id.is_empty() {
        return Err(ServiceError::not_found("bay", request.bay_id.as_str()));
    }
    let vehicle = vehicle_of(snapshot, request)?;
    let shop = parts.shop.parts();
    let survey = |bay: &Bay| snapshot.survey(bay.id());
    let mut subtitles = vec![format!("{}, as of {}", shop.title, snapshot.date())];
    if let [bay] = bays.as_slice() {
        subtitles.push(survey_line(survey(bay)));
    }
    let room_and_zones = vehicle.as_ref().map(|vehicle| {
        subtitles.push(vehicle.line.clone());
        let Vehicle { key, bay, pose, .. } = vehicle;
        method_and_class(snapshot, key).map(|(method, class)| {
            let room = room_at(method, class, (bay, snapshot.date()), pose);
            (room, zones_at(method, class, pose))
        })
    });
    let room_and_zones = room_and_zones.flatten();
    let standing = vehicle.as_ref().zip(room_and_zones.as_ref());
    let at = request.at_time.as_ref().map(sunlight::instant).transpose()?;
    let sun = at.map(|at| sunlight::sunlit(snapshot, &bays, at)).transpose()?.unwrap_or_default();
    subtitles.extend(sun.line);
    let plan = Plan {
        title: if request.bay_id.is_empty() {
            "Floor plan".to_owned()
        } else {
            format!("Bay {}", request.bay_id)
        },
        subtitles,
        bearing_deg: shop.bearing_deg,
        bays: bays.iter().map(|bay| DrawnBay { bay, survey: survey(bay) }).collect(),
        standing: standing.map(|(vehicle, (room, zones))| Standing {
            pose: &vehicle.pose,
            zones,
            room,
        }),
        sunlit: sun.patches,
        notes: sun.notes.into_iter().chain(notes(bays.len() == 1, vehicle.is_some())).collect(),
    };
    Ok(plan.svg())
}

fn asks(filter: &str, name: &str) -> bool {
    filter.is_empty() || filter == name
}

fn survey_line(survey: Option<&Survey>) -> String {
    survey.map_or_else(
        || "Not surveyed.".to_owned(),
        |survey| {
            format!(
                "Survey {} of {}, counts until before {}.",
                survey.id(),
                survey.taken_on(),
                survey.valid_until()
            )
        },
    )
}

fn notes(one_bay: bool, with_vehicle: bool) -> Vec<String> {
    let caution = "Caution: the vehicle maker's current procedure, local codes and licensed practice \
                   decide; a wrong calibration is dangerous.";
    let mut notes = Vec::new();
    if one_bay {
        notes.push(
            "Numbers at the corners are the vertices of the bay's outline, by which edges are named."
                .to_owned(),
        );
    }
    if with_vehicle {
        notes.push("Driving in is not modelled. Lengths are in millimetres.".to_owned());
    }
    notes.push(caution.to_owned());
    notes
}

/// A vehicle that is drawn.
struct Vehicle<'a> {
    key: FitKey,
    bay: &'a Bay,
    pose: PoseFloor,
    line: String,
}

fn vehicle_of<'a>(
    snapshot: &'a ShopSnapshot,
    request: &v1::DrawPlanRequest,
) -> Result<Option<Vehicle<'a>>, ServiceError> {
    let named = [&request.procedure_id, &request.method_id, &request.vehicle_class_id];
    if named.iter().all(|name| name.is_empty()) && request.station_id.is_empty() {
        return Ok(None);
    }
    let mut faults = FaultList::new();
    let fields = ["bay_id", "procedure_id", "method_id", "vehicle_class_id"];
    for (field, name) in fields.iter().zip([&request.bay_id].into_iter().chain(named)) {
        if name.is_empty() {
            let remedy = "name bay, procedure, method and class, or leave all but the bay out";
            faults.push(Fault::new(*field, "empty", "be given where a vehicle is drawn", remedy));
        }
    }
    faults.finish(())?;
    let key: FitKey = (
        ProcedureId::new(request.procedure_id.as_str())?,
        MethodId::new(request.method_id.as_str())?,
        VehicleClassId::new(request.vehicle_class_id.as_str())?,
        BayId::new(request.bay_id.as_str())?,
    );
    let fit = snapshot.fit(&key).ok_or_else(|| {
        let (procedure, method, class, bay) = &key;
        ServiceError::not_found("fit", format!("{procedure}/{method}/{class}/{bay}"))
    })?;
    let bay = snapshot.definition().bay(&key.3);
    let bay = bay.ok_or_else(|| ServiceError::not_found("bay", request.bay_id.as_str()))?;
    let (pose, line) = pose_of(snapshot, (&key, bay), fit, &request.station_id)?;
    Ok(Some(Vehicle { key, bay, pose, line }))
}

/// Where the vehicle is drawn, and what is said about it.
fn pose_of(
    snapshot: &ShopSnapshot,
    (key, bay): (&FitKey, &Bay),
    fit: &Fit,
    station: &str,
) -> Result<(PoseFloor, String), ServiceError> {
    let (procedure, method, class, _) = key;
    let asked = format!("{procedure}/{method} for a {class}");
    match fit {
        Fit::Fits(placement) if asks(station, placement.station().as_str()) => {
            let line = format!("{asked}: fits at {}.", placement.station());
            Ok((*placement.pose(), line))
        }
        Fit::DoesNotFit(stations) | Fit::Undecided(stations) => {
            let at = stations.iter().find(|one| asks(station, one.station.as_str()));
            if station.is_empty()
                && let Some(free) = free_pose(snapshot, key, bay)
            {
                let line = format!(
                    "{asked}: no station fits; drawn at a pose with room, where {}",
                    first_reason(&free.1).unwrap_or_else(|| {
                        "every need holds: a station could be painted there.".to_owned()
                    })
                );
                return Ok((free.0, line));
            }
            at.map(|found| (found.pose, reason_line(&asked, found)))
                .ok_or_else(|| ServiceError::not_found("station", station))
        }
        Fit::Fits(_) | Fit::NeedsNoBay => {
            let painted = bay.stations().iter().find(|one| one.id.as_str() == station);
            let painted = painted.ok_or_else(|| ServiceError::not_found("station", station))?;
            Ok((painted.pose, format!("{asked}: drawn at {station}, which is not the placement.")))
        }
    }
}

fn reason_line(asked: &str, found: &StationFindings) -> String {
    let reason = first_reason(&found.findings).unwrap_or_default();
    format!("{asked}: does not fit at {}. {reason}", found.station)
}

fn first_reason(findings: &[Finding]) -> Option<String> {
    findings.iter().find(|one| !one.verdict.lets_work_start()).map(ToString::to_string)
}

/// The best pose with room at any heading of the bay.
fn free_pose(
    snapshot: &ShopSnapshot,
    key: &FitKey,
    bay: &Bay,
) -> Option<(PoseFloor, Vec<Finding>)> {
    let (method, class) = method_and_class(snapshot, key)?;
    let when = (snapshot.date(), bay.placing().tolerance_deg);
    let found = free_placements(method, class, bay, snapshot.survey(bay.id()), when).ok()?;
    let best = found.into_iter().filter_map(|heading| heading.best);
    let best = best.min_by_key(baywright_core::fit::FreePlacement::verdict)?;
    Some((best.pose, best.findings))
}
