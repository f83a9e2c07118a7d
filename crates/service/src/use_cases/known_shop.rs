//! Whether there is such a shop: asked by what reads of a shop without its definition.

use crate::{app::App, error::ServiceError, storage::shops::load_shop};
use sea_orm::DatabaseTransaction;

/// Refuses a shop that does not exist.
pub(super) async fn shop_exists(app: &App, shop_id: &str) -> Result<(), ServiceError> {
    app.database.read(shop_id.to_owned(), |tx, shop_id| Box::pin(known_shop(tx, shop_id))).await
}

/// That a thing is not there, or that its shop is not.
pub(super) async fn not_there(
    tx: &DatabaseTransaction,
    shop_id: &str,
    kind: &'static str,
    id: &str,
) -> ServiceError {
    match known_shop(tx, shop_id).await {
        Ok(()) => ServiceError::not_found(kind, id),
        Err(refused) => refused,
    }
}

/// That there is such a shop: a list of nothing must not hide a mistyped name.
pub(super) async fn known_shop(
    tx: &DatabaseTransaction,
    shop_id: &str,
) -> Result<(), ServiceError> {
    match load_shop(tx, shop_id).await? {
        Some(_) => Ok(()),
        None => Err(ServiceError::not_found("shop", shop_id)),
    }
}
