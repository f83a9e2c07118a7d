//! Doubts about bays.

use super::handle;
use crate::{app::App, use_cases::doubts};
use baywright_api::v1::{self, doubt_service_server::DoubtService};
use tonic::{Request, Response, Status};

/// Handlers of `DoubtService`.
#[derive(Debug, Clone)]
pub(super) struct DoubtHandlers(pub(super) App);

#[tonic::async_trait]
impl DoubtService for DoubtHandlers {
    async fn list_doubts(
        &self,
        request: Request<v1::ListDoubtsRequest>,
    ) -> Result<Response<v1::ListDoubtsResponse>, Status> {
        handle(doubts::list_doubts(&self.0, request.into_inner())).await
    }

    async fn clear_doubt(
        &self,
        request: Request<v1::ClearDoubtRequest>,
    ) -> Result<Response<v1::ClearDoubtResponse>, Status> {
        handle(doubts::clear_doubt(&self.0, request.into_inner())).await
    }
}
