//! Offers that lapsed: nobody accepted or declined them, and the turned-away log says so.
//!
//! A lapse counts from its instant, whether it is noted or not. It is noted within a minute by the
//! service itself, and at the latest before somebody reads the log.

use super::turn_away;
use crate::{
    app::App,
    error::ServiceError,
    limits::LAPSES_NOTED_AT_ONCE,
    storage::{Call, CallParts, Done, offers as table},
};
use baywright_api::v1::{self, OfferState};
use sea_orm::DatabaseTransaction;
use uuid::Uuid;

/// Who acts where nobody does.
const ACTOR: &str = "baywright";

/// Notes every lapse that nobody has noted; how many there were.
///
/// # Errors
/// Trouble of storage; what was noted before stays noted.
pub async fn note_lapsed_offers(app: &App) -> Result<u64, ServiceError> {
    let now = app.clock.now();
    let mut noted = 0;
    loop {
        let lapsed = app
            .database
            .read(now, |tx, now| {
                Box::pin(
                    async move { Ok(table::lapsed_unnoted(tx, *now, LAPSES_NOTED_AT_ONCE).await?) },
                )
            })
            .await?;
        let some = u64::try_from(lapsed.len()).unwrap_or(u64::MAX);
        for offer in lapsed {
            let request_id = Uuid::new_v4().to_string();
            let shop_id = offer.shop_id.clone();
            let call = Call::new(
                CallParts {
                    shop_id: &shop_id,
                    method: "LapseOffer",
                    request_id: &request_id,
                    actor: ACTOR,
                    at: now,
                },
                &offer,
            )?;
            let input = (call.clone(), offer);
            app.database
                .exactly_once(call, input, |tx, (call, offer)| Box::pin(note(tx, call, offer)))
                .await?;
        }
        noted += some;
        if some < u64::from(LAPSES_NOTED_AT_ONCE) || app.stopping.is_cancelled() {
            return Ok(noted);
        }
    }
}

async fn note(
    tx: &DatabaseTransaction,
    call: &Call,
    before: &v1::Offer,
) -> Result<Done<v1::GetOfferResponse>, ServiceError> {
    let after = v1::Offer { state: OfferState::Lapsed.into(), ..before.clone() };
    let done = Done::new(v1::GetOfferResponse { offer: Some(after.clone()) });
    if !table::note_lapse(tx, &after).await? {
        // Somebody else has noted it meanwhile.
        return Ok(done);
    }
    let done = done.changed("offer", &after.offer_id, Some(before), Some(&after));
    let why = "Nobody accepted or declined the offer before it lapsed.".to_owned();
    turn_away(tx, call, &after, vec![why], done).await
}
