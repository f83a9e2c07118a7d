//! Whether a vehicle may leave.

use super::handle;
use crate::{app::App, use_cases::hand_back};
use baywright_api::v1::{self, hand_back_service_server::HandBackService};
use tonic::{Request, Response, Status};

/// Handlers of `HandBackService`.
#[derive(Debug, Clone)]
pub(super) struct HandBackHandlers(pub(super) App);

#[tonic::async_trait]
impl HandBackService for HandBackHandlers {
    async fn check_hand_back(
        &self,
        request: Request<v1::CheckHandBackRequest>,
    ) -> Result<Response<v1::CheckHandBackResponse>, Status> {
        handle(hand_back::check_hand_back(&self.0, request.into_inner())).await
    }

    async fn hand_back_vehicle(
        &self,
        request: Request<v1::HandBackVehicleRequest>,
    ) -> Result<Response<v1::HandBackVehicleResponse>, Status> {
        handle(hand_back::hand_back(&self.0, request.into_inner())).await
    }
}
