//! The questions of the day.

use super::handle;
use crate::{app::App, use_cases::day};
use baywright_api::v1::{self, day_service_server::DayService};
use tonic::{Request, Response, Status};

/// Handlers of `DayService`.
#[derive(Debug, Clone)]
pub(super) struct DayHandlers(pub(super) App);

#[tonic::async_trait]
impl DayService for DayHandlers {
    async fn list_chases(
        &self,
        request: Request<v1::ListChasesRequest>,
    ) -> Result<Response<v1::ListChasesResponse>, Status> {
        handle(day::list_chases(&self.0, request.into_inner())).await
    }

    async fn list_finishes(
        &self,
        request: Request<v1::ListFinishesRequest>,
    ) -> Result<Response<v1::ListFinishesResponse>, Status> {
        handle(day::list_finishes(&self.0, request.into_inner())).await
    }

    async fn locate_vehicle(
        &self,
        request: Request<v1::LocateVehicleRequest>,
    ) -> Result<Response<v1::LocateVehicleResponse>, Status> {
        handle(day::locate_vehicle(&self.0, request.into_inner())).await
    }

    async fn list_unit_uses(
        &self,
        request: Request<v1::ListUnitUsesRequest>,
    ) -> Result<Response<v1::ListUnitUsesResponse>, Status> {
        handle(day::list_unit_uses(&self.0, request.into_inner())).await
    }

    async fn list_free_bays(
        &self,
        request: Request<v1::ListFreeBaysRequest>,
    ) -> Result<Response<v1::ListFreeBaysResponse>, Status> {
        handle(day::list_free_bays(&self.0, request.into_inner())).await
    }

    async fn get_today(
        &self,
        request: Request<v1::GetTodayRequest>,
    ) -> Result<Response<v1::GetTodayResponse>, Status> {
        handle(day::get_today(&self.0, request.into_inner())).await
    }
}
