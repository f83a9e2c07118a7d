//! Which bay can host which work.

use super::handle;
use crate::{app::App, use_cases::fits};
use baywright_api::v1::{self, fit_service_server::FitService};
use tonic::{Request, Response, Status};

/// Handlers of `FitService`.
#[derive(Debug, Clone)]
pub(super) struct FitHandlers(pub(super) App);

#[tonic::async_trait]
impl FitService for FitHandlers {
    async fn list_fits(
        &self,
        request: Request<v1::ListFitsRequest>,
    ) -> Result<Response<v1::ListFitsResponse>, Status> {
        handle(fits::list_fits(&self.0, request.into_inner())).await
    }
}
