//! Reading offers, each as it stands at the instant of the call.

use super::as_of;
use crate::{
    app::App,
    error::ServiceError,
    storage::offers::{self as table, offer_number},
    use_cases::{
        known_shop::known_shop,
        page::{PageSizes, page_key, page_size},
    },
};
use baywright_api::v1::{self, OfferState};
use baywright_core::fault::{Fault, FaultList};

const PAGES: PageSizes = PageSizes { usual: 50, most: 200 };

/// Reads an offer.
///
/// # Errors
/// No such shop or offer.
pub async fn get_offer(
    app: &App,
    request: v1::GetOfferRequest,
) -> Result<v1::GetOfferResponse, ServiceError> {
    let now = app.clock.now();
    app.database
        .read((request, now), |tx, (request, now)| {
            Box::pin(async move {
                known_shop(tx, &request.shop_id).await?;
                let offer = table::load_offer(tx, &request.shop_id, &request.offer_id).await?;
                let none = || ServiceError::not_found("offer", &request.offer_id);
                let offer = as_of(offer.ok_or_else(none)?, *now)?;
                Ok(v1::GetOfferResponse { offer: Some(offer) })
            })
        })
        .await
}

/// Lists offers in the states asked for, the newest first.
///
/// # Errors
/// No such shop; a state that is none; a page size or token that is none.
pub async fn list_offers(
    app: &App,
    request: v1::ListOffersRequest,
) -> Result<v1::ListOffersResponse, ServiceError> {
    let now = app.clock.now();
    let size = page_size(request.page_size, PAGES)?;
    let before = page_key(&request.page_token, |token| token.parse::<u64>().ok())?;
    let states = states(&request.states)?;
    let mut offers = app
        .database
        .read(
            (request.shop_id, states, before, size),
            move |tx, (shop_id, states, before, size)| {
                Box::pin(async move {
                    known_shop(tx, shop_id).await?;
                    let page = (*before, size + 1);
                    Ok(table::list_offers(tx, shop_id, (states, now), page).await?)
                })
            },
        )
        .await?;
    let size = usize::try_from(size).unwrap_or(usize::MAX);
    let more = offers.len() > size;
    offers.truncate(size);
    let last = offers.last().filter(|_| more).and_then(|offer| offer_number(&offer.offer_id));
    let next_page_token = last.map(|number| number.to_string()).unwrap_or_default();
    let offers = offers.into_iter().map(|offer| as_of(offer, now)).collect::<Result<_, _>>()?;
    Ok(v1::ListOffersResponse { offers, next_page_token })
}

/// The states asked for; none means held.
fn states(asked: &[i32]) -> Result<Vec<OfferState>, ServiceError> {
    let mut faults = FaultList::new();
    let mut states = Vec::new();
    for (index, number) in asked.iter().enumerate() {
        match OfferState::try_from(*number) {
            Ok(OfferState::Unspecified) => {}
            Ok(state) => states.push(state),
            Err(_unknown) => {
                let limit = "be held, accepted, declined, lapsed or refused";
                let remedy = "leave the list empty for those that are held";
                faults.push(Fault::new(format!("states[{index}]"), number, limit, remedy));
            }
        }
    }
    if states.is_empty() {
        states.push(OfferState::Held);
    }
    Ok(faults.finish(states)?)
}
