//! Taking an estimate: the shop's call rules propose what it calls for.

use super::change_job::save_job;
use crate::{
    app::App,
    error::ServiceError,
    snapshot::ShopSnapshot,
    storage::{Call, Done, jobs},
};
use baywright_api::{job::job_message, v1};
use baywright_core::{
    fault::Fault,
    readiness::{EstimateRefused, take_estimate},
    work::{Estimate, Job},
};
use chrono::{DateTime, Utc};
use sea_orm::DatabaseTransaction;

/// Takes an estimate, new or changed.
///
/// # Errors
/// Every fault of the estimate at once; a revision that is not higher than the last; a job that has
/// ended.
pub async fn submit_estimate(
    app: &App,
    request: v1::SubmitEstimateRequest,
) -> Result<v1::SubmitEstimateResponse, ServiceError> {
    let now = app.clock.now();
    let estimate = request.estimate.as_ref().ok_or_else(absent)?;
    let estimate = Estimate::try_from(estimate).map_err(|faults| inside("estimate", faults))?;
    if request.validate_only {
        return preview(app, request.shop_id, estimate, now).await;
    }
    let call = App::call(&request, now)?;
    let input = (call.clone(), estimate);
    app.exactly_once_on_shop(call, input, |tx, shop, (call, estimate)| {
        Box::pin(take(tx, shop, call, estimate))
    })
    .await
}

/// What an estimate calls for, without taking it.
async fn preview(
    app: &App,
    shop_id: String,
    estimate: Estimate,
    now: DateTime<Utc>,
) -> Result<v1::SubmitEstimateResponse, ServiceError> {
    let shop = app.snapshot(&shop_id, now).await?;
    app.database
        .read((shop, shop_id, estimate, now), |tx, (shop, shop_id, estimate, now)| {
            Box::pin(async move {
                let (_, job) = taken(tx, shop, shop_id, (estimate, *now)).await?;
                let shop_id = shop.definition().parts().shop.id();
                Ok(v1::SubmitEstimateResponse { job: Some(job_message(&job, shop_id, "")) })
            })
        })
        .await
}

/// The stored job, if there is one, and the job with the estimate taken.
pub(super) async fn taken(
    tx: &DatabaseTransaction,
    shop: &ShopSnapshot,
    shop_id: &str,
    (estimate, at): (&Estimate, DateTime<Utc>),
) -> Result<(Option<v1::Job>, Job), ServiceError> {
    let job_id = estimate.parts().job.as_str();
    let stored = jobs::load_job(tx, shop_id, job_id).await?;
    let before = stored.as_ref().map(Job::try_from).transpose().map_err(ServiceError::internal)?;
    let job = take_estimate(before.as_ref(), estimate, shop.definition(), at)
        .map_err(|refused| why(job_id, refused))?;
    Ok((stored, job))
}

pub(super) fn absent() -> ServiceError {
    Fault::new("estimate", "absent", "be given", "send the estimate").into()
}

/// Faults seen from the request: under the field that holds the message.
pub(super) fn inside(field: &str, faults: baywright_core::fault::Faults) -> ServiceError {
    let mut list = baywright_core::fault::FaultList::new();
    list.take::<()>(field, Err(faults));
    list.finish(()).err().map_or_else(|| ServiceError::internal("no fault"), ServiceError::from)
}

async fn take(
    tx: &DatabaseTransaction,
    shop: &ShopSnapshot,
    call: &Call,
    estimate: &Estimate,
) -> Result<Done<v1::SubmitEstimateResponse>, ServiceError> {
    let job_id = estimate.parts().job.as_str();
    let (stored, job) = taken(tx, shop, call.shop_id().as_str(), (estimate, call.at())).await?;
    let after = save_job(tx, call.shop_id(), &job, stored.as_ref()).await?;
    let reply = v1::SubmitEstimateResponse { job: Some(after.clone()) };
    Ok(Done::new(reply).changed("job", job_id, stored.as_ref(), Some(&after)))
}

/// Why an estimate was not taken, under its fields.
pub(super) fn why(job_id: &str, refused: EstimateRefused) -> ServiceError {
    match refused {
        EstimateRefused::StaleRevision { given, last } => Fault::new(
            "estimate.revision",
            given,
            format!("be higher than {last}, the revision that was taken last"),
            "number a changed estimate higher; send an unchanged one with its own request id",
        )
        .into(),
        EstimateRefused::JobEnded { state } => ServiceError::IllegalTransition {
            kind: "job",
            id: job_id.to_owned(),
            state: state.as_str().to_owned(),
            wanted: "given another estimate".to_owned(),
        },
        EstimateRefused::UnknownAccount { account } => Fault::new(
            "estimate.account_id",
            account,
            "name an account of the shop",
            "use one that the shop has written down, or write this one down",
        )
        .into(),
        EstimateRefused::UnknownVehicleClass { class } => Fault::new(
            "estimate.vehicle.vehicle_class_id",
            class,
            "name a vehicle class of the shop",
            "use a class that the shop has written down, or write this one down",
        )
        .into(),
    }
}
