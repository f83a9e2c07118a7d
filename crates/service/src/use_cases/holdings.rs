//! What is held now.

use super::known_shop::known_shop;
use crate::{app::App, error::ServiceError, storage::holdings as table};
use baywright_api::v1;

/// Lists what is held now, of one technician or of all.
///
/// # Errors
/// Trouble of storage.
pub async fn list_holdings(
    app: &App,
    request: v1::ListHoldingsRequest,
) -> Result<v1::ListHoldingsResponse, ServiceError> {
    app.database
        .read(request, |tx, request| {
            Box::pin(async move {
                known_shop(tx, &request.shop_id).await?;
                let mut holdings = table::active_holdings(tx, &request.shop_id).await?;
                let wanted = &request.technician_id;
                holdings.retain(|one| wanted.is_empty() || one.technician_ids.contains(wanted));
                Ok(v1::ListHoldingsResponse { holdings })
            })
        })
        .await
}
