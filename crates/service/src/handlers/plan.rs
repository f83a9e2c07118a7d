//! The plan of the day.

use super::handle;
use crate::{
    app::App,
    use_cases::{plans, reasons},
};
use baywright_api::v1::{self, plan_service_server::PlanService};
use tonic::{Request, Response, Status};

/// Handlers of `PlanService`.
#[derive(Debug, Clone)]
pub(super) struct PlanHandlers(pub(super) App);

#[tonic::async_trait]
impl PlanService for PlanHandlers {
    async fn make_plan(
        &self,
        request: Request<v1::MakePlanRequest>,
    ) -> Result<Response<v1::MakePlanResponse>, Status> {
        handle(plans::make_plan(&self.0, request.into_inner())).await
    }

    async fn get_plan(
        &self,
        request: Request<v1::GetPlanRequest>,
    ) -> Result<Response<v1::GetPlanResponse>, Status> {
        handle(plans::get_plan(&self.0, request.into_inner())).await
    }

    async fn explain_plan(
        &self,
        request: Request<v1::ExplainPlanRequest>,
    ) -> Result<Response<v1::ExplainPlanResponse>, Status> {
        handle(reasons::explain_plan(&self.0, request.into_inner())).await
    }
}
