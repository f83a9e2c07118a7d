//! Which bay can host which work, what would bring more of it, and drawings.

use super::handle;
use crate::{
    app::App,
    use_cases::{drawings, fits, gain},
};
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

    async fn report_gain(
        &self,
        request: Request<v1::ReportGainRequest>,
    ) -> Result<Response<v1::ReportGainResponse>, Status> {
        handle(gain::report_gain(&self.0, request.into_inner())).await
    }

    async fn draw_plan(
        &self,
        request: Request<v1::DrawPlanRequest>,
    ) -> Result<Response<v1::DrawPlanResponse>, Status> {
        handle(drawings::draw_plan(&self.0, request.into_inner())).await
    }
}
