//! Arrivals, moves out of the bays, and work that was done outside.

use super::{
    change_job::{Change, JobCall},
    estimates::inside,
};
use crate::{app::App, error::ServiceError, storage::place_claims};
use baywright_api::{adhesive::adhesive_told, v1};
use baywright_core::{
    demand::PrerequisiteKind,
    fault::{Fault, FaultList},
    ids::{OperationId, SpotId},
    readiness::undo,
    work::{Adhesive, Job, JobEvent, JobState, OperationState, Whereabouts},
};

/// Notes that the vehicle has come.
///
/// # Errors
/// A job whose vehicle is not expected; a spot that the shop does not have.
pub async fn record_arrival(
    app: &App,
    request: v1::RecordArrivalRequest,
) -> Result<v1::RecordArrivalResponse, ServiceError> {
    let call = JobCall::new(&request, app.clock.now())?;
    app.change_job(
        call,
        request.spot_id,
        |change, job, spot| Box::pin(async move { arrive(change, job, spot) }),
        |job| v1::RecordArrivalResponse { job: Some(job) },
    )
    .await
}

fn arrive(change: &Change<'_>, job: &mut Job, spot: &str) -> Result<(), ServiceError> {
    job.step(JobEvent::Arrive).map_err(|refused| ServiceError::illegal_job_step(job, refused))?;
    job.arrived_at = Some(change.now);
    if !spot.is_empty() {
        job.whereabouts = Some(Whereabouts::Spot(known_spot(change, spot)?));
    }
    for prerequisite in &mut job.prerequisites {
        if prerequisite.kind == PrerequisiteKind::VehicleOnSite {
            prerequisite.sign_off(change.actor, change.now, "arrival recorded", None);
        }
    }
    Ok(())
}

fn not_in_state(job: &Job, wanted: &str) -> ServiceError {
    ServiceError::IllegalTransition {
        kind: "job",
        id: job.id.to_string(),
        state: job.state.as_str().to_owned(),
        wanted: wanted.to_owned(),
    }
}

fn known_spot(change: &Change<'_>, text: &str) -> Result<SpotId, ServiceError> {
    let spots = &change.shop.definition().parts().shop.parts().spots;
    let spot = spots.iter().find(|spot| spot.id.as_str() == text);
    spot.map(|spot| spot.id.clone()).ok_or_else(|| {
        let known: Vec<_> = spots.iter().map(|spot| spot.id.as_str()).collect();
        Fault::new(
            "spot_id",
            text,
            format!("name a spot of the shop: {}", known.join(", ")),
            "use one of these, or write the spot down in the shop's file",
        )
        .into()
    })
}

/// Notes that the vehicle was moved to a spot outside of the bays.
///
/// # Errors
/// A vehicle that is not here, or that is being worked on; a spot that the shop does not have.
pub async fn move_vehicle(
    app: &App,
    request: v1::MoveVehicleRequest,
) -> Result<v1::MoveVehicleResponse, ServiceError> {
    let call = JobCall::new(&request, app.clock.now())?;
    app.change_job(
        call,
        (request.shop_id, request.spot_id),
        |change, job, (shop_id, spot)| {
            Box::pin(async move {
                move_out(change, job, spot)?;
                Ok(place_claims::leave_place(change.tx, shop_id, job.id.as_str()).await?)
            })
        },
        |job| v1::MoveVehicleResponse { job: Some(job) },
    )
    .await
}

fn move_out(change: &Change<'_>, job: &mut Job, spot: &str) -> Result<(), ServiceError> {
    if job.state != JobState::OnSite {
        return Err(not_in_state(job, "moved"));
    }
    if job.tasks.iter().any(|task| task.state.is_held()) {
        return Err(ServiceError::HeldElsewhere {
            kind: "vehicle".to_owned(),
            id: job.id.to_string(),
        });
    }
    if let Some(adhesive) = &job.adhesive
        && change.now < adhesive.movable_at()
    {
        let at = adhesive.movable_at().to_rfc3339();
        let sentence = format!("The adhesive cures; the vehicle may be moved from {at} on.");
        return Err(ServiceError::NotReady { sentences: vec![sentence] });
    }
    job.whereabouts = Some(Whereabouts::Spot(known_spot(change, spot)?));
    Ok(())
}

/// Notes that an operation was done outside, which undoes what its rules say.
///
/// # Errors
/// An operation that is not there, withdrawn, or recorded already; faults of the adhesive's record;
/// no evidence.
pub async fn record_outside_work(
    app: &App,
    request: v1::RecordOutsideWorkRequest,
) -> Result<v1::RecordOutsideWorkResponse, ServiceError> {
    let call = JobCall::new(&request, app.clock.now())?;
    let mut faults = FaultList::new();
    let operation = faults.take("", OperationId::new(&request.operation_id));
    if request.evidence.trim().is_empty() {
        faults.push(Fault::new("evidence", "empty", "be stated", "say who did it and when"));
    }
    faults.finish(())?;
    let adhesive = request.adhesive.as_ref().map(|message| adhesive_told(message, None));
    let adhesive = adhesive.transpose().map_err(|faults| inside("adhesive", faults))?;
    app.change_job(
        call,
        (operation, adhesive),
        |change, job, (operation, adhesive)| {
            Box::pin(async move {
                let Some(operation) = operation else { return Ok(()) };
                outside(change, job, operation, adhesive.as_ref())
            })
        },
        |job| v1::RecordOutsideWorkResponse { job: Some(job) },
    )
    .await
}

fn outside(
    change: &Change<'_>,
    job: &mut Job,
    id: &OperationId,
    adhesive: Option<&Adhesive>,
) -> Result<(), ServiceError> {
    let operation = job.operation_mut(id);
    let operation = operation.ok_or_else(|| ServiceError::not_found("operation", id.as_str()))?;
    let state = match (operation.state, operation.done_outside_at) {
        (OperationState::Withdrawn, _) => Some("withdrawn"),
        (_, Some(_)) => Some("recorded as done outside"),
        (_, None) => None,
    };
    if let Some(state) = state {
        return Err(ServiceError::IllegalTransition {
            kind: "operation",
            id: id.to_string(),
            state: state.to_owned(),
            wanted: "recorded as done outside".to_owned(),
        });
    }
    operation.done_outside_at = Some(change.now);
    let code = operation.code.clone();
    let rules = &change.shop.definition().parts().call_rules;
    let targets: Vec<_> = rules
        .iter()
        .filter(|rule| rule.knows(&code) && rule.holds_for(&job.vehicle))
        .flat_map(|rule| rule.parts().undoes.iter().cloned())
        .collect();
    undo(job, &targets, None, &format!("operation {id} ({code}), done outside,"), change.now);
    if let Some(adhesive) = adhesive {
        job.adhesive = Some(adhesive.clone());
    }
    Ok(())
}
