//! Reading the log of what was turned away.

use super::{
    known_shop::known_shop,
    offers::note_lapsed_offers,
    page::{PageSizes, page_key, page_size},
};
use crate::{app::App, error::ServiceError, storage::turned_away as table};
use baywright_api::v1;

const PAGES: PageSizes = PageSizes { usual: 50, most: 200 };

/// Lists what was turned away, the newest first; a lapse that nobody has noted is noted before.
///
/// # Errors
/// No such shop; a page size or token that is none; trouble of storage.
pub async fn list_turned_away(
    app: &App,
    request: v1::ListTurnedAwayRequest,
) -> Result<v1::ListTurnedAwayResponse, ServiceError> {
    let size = page_size(request.page_size, PAGES)?;
    let before = page_key(&request.page_token, |token| token.parse::<u64>().ok())?;
    note_lapsed_offers(app).await?;
    let mut turned_away = app
        .database
        .read((request.shop_id, before, size), |tx, (shop_id, before, size)| {
            Box::pin(async move {
                known_shop(tx, shop_id).await?;
                Ok(table::list_turned_away(tx, shop_id, *before, size + 1).await?)
            })
        })
        .await?;
    let size = usize::try_from(size).unwrap_or(usize::MAX);
    let more = turned_away.len() > size;
    turned_away.truncate(size);
    let last = turned_away.last().filter(|_| more);
    let next_page_token = last.map(|entry| entry.number.to_string()).unwrap_or_default();
    Ok(v1::ListTurnedAwayResponse { turned_away, next_page_token })
}
