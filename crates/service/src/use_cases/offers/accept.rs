//! Accepting an offer: the estimate is taken with the promise offered, if a plan still keeps it.

use super::{Asked, held, load_held, not_taken, search};
use crate::{
    app::App,
    error::ServiceError,
    snapshot::ShopSnapshot,
    storage::{Call, Done, offers as table},
    use_cases::{
        change_job::save_job,
        estimates::taken,
        plans::{Today, today},
    },
};
use baywright_api::v1::{self, OfferState};
use baywright_core::{
    questions::HeldOffer,
    shop_day::DAYS_MAX,
    work::{Estimate, EstimateDraft},
};
use chrono::{DateTime, Utc};
use sea_orm::DatabaseTransaction;

const WANTED: &str = "accepted";

/// Takes the estimate of a held offer with the promise offered, after planning with it once more.
///
/// # Errors
/// No such offer; one that is not held any more; a job of that name meanwhile; a promise that no
/// plan of this instant keeps.
pub async fn accept_offer(
    app: &App,
    request: v1::AcceptOfferRequest,
) -> Result<v1::AcceptOfferResponse, ServiceError> {
    let now = app.clock.now();
    let call = App::call(&request, now)?;
    let _one_at_a_time = app.offering.lock().await;
    // A repeat gets the stored answer, though the offer is no longer held.
    if let Some(answer) = app.database.answered(&call).await? {
        return Ok(answer);
    }
    let shop = app.snapshot(&request.shop_id, now).await?;
    let input = (request.shop_id, request.offer_id.clone(), now);
    let (today, others, own) = app
        .database
        .read(input, |tx, (shop_id, offer_id, now)| Box::pin(standing(tx, shop_id, offer_id, *now)))
        .await?;
    let days = days_until(own.promise_at, now);
    let (estimate, promised) = (own.estimate.clone(), Some(own.promise_at));
    let asked = Asked { today, held: others, estimate, promised, now, days };
    if let Err(sentences) = search(shop, asked).await?.promise {
        return Err(ServiceError::NoPlan { sentences });
    }
    let input = (call.clone(), request.offer_id, promised_estimate(&own)?);
    app.exactly_once_on_shop(call, input, |tx, shop, (call, offer_id, estimate)| {
        Box::pin(take(tx, shop, call, offer_id, estimate))
    })
    .await
}

/// The day, the other offers held, and the offer itself.
async fn standing(
    tx: &DatabaseTransaction,
    shop_id: &str,
    offer_id: &str,
    now: DateTime<Utc>,
) -> Result<(Today, Vec<HeldOffer>, HeldOffer), ServiceError> {
    let offer = load_held(tx, shop_id, offer_id, now, WANTED).await?;
    let own = HeldOffer::try_from(&offer).map_err(ServiceError::internal)?;
    not_taken(tx, shop_id, &own.estimate).await?;
    // The offer's own hold does not stand in its way: the core passes over the same job.
    Ok((today(tx, shop_id, now).await?, held(tx, shop_id, now).await?, own))
}

/// Days ahead that reach past the promise.
fn days_until(promise_at: DateTime<Utc>, now: DateTime<Utc>) -> u32 {
    let whole = u32::try_from((promise_at - now).num_days()).unwrap_or(0);
    whole.saturating_add(1).min(DAYS_MAX)
}

/// The estimate with the promise offered in place of the one that was wished.
fn promised_estimate(own: &HeldOffer) -> Result<Estimate, ServiceError> {
    let draft = EstimateDraft { promise_at: own.promise_at, ..own.estimate.parts().clone() };
    Estimate::new(draft).map_err(ServiceError::internal)
}

async fn take(
    tx: &DatabaseTransaction,
    shop: &ShopSnapshot,
    call: &Call,
    offer_id: &str,
    estimate: &Estimate,
) -> Result<Done<v1::AcceptOfferResponse>, ServiceError> {
    let shop_id = call.shop_id().as_str();
    let before = load_held(tx, shop_id, offer_id, call.at(), WANTED).await?;
    not_taken(tx, shop_id, estimate).await?;
    let (_, job) = taken(tx, shop, shop_id, (estimate, call.at())).await?;
    let job = save_job(tx, call.shop_id(), &job, None).await?;
    let after = v1::Offer { state: OfferState::Accepted.into(), ..before.clone() };
    table::end_offer(tx, &after).await?;
    let reply = v1::AcceptOfferResponse { offer: Some(after.clone()), job: Some(job.clone()) };
    Ok(Done::new(reply).changed("offer", offer_id, Some(&before), Some(&after)).changed(
        "job",
        &job.job_id,
        None,
        Some(&job),
    ))
}
