//! What is written down about a shop.

use super::handle;
use crate::{app::App, use_cases::shops};
use baywright_api::v1::{self, shop_service_server::ShopService};
use tonic::{Request, Response, Status};

/// Handlers of `ShopService`.
#[derive(Debug, Clone)]
pub(super) struct ShopHandlers(pub(super) App);

#[tonic::async_trait]
impl ShopService for ShopHandlers {
    async fn apply_shop(
        &self,
        request: Request<v1::ApplyShopRequest>,
    ) -> Result<Response<v1::ApplyShopResponse>, Status> {
        handle(shops::apply_shop(&self.0, request.into_inner())).await
    }

    async fn get_shop(
        &self,
        request: Request<v1::GetShopRequest>,
    ) -> Result<Response<v1::GetShopResponse>, Status> {
        handle(shops::get_shop(&self.0, request.into_inner())).await
    }
}
