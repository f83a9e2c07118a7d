//! Whether there is such a shop: asked by what reads of a shop without its definition.

use crate::{app::App, error::ServiceError, storage::shops::load_shop};

/// Refuses a shop that does not exist.
pub(super) async fn shop_exists(app: &App, shop_id: &str) -> Result<(), ServiceError> {
    app.database
        .read(shop_id.to_owned(), |tx, shop_id| {
            Box::pin(async move {
                let shop = load_shop(tx, shop_id).await?;
                shop.map(|_| ()).ok_or_else(|| ServiceError::not_found("shop", shop_id.as_str()))
            })
        })
        .await
}
