//! Road drives.

use super::handle;
use crate::{app::App, use_cases::roads};
use baywright_api::v1::{self, road_service_server::RoadService};
use tonic::{Request, Response, Status};

/// Handlers of `RoadService`.
#[derive(Debug, Clone)]
pub(super) struct RoadHandlers(pub(super) App);

#[tonic::async_trait]
impl RoadService for RoadHandlers {
    async fn record_road_entry(
        &self,
        request: Request<v1::RecordRoadEntryRequest>,
    ) -> Result<Response<v1::RecordRoadEntryResponse>, Status> {
        handle(roads::record_road_entry(&self.0, request.into_inner())).await
    }

    async fn withdraw_road_entry(
        &self,
        request: Request<v1::WithdrawRoadEntryRequest>,
    ) -> Result<Response<v1::WithdrawRoadEntryResponse>, Status> {
        handle(roads::withdraw_road_entry(&self.0, request.into_inner())).await
    }

    async fn list_road_entries(
        &self,
        request: Request<v1::ListRoadEntriesRequest>,
    ) -> Result<Response<v1::ListRoadEntriesResponse>, Status> {
        handle(roads::list_road_entries(&self.0, request.into_inner())).await
    }

    async fn list_road_windows(
        &self,
        request: Request<v1::ListRoadWindowsRequest>,
    ) -> Result<Response<v1::ListRoadWindowsResponse>, Status> {
        handle(roads::list_road_windows(&self.0, request.into_inner())).await
    }
}
