//! Arrivals, moves out of the bays, and work that was done outside.

use super::{
    cancelling::not_ended,
    change_job::{Change, JobCall},
    estimates::inside,
    plans::present_jobs,
    told::check_adhesive,
};
use crate::{app::App, error::ServiceError, storage::place_claims};
use baywright_api::{adhesive::adhesive_told, v1};
use baywright_core::{
    demand::{PrerequisiteKind, TaskKind},
    fault::{Fault, FaultList},
    ids::{OperationId, SpotId},
    readiness::undo,
    work::{Adhesive, Job, JobEvent, JobState, Moved, OperationState, Whereabouts},
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
        (request.shop_id, request.spot_id, request.key_tag),
        |change, job, (shop_id, spot, key_tag)| {
            Box::pin(async move {
                arrive(change, job)?;
                if !spot.is_empty() {
                    let spot = free_spot(change, job, shop_id, spot).await?;
                    job.whereabouts = Some(Whereabouts::Spot(spot));
                }
                moved(change, job, key_tag);
                Ok(())
            })
        },
        |job| v1::RecordArrivalResponse { job: Some(job) },
    )
    .await
}

fn arrive(change: &Change<'_>, job: &mut Job) -> Result<(), ServiceError> {
    job.step(JobEvent::Arrive).map_err(|refused| ServiceError::illegal_job_step(job, refused))?;
    job.arrived_at = Some(change.now);
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

/// The spot of that name, with room for one more vehicle.
async fn free_spot(
    change: &Change<'_>,
    job: &Job,
    shop_id: &str,
    text: &str,
) -> Result<SpotId, ServiceError> {
    let spots = &change.shop.definition().parts().shop.parts().spots;
    let Some(spot) = spots.iter().find(|spot| spot.id.as_str() == text) else {
        let known: Vec<_> = spots.iter().map(|spot| spot.id.as_str()).collect();
        let limit = format!("name a spot of the shop: {}", known.join(", "));
        let remedy = "use one of these, or write the spot down in the shop's file";
        return Err(Fault::new("spot_id", text, limit, remedy).into());
    };
    let there = present_jobs(change.tx, shop_id)
        .await?
        .into_iter()
        .filter(|(_, other)| other.id != job.id)
        .filter(|(_, other)| other.whereabouts == Some(Whereabouts::Spot(spot.id.clone())))
        .count();
    if there >= usize::try_from(spot.capacity).unwrap_or(usize::MAX) {
        let limit =
            format!("have room; it takes {} vehicle(s), and they stand there", spot.capacity);
        return Err(Fault::new("spot_id", text, limit, "use another spot, or free this one").into());
    }
    Ok(spot.id.clone())
}

/// Notes who said where the vehicle stands, and where its keys are.
fn moved(change: &Change<'_>, job: &mut Job, key_tag: &str) {
    job.moved = Some(Moved { actor: change.actor.to_owned(), at: change.now });
    if !key_tag.is_empty() {
        key_tag.clone_into(&mut job.key_tag);
    }
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
        (request.shop_id, request.spot_id, request.key_tag),
        |change, job, (shop_id, spot, key_tag)| {
            Box::pin(async move {
                may_be_moved(change, job)?;
                let spot = free_spot(change, job, shop_id, spot).await?;
                job.whereabouts = Some(Whereabouts::Spot(spot));
                moved(change, job, key_tag);
                Ok(place_claims::leave_place(change.tx, shop_id, job.id.as_str()).await?)
            })
        },
        |job| v1::MoveVehicleResponse { job: Some(job) },
    )
    .await
}

fn may_be_moved(change: &Change<'_>, job: &Job) -> Result<(), ServiceError> {
    if job.state != JobState::OnSite {
        return Err(not_in_state(job, "moved"));
    }
    if job.tasks.iter().any(|task| task.state.is_held()) {
        return Err(ServiceError::HeldElsewhere {
            kind: "vehicle".to_owned(),
            id: job.id.to_string(),
        });
    }
    if let Some(movable_at) = job.movable_at()
        && change.now < movable_at
    {
        let at = movable_at.to_rfc3339();
        let sentence = format!("The adhesive cures; the vehicle may be moved from {at} on.");
        return Err(ServiceError::NotReady { sentences: vec![sentence] });
    }
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
    not_ended(job)?;
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
    let definition = change.shop.definition();
    let rules: Vec<_> = definition
        .parts()
        .call_rules
        .iter()
        .filter(|rule| rule.knows(&code) && rule.holds_for(&job.vehicle))
        .collect();
    let calls_glass = rules.iter().flat_map(|rule| &rule.parts().calls).any(|called| {
        definition.procedure(&called.procedure).is_some_and(|one| one.kind() == TaskKind::Glass)
    });
    if calls_glass && adhesive.is_none() {
        return Err(Fault::new(
            "adhesive",
            "absent",
            "be given where glass was set",
            "record product, instant, temperature, humidity and the adhesive maker's minutes",
        )
        .into());
    }
    if !calls_glass && adhesive.is_some() {
        return Err(Fault::new(
            "adhesive",
            "given",
            "be absent for an operation whose rules call no glass",
            "leave it out, or record it with the operation that set glass",
        )
        .into());
    }
    check_adhesive(TaskKind::Glass, adhesive, change.now)?;
    let targets: Vec<_> =
        rules.iter().flat_map(|rule| rule.parts().undoes.iter().cloned()).collect();
    undo(job, &targets, None, &format!("operation {id} ({code}), done outside,"), change.now);
    if let Some(adhesive) = adhesive {
        job.note_adhesive(adhesive.clone());
    }
    Ok(())
}
