//! Declining an offer: it ends, and the turned-away log says why.

use super::{load_held, turn_away};
use crate::{
    app::App,
    error::ServiceError,
    storage::{Call, Done, offers as table},
    use_cases::told::stated,
};
use baywright_api::v1::{self, OfferState};
use baywright_core::fault::FaultList;
use sea_orm::DatabaseTransaction;

/// Declines a held offer.
///
/// # Errors
/// No reason; no such offer; one that is not held any more.
pub async fn decline_offer(
    app: &App,
    request: v1::DeclineOfferRequest,
) -> Result<v1::DeclineOfferResponse, ServiceError> {
    let call = App::call(&request, app.clock.now())?;
    let mut faults = FaultList::new();
    stated(&mut faults, "reason", &request.reason, "say why it is declined");
    faults.finish(())?;
    let input = (call.clone(), request);
    app.database
        .exactly_once(call, input, |tx, (call, request)| Box::pin(decline(tx, call, request)))
        .await
}

async fn decline(
    tx: &DatabaseTransaction,
    call: &Call,
    request: &v1::DeclineOfferRequest,
) -> Result<Done<v1::DeclineOfferResponse>, ServiceError> {
    let shop_id = call.shop_id().as_str();
    let offer_id = &request.offer_id;
    let before = load_held(tx, shop_id, offer_id, call.at(), "declined").await?;
    let after = v1::Offer { state: OfferState::Declined.into(), ..before.clone() };
    table::end_offer(tx, &after).await?;
    let reply = v1::DeclineOfferResponse { offer: Some(after.clone()) };
    let done = Done::new(reply).changed("offer", offer_id, Some(&before), Some(&after));
    turn_away(tx, call, &after, vec![request.reason.clone()], done).await
}
