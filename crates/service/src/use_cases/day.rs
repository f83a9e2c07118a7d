//! The questions of the day: each reads the shop as it stands and asks the core.

use super::{
    day_changes::{changed_things, changes_since},
    offers,
    plans::{Today, today},
};
use crate::{
    app::App,
    caution::CAUTION,
    error::ServiceError,
    snapshot::ShopSnapshot,
    storage::{holdings::active_holdings, plans::newest_plan},
    use_cases::change_job::load_job,
};
use baywright_api::{
    time::{date_text, timestamp},
    v1,
};
use baywright_core::{
    fault::Fault,
    ids::{ProcedureId, VehicleClassId},
    questions::{
        FreePlaceAsked, HeldOffer, ProjectedFinish, chases, expiring, free_places,
        projected_finishes, reserved_assignments,
    },
    shop::Unit,
    shop_day::{Assignment, Unplanned},
    work::{Job, JobState, Place},
};
use chrono::{DateTime, Utc};
use sea_orm::DatabaseTransaction;
use std::sync::Arc;

/// How many days ahead to look for what runs out, when the caller does not say.
const EXPIRY_DAYS_USUAL: u32 = 14;
/// How many days ahead a caller may look.
const EXPIRY_DAYS_MAX: u32 = 90;

/// A shop with its day at an instant.
struct Day {
    shop: Arc<ShopSnapshot>,
    today: Today,
    held: Vec<HeldOffer>,
    plan: v1::Plan,
    now: DateTime<Utc>,
}

impl Day {
    async fn read(app: &App, shop_id: &str) -> Result<Self, ServiceError> {
        let now = app.clock.now();
        let shop = app.snapshot(shop_id, now).await?;
        let (today, held, plan) = app
            .database
            .read((shop_id.to_owned(), now), |tx, (shop_id, now)| {
                Box::pin(with_plan(tx, shop_id, *now))
            })
            .await?;
        Ok(Self { shop, today, held, plan, now })
    }

    fn finishes(&self) -> Result<Vec<ProjectedFinish>, ServiceError> {
        let unplanned: Result<Vec<_>, _> =
            self.plan.unplanned.iter().map(Unplanned::try_from).collect();
        let unplanned = unplanned.map_err(ServiceError::internal)?;
        let assignments = &self.today.previous;
        Ok(projected_finishes(&self.today.jobs, assignments, &unplanned, self.now))
    }

    /// What is planned, for jobs and for the offers that are held.
    fn planned_and_reserved(&self) -> Result<Vec<Assignment>, ServiceError> {
        let planned: Result<Vec<_>, _> =
            self.plan.reserved.iter().map(Assignment::try_from).collect();
        let planned = planned.map_err(ServiceError::internal)?;
        let reserved = reserved_assignments(&self.held, &planned, &self.today.jobs);
        // What was planned for an offer that has ended is nobody's any more.
        let known = |one: &&Assignment| self.today.jobs.iter().any(|job| job.id == one.job);
        Ok(self.today.previous.iter().filter(known).cloned().chain(reserved).collect())
    }

    fn taken_places(&self) -> Vec<Place> {
        self.today.jobs.iter().filter_map(Job::standing_place).cloned().collect()
    }
}

async fn with_plan(
    tx: &DatabaseTransaction,
    shop_id: &str,
    now: DateTime<Utc>,
) -> Result<(Today, Vec<HeldOffer>, v1::Plan), ServiceError> {
    let plan = newest_plan(tx, shop_id).await?.unwrap_or_default();
    let held = offers::held(tx, shop_id, now).await?;
    Ok((today(tx, shop_id, now).await?, held, plan))
}

/// Whom to chase, for one job or for all.
///
/// # Errors
/// No such shop or job.
pub async fn list_chases(
    app: &App,
    request: v1::ListChasesRequest,
) -> Result<v1::ListChasesResponse, ServiceError> {
    let day = Day::read(app, &request.shop_id).await?;
    let mut jobs = day.today.jobs;
    if !request.job_id.is_empty() {
        jobs.retain(|job| job.id.as_str() == request.job_id);
        if jobs.is_empty() {
            return Err(ServiceError::not_found("job", request.job_id));
        }
    }
    let chases = chases(&jobs, day.now).iter().map(Into::into).collect();
    Ok(v1::ListChasesResponse { chases })
}

/// The planned finish of every job beside its promise.
///
/// # Errors
/// No such shop.
pub async fn list_finishes(
    app: &App,
    request: v1::ListFinishesRequest,
) -> Result<v1::ListFinishesResponse, ServiceError> {
    let day = Day::read(app, &request.shop_id).await?;
    Ok(v1::ListFinishesResponse {
        finishes: day.finishes()?.iter().map(Into::into).collect(),
        plan_revision: day.plan.revision,
    })
}

/// Where a vehicle and its keys are, and who works on it.
///
/// # Errors
/// No such job.
pub async fn locate_vehicle(
    app: &App,
    request: v1::LocateVehicleRequest,
) -> Result<v1::LocateVehicleResponse, ServiceError> {
    app.database
        .read(request, |tx, request| {
            Box::pin(async move {
                let job = load_job(tx, &request.shop_id, &request.job_id).await?.message;
                let held = active_holdings(tx, &request.shop_id).await?;
                let holding = held.into_iter().find(|one| one.job_id == job.job_id);
                Ok(v1::LocateVehicleResponse {
                    state: job.state,
                    whereabouts: job.whereabouts,
                    key_tag: job.key_tag,
                    moved_by: job.moved_by,
                    moved_time: job.moved_time,
                    holding,
                })
            })
        })
        .await
}

/// Where equipment is, who has it and until when.
///
/// # Errors
/// No such shop.
pub async fn list_unit_uses(
    app: &App,
    request: v1::ListUnitUsesRequest,
) -> Result<v1::ListUnitUsesResponse, ServiceError> {
    let day = Day::read(app, &request.shop_id).await?;
    let wanted = |unit: &&Unit| {
        request.unit_kind_id.is_empty() || unit.parts().kind.as_str() == request.unit_kind_id
    };
    let units = &day.shop.definition().parts().units;
    if !units.is_empty() && !units.iter().any(|unit| wanted(&unit)) {
        return Err(ServiceError::not_found("unit kind", request.unit_kind_id));
    }
    let uses = units.iter().filter(wanted).flat_map(|unit| {
        unit.pieces().into_iter().map(|piece| unit_use(&day, unit, piece.as_str()))
    });
    Ok(v1::ListUnitUsesResponse { uses: uses.collect() })
}

fn unit_use(day: &Day, unit: &Unit, piece: &str) -> v1::UnitUse {
    let date = day.shop.date();
    let out = if unit.is_away_on(date) {
        let absences = unit.parts().absences.iter();
        let reasons: Vec<_> = absences
            .filter(|away| away.from <= date && away.back.is_none_or(|back| date < back))
            .map(|away| match away.back {
                Some(back) => format!("{}, expected back on {back}", away.reason),
                None => format!("{}, nobody knows until when", away.reason),
            })
            .collect();
        reasons.join("; ")
    } else if unit.is_verified_on(date) {
        String::new()
    } else {
        "its verification no longer counts".to_owned()
    };
    let hold =
        day.today.holds.iter().find(|hold| hold.units.iter().any(|held| held.as_str() == piece));
    let next = day
        .today
        .previous
        .iter()
        .filter(|one| one.start >= day.now && !one.fixed)
        .find(|one| one.units.iter().any(|used| used.as_str() == piece));
    let technician = hold.and_then(|hold| hold.technicians.first());
    v1::UnitUse {
        unit_id: piece.to_owned(),
        unit_kind_id: unit.parts().kind.to_string(),
        out,
        technician_id: technician.map(ToString::to_string).unwrap_or_default(),
        job_id: hold.map(|hold| hold.job.to_string()).unwrap_or_default(),
        task_id: hold.map(|hold| hold.task.to_string()).unwrap_or_default(),
        place: hold.and_then(|hold| hold.place.as_ref()).map(Into::into),
        until_time: hold.map(|hold| timestamp(hold.expected_end(day.now))),
        next: next.map(Into::into),
    }
}

/// Which fitting bays are free now, and until when; what is kept for an offer that is held is not free.
///
/// # Errors
/// No such shop, procedure or vehicle class.
pub async fn list_free_bays(
    app: &App,
    request: v1::ListFreeBaysRequest,
) -> Result<v1::ListFreeBaysResponse, ServiceError> {
    let procedure = ProcedureId::new(&request.procedure_id)?;
    let class = VehicleClassId::new(&request.vehicle_class_id)?;
    let day = Day::read(app, &request.shop_id).await?;
    let definition = day.shop.definition();
    let procedure = definition
        .procedure(&procedure)
        .ok_or_else(|| ServiceError::not_found("procedure", procedure.as_str()))?;
    if definition.vehicle_class(&class).is_none() {
        return Err(ServiceError::not_found("vehicle class", class.as_str()));
    }
    let hosts = day.shop.hosts_without(&day.today.doubts);
    let fitting: Vec<_> = procedure
        .methods()
        .iter()
        .filter_map(|method| {
            let key = (procedure.id().clone(), method.id().clone(), class.clone());
            Some((method.id().clone(), hosts.get(&key)?.clone()))
        })
        .collect();
    let asked = FreePlaceAsked {
        fitting: &fitting,
        clashes: day.shop.clashes(),
        taken: &day.taken_places(),
        assignments: &day.planned_and_reserved()?,
        hours: &definition.parts().shop.parts().hours,
        now: day.now,
    };
    let bays = free_places(&asked)
        .iter()
        .map(|free| {
            let method = procedure.methods().iter().find(|method| *method.id() == free.method);
            let minutes = (free.until - day.now).num_minutes();
            v1::FreeBay {
                method_id: free.method.to_string(),
                place: Some((&free.place).into()),
                until_time: Some(timestamp(free.until)),
                free_minutes: u32::try_from(minutes).unwrap_or_default(),
                method_minutes: method.map_or(0, |method| method.minutes().total()),
            }
        })
        .collect();
    Ok(v1::ListFreeBaysResponse { bays })
}

/// The shop's day: what changed since the evening, begins, is late, waits and runs out soon.
///
/// # Errors
/// No such shop; days or an instant out of range.
pub async fn get_today(
    app: &App,
    request: v1::GetTodayRequest,
) -> Result<v1::GetTodayResponse, ServiceError> {
    let days = request.expiry_days.unwrap_or(EXPIRY_DAYS_USUAL);
    if days > EXPIRY_DAYS_MAX {
        let limit = format!("be 0 to {EXPIRY_DAYS_MAX}");
        return Err(Fault::new("expiry_days", days, limit, "look less far ahead").into());
    }
    let day = Day::read(app, &request.shop_id).await?;
    let hours = &day.shop.definition().parts().shop.parts().hours;
    let since = changes_since(request.changes_since_time.as_ref(), hours, day.now)?;
    let (changed, more_changed) = app
        .database
        .read((request.shop_id, since), |tx, (shop_id, since)| {
            Box::pin(changed_things(tx, shop_id, *since))
        })
        .await?;
    let zone = hours.zone();
    let today = zone.local(day.now).date();
    let is_today = |at: DateTime<Utc>| zone.local(at).date() == today;
    let finishes = day.finishes()?;
    let late = finishes
        .iter()
        .filter(|one| one.late_minutes().is_some_and(|late| late > 0) || one.promise_at <= day.now);
    let mut expected: Vec<_> = day
        .today
        .jobs
        .iter()
        .filter(|job| job.state == JobState::Expected && is_today(job.expected_arrival_at))
        .collect();
    expected.sort_by_key(|job| job.expected_arrival_at);
    let surveys = day.shop.surveys();
    let running_out = expiring(day.shop.definition(), surveys, &day.today.jobs, day.now, days);
    Ok(v1::GetTodayResponse {
        date: date_text(today),
        plan_revision: day.plan.revision,
        begins: still_to_do(&day).filter(|one| is_today(one.start)).map(Into::into).collect(),
        late: late.map(Into::into).collect(),
        waiting: finishes.iter().filter(|one| one.finish_at.is_none()).map(Into::into).collect(),
        expected_job_ids: expected.into_iter().map(|job| job.id.to_string()).collect(),
        expiring: running_out.iter().map(Into::into).collect(),
        caution: CAUTION.to_owned(),
        changed,
        changes_since_time: Some(timestamp(since)),
        more_changed,
    })
}

/// Assignments of tasks that are still open.
fn still_to_do(day: &Day) -> impl Iterator<Item = &Assignment> {
    day.today.previous.iter().filter(|one| {
        let job = day.today.jobs.iter().find(|job| job.id == one.job);
        let task = job.and_then(|job| job.task(&one.task));
        task.is_some_and(|task| task.state == baywright_core::work::TaskState::Open)
    })
}
