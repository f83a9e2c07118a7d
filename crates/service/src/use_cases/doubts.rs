//! Doubts about bays: listed, and cleared one by one with a reason.

use super::{
    known_shop::known_shop,
    page::{PageSizes, page_key, page_size},
    told::stated,
};
use crate::{
    app::App,
    error::ServiceError,
    storage::{
        Call, Done,
        doubts::{self as table, Clearing, doubt_number},
    },
};
use baywright_api::v1;
use baywright_core::fault::FaultList;
use sea_orm::DatabaseTransaction;

const PAGES: PageSizes = PageSizes { usual: 50, most: 200 };

/// Lists the doubts that stand, or all of them, the oldest first.
///
/// # Errors
/// No such shop; a page size or token that is none.
pub async fn list_doubts(
    app: &App,
    request: v1::ListDoubtsRequest,
) -> Result<v1::ListDoubtsResponse, ServiceError> {
    let size = page_size(request.page_size, PAGES)?;
    let after = page_key(&request.page_token, |token| token.parse::<u64>().ok())?.unwrap_or(0);
    let mut doubts = app
        .database
        .read((request, after, size), |tx, (request, after, size)| {
            Box::pin(async move {
                known_shop(tx, &request.shop_id).await?;
                let (shop_id, page) = (&request.shop_id, (*after, size + 1));
                Ok(table::list_doubts(tx, shop_id, page, request.include_cleared).await?)
            })
        })
        .await?;
    let size = usize::try_from(size).unwrap_or(usize::MAX);
    let more = doubts.len() > size;
    doubts.truncate(size);
    let last = doubts.last().filter(|_| more).and_then(|doubt| doubt_number(&doubt.doubt_id));
    let next_page_token = last.map(|number| number.to_string()).unwrap_or_default();
    Ok(v1::ListDoubtsResponse { doubts, next_page_token })
}

/// Clears a doubt that stands.
///
/// # Errors
/// No reason; no such doubt; one that was cleared already.
pub async fn clear_doubt(
    app: &App,
    request: v1::ClearDoubtRequest,
) -> Result<v1::ClearDoubtResponse, ServiceError> {
    let call = App::call(&request, app.clock.now())?;
    let mut faults = FaultList::new();
    let remedy = "say what was looked at and why the bay may be used again";
    stated(&mut faults, "reason", &request.reason, remedy);
    faults.finish(())?;
    let input = (call.clone(), request);
    app.database
        .exactly_once(call, input, |tx, (call, request)| Box::pin(clear(tx, call, request)))
        .await
}

async fn clear(
    tx: &DatabaseTransaction,
    call: &Call,
    request: &v1::ClearDoubtRequest,
) -> Result<Done<v1::ClearDoubtResponse>, ServiceError> {
    let (shop_id, doubt_id) = (call.shop_id().as_str(), request.doubt_id.as_str());
    known_shop(tx, shop_id).await?;
    let none = || ServiceError::not_found("doubt", doubt_id);
    let before = table::load_doubt(tx, shop_id, doubt_id).await?.ok_or_else(none)?;
    let clearing = Clearing { actor: call.actor(), reason: &request.reason, at: call.at() };
    if !table::clear_doubt(tx, shop_id, doubt_id, clearing).await? {
        return Err(ServiceError::IllegalTransition {
            kind: "doubt",
            id: doubt_id.to_owned(),
            state: "cleared".to_owned(),
            wanted: "cleared".to_owned(),
        });
    }
    let after = table::load_doubt(tx, shop_id, doubt_id).await?.ok_or_else(none)?;
    let reply = v1::ClearDoubtResponse { doubt: Some(after.clone()) };
    Ok(Done::new(reply).changed("doubt", doubt_id, Some(&before), Some(&after)))
}
