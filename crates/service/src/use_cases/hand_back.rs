//! Whether a vehicle may leave, and handing it back.

use super::{
    change_job::{Change, JobCall, load_job},
    estimates::inside,
};
use crate::{app::App, caution::CAUTION, error::ServiceError, storage::place_claims};
use baywright_api::{hand_back::exception_told, v1};
use baywright_core::{
    fault::{Fault, FaultList},
    readiness::hand_back_reasons,
    work::{HandBackException, Job, JobEvent},
};

/// Says whether the vehicle may be handed back now.
///
/// # Errors
/// No such job.
pub async fn check_hand_back(
    app: &App,
    request: v1::CheckHandBackRequest,
) -> Result<v1::CheckHandBackResponse, ServiceError> {
    let loaded = app
        .database
        .read(request, |tx, request| Box::pin(load_job(tx, &request.shop_id, &request.job_id)))
        .await?;
    let reasons = hand_back_reasons(&loaded.job, app.clock.now());
    Ok(v1::CheckHandBackResponse {
        allowed: reasons.is_empty(),
        reasons: reasons.iter().map(Into::into).collect(),
        caution: CAUTION.to_owned(),
    })
}

/// Hands the vehicle back, with the exceptions that a named manager records.
///
/// # Errors
/// Anything that stands against it and was not excepted; an exception for something that does not
/// stand against it or cannot be excepted.
pub async fn hand_back(
    app: &App,
    request: v1::HandBackVehicleRequest,
) -> Result<v1::HandBackVehicleResponse, ServiceError> {
    let now = app.clock.now();
    let call = JobCall::new(&request, now)?;
    let mut faults = FaultList::new();
    let mut exceptions = Vec::new();
    for (index, message) in request.exceptions.iter().enumerate() {
        let field = format!("exceptions[{index}]");
        exceptions.extend(faults.take(&field, exception_told(message, now)));
    }
    faults.finish(())?;
    app.change_job(
        call,
        (request.shop_id, exceptions),
        |change, job, (shop_id, exceptions)| {
            Box::pin(async move {
                leave(change, job, exceptions)?;
                Ok(place_claims::leave_place(change.tx, shop_id, job.id.as_str()).await?)
            })
        },
        |job| v1::HandBackVehicleResponse { job: Some(job) },
    )
    .await
}

fn leave(
    change: &Change<'_>,
    job: &mut Job,
    exceptions: &[HandBackException],
) -> Result<(), ServiceError> {
    let standing = hand_back_reasons(job, change.now);
    for (index, exception) in exceptions.iter().enumerate() {
        let reason = standing.iter().find(|reason| reason.key == exception.reason_key);
        if !reason.is_some_and(|reason| reason.can_be_excepted) {
            let keys: Vec<_> = standing
                .iter()
                .filter(|reason| reason.can_be_excepted)
                .map(|reason| reason.key.as_str())
                .collect();
            let fault = Fault::new(
                "reason_key",
                &exception.reason_key,
                format!("be a reason that a manager may except now: {}", keys.join(", ")),
                "check the hand-back and name one of its reasons",
            );
            return Err(inside(&format!("exceptions[{index}]"), fault.into()));
        }
        job.exceptions.push(exception.clone());
    }
    let left = hand_back_reasons(job, change.now);
    if !left.is_empty() {
        let sentences = left.into_iter().map(|reason| reason.sentence).collect();
        return Err(ServiceError::HandBackRefused { sentences });
    }
    job.step(JobEvent::HandBack).map_err(|refused| ServiceError::illegal_job_step(job, refused))?;
    job.handed_back_at = Some(change.now);
    job.whereabouts = None;
    Ok(())
}
