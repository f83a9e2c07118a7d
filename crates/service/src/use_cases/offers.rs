//! Offers: the earliest promise that makes no kept promise late, held until it lapses.
//!
//! As with a plan, the search takes place outside of any transaction. One offer is made or accepted
//! at a time, so that no two promise the same hours.

mod accept;
mod decline;
mod lapse;
mod read;

pub use accept::accept_offer;
pub use decline::decline_offer;
pub use lapse::note_lapsed_offers;
pub use read::{get_offer, list_offers};

use super::{
    estimates::{absent, inside, why},
    known_shop::not_there,
    plans::{Today, no_plan, today},
};
use crate::{
    app::App,
    caution::CAUTION,
    error::ServiceError,
    limits::{
        HOLD_MINUTES_MAX, HOLD_MINUTES_USUAL, OFFER_PLAN_EPOCHS, OFFER_QUESTION_EPOCHS,
        OFFERS_HELD_MAX, PLAN_DAYS_USUAL,
    },
    off_thread::off_thread,
    snapshot::ShopSnapshot,
    storage::{Call, Done, jobs::load_job, offers as table, turned_away::append_turned_away},
};
use baywright_api::{
    offer::offer_message,
    time::{instant_from, timestamp},
    v1::{self, OfferState},
};
use baywright_core::{
    fault::{Fault, FaultList},
    planner::newcomer::Effort,
    questions::{HeldOffer, OfferAsked, OfferError, Offering, offer},
    shop_day::{DAYS_MAX, ShopState},
    work::Estimate,
};
use chrono::{DateTime, TimeDelta, Utc};
use sea_orm::DatabaseTransaction;
use std::sync::Arc;

/// What an offer is looked for with, besides the shop itself.
#[derive(Debug)]
struct Asked {
    today: Today,
    held: Vec<HeldOffer>,
    estimate: Estimate,
    promised: Option<DateTime<Utc>>,
    now: DateTime<Utc>,
    days: u32,
}

/// Offers the earliest promise for an estimate that is not taken, or says why there is none.
///
/// # Errors
/// Every fault of the request; an estimate that the shop cannot take or has taken; too many offers
/// held; no plan at all.
pub async fn make_offer(
    app: &App,
    request: v1::MakeOfferRequest,
) -> Result<v1::MakeOfferResponse, ServiceError> {
    let now = app.clock.now();
    let call = App::call(&request, now)?;
    let mut faults = FaultList::new();
    faults.number_within("days", request.days.into(), 0.0, DAYS_MAX.into(), "days");
    let most = HOLD_MINUTES_MAX.into();
    faults.number_within("hold_minutes", request.hold_minutes.into(), 0.0, most, "minutes");
    faults.finish(())?;
    let estimate = request.estimate.as_ref().ok_or_else(absent)?;
    let estimate = Estimate::try_from(estimate).map_err(|faults| inside("estimate", faults))?;
    let _one_at_a_time = app.offering.lock().await;
    // A repeat gets the stored offer without another search.
    if let Some(answer) = app.database.answered(&call).await? {
        return Ok(answer);
    }
    let shop = app.snapshot(&request.shop_id, now).await?;
    let input = (request.shop_id.clone(), estimate.clone(), now);
    let (today, held) = app
        .database
        .read(input, |tx, (shop_id, estimate, now)| {
            Box::pin(async move {
                not_taken(tx, shop_id, estimate).await?;
                let held = held(tx, shop_id, *now).await?;
                if held.len() >= usize::try_from(OFFERS_HELD_MAX).unwrap_or(usize::MAX) {
                    let limit = format!("hold at most {OFFERS_HELD_MAX} offers");
                    let remedy = "accept or decline some, or let them lapse";
                    return Err(Fault::new("shop_id", shop_id, limit, remedy).into());
                }
                Ok((today(tx, shop_id, *now).await?, held))
            })
        })
        .await?;
    let days = if request.days == 0 { PLAN_DAYS_USUAL } else { request.days };
    let asked = Asked { today, held, estimate, promised: None, now, days };
    let hold = match request.hold_minutes {
        0 => HOLD_MINUTES_USUAL,
        minutes => minutes,
    };
    let offering = search(shop, asked).await?;
    let offer = v1::Offer {
        shop_id: request.shop_id,
        estimate: request.estimate,
        made_time: Some(timestamp(now)),
        lapse_time: Some(timestamp(match offering.promise {
            Ok(_) => now + TimeDelta::minutes(hold.into()),
            Err(_) => now,
        })),
        caution: CAUTION.to_owned(),
        ..offer_message(&offering)
    };
    let input = (call.clone(), offer);
    app.database
        .exactly_once(call, input, |tx, (call, offer)| Box::pin(keep(tx, call, offer)))
        .await
}

/// Looks for a promise, off the threads that answer.
async fn search(shop: Arc<ShopSnapshot>, asked: Asked) -> Result<Offering, ServiceError> {
    off_thread(move |_| {
        let hosts = shop.hosts_ahead_without(&asked.today.doubts);
        let mut classes = asked.today.classes();
        classes.insert(asked.estimate.parts().vehicle.class.clone());
        classes.extend(asked.held.iter().map(|one| one.estimate.parts().vehicle.class.clone()));
        let span = (asked.now, asked.days);
        let runs = shop.bound_runs(&classes, &asked.today.road, span);
        let state = ShopState {
            shop: shop.definition(),
            jobs: &asked.today.jobs,
            hosts: &hosts,
            clashes: shop.clashes_ahead(),
            runs: &runs,
            closed: &[],
            holds: &asked.today.holds,
            previous: &asked.today.previous,
            now: asked.now,
            days: asked.days,
        };
        let effort = Effort {
            seed: 0,
            plan_epochs: OFFER_PLAN_EPOCHS,
            question_epochs: OFFER_QUESTION_EPOCHS,
        };
        let (estimate, held, promised) = (&asked.estimate, &asked.held[..], asked.promised);
        offer(&OfferAsked { state, estimate, held, promised, effort }).map_err(
            |error| match error {
                OfferError::Estimate(refused) => why(asked.estimate.parts().job.as_str(), refused),
                OfferError::Day(error) => no_plan(error),
            },
        )
    })
    .await?
}

/// The offers that are held now.
pub(super) async fn held(
    tx: &DatabaseTransaction,
    shop_id: &str,
    now: DateTime<Utc>,
) -> Result<Vec<HeldOffer>, ServiceError> {
    let messages = table::held_offers(tx, shop_id, now, OFFERS_HELD_MAX).await?;
    messages.iter().map(|one| HeldOffer::try_from(one).map_err(ServiceError::internal)).collect()
}

/// Refuses an estimate of a job that the shop has.
async fn not_taken(
    tx: &DatabaseTransaction,
    shop_id: &str,
    estimate: &Estimate,
) -> Result<(), ServiceError> {
    let job_id = estimate.parts().job.as_str();
    match load_job(tx, shop_id, job_id).await? {
        None => Ok(()),
        Some(_) => Err(Fault::new(
            "estimate.job_id",
            job_id,
            "name a job that the shop does not have",
            "send a changed estimate of a job that was taken as an estimate",
        )
        .into()),
    }
}

async fn keep(
    tx: &DatabaseTransaction,
    call: &Call,
    offer: &v1::Offer,
) -> Result<Done<v1::MakeOfferResponse>, ServiceError> {
    let shop_id = call.shop_id().as_str();
    let estimate = offer.estimate.as_ref().ok_or_else(absent)?;
    not_taken(tx, shop_id, &Estimate::try_from(estimate).map_err(ServiceError::internal)?).await?;
    let number = table::next_offer_number(tx, shop_id).await?;
    let offer = v1::Offer { offer_id: table::offer_name(number), ..offer.clone() };
    table::insert_offer(tx, &offer).await?;
    let reply = v1::MakeOfferResponse { offer: Some(offer.clone()) };
    let done = Done::new(reply).changed("offer", &offer.offer_id, None, Some(&offer));
    if offer.state() == OfferState::Refused {
        return turn_away(tx, call, &offer, offer.reasons.clone(), done).await;
    }
    Ok(done)
}

/// Writes an offer that did not come to anything into the turned-away log.
async fn turn_away<T>(
    tx: &DatabaseTransaction,
    call: &Call,
    offer: &v1::Offer,
    reasons: Vec<String>,
    done: Done<T>,
) -> Result<Done<T>, ServiceError> {
    let entry = v1::TurnedAway {
        shop_id: offer.shop_id.clone(),
        number: 0,
        offer_id: offer.offer_id.clone(),
        estimate: offer.estimate.clone(),
        needs: offer.needs.clone(),
        promise_time: offer.promise_time,
        reasons,
        actor: call.actor().to_owned(),
        turned_away_time: match offer.state() {
            OfferState::Lapsed => offer.lapse_time,
            _ => Some(timestamp(call.at())),
        },
    };
    let entry = append_turned_away(tx, entry).await?;
    Ok(done.changed("turned-away", entry.number.to_string(), None, Some(&entry)))
}

/// An offer that is held at `now`, or why it cannot be `wanted`.
async fn load_held(
    tx: &DatabaseTransaction,
    shop_id: &str,
    offer_id: &str,
    now: DateTime<Utc>,
    wanted: &str,
) -> Result<v1::Offer, ServiceError> {
    let offer = table::load_offer(tx, shop_id, offer_id).await?;
    let Some(offer) = offer else {
        return Err(not_there(tx, shop_id, "offer", offer_id).await);
    };
    let offer = as_of(offer, now)?;
    let state = match offer.state() {
        OfferState::Held => return Ok(offer),
        OfferState::Lapsed => "lapsed",
        OfferState::Accepted => "accepted",
        OfferState::Declined => "declined",
        OfferState::Refused => "refused",
        OfferState::Unspecified => "not known",
    };
    Err(ServiceError::IllegalTransition {
        kind: "offer",
        id: offer_id.to_owned(),
        state: state.to_owned(),
        wanted: wanted.to_owned(),
    })
}

/// An offer as it stands at `now`: one that was held may have lapsed.
fn as_of(offer: v1::Offer, now: DateTime<Utc>) -> Result<v1::Offer, ServiceError> {
    let lapse = offer.lapse_time.as_ref().map(instant_from).transpose();
    let lapse = lapse.map_err(ServiceError::internal)?;
    if offer.state() == OfferState::Held && lapse.is_none_or(|lapse| lapse <= now) {
        return Ok(v1::Offer { state: OfferState::Lapsed.into(), ..offer });
    }
    Ok(offer)
}
