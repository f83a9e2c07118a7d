//! The plan of the day.

use super::handle;
use crate::{
    app::App,
    layers::deadline_asked,
    use_cases::{forecast, plans, reasons},
};
use baywright_api::v1::{self, plan_service_server::PlanService};
use futures_util::{Stream, StreamExt as _};
use std::pin::Pin;
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

    type MakePlanWithProgressStream =
        Pin<Box<dyn Stream<Item = Result<v1::MakePlanWithProgressResponse, Status>> + Send>>;

    async fn make_plan_with_progress(
        &self,
        request: Request<v1::MakePlanWithProgressRequest>,
    ) -> Result<Response<Self::MakePlanWithProgressStream>, Status> {
        let deadline = deadline_asked(request.metadata().as_ref());
        handle(async {
            let request = request.into_inner();
            let items = plans::make_plan_with_progress(&self.0, request, deadline).await?;
            let items = items.map(|item| item.map_err(Status::from));
            Ok(Box::pin(items) as Self::MakePlanWithProgressStream)
        })
        .await
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

    async fn report_what_if(
        &self,
        request: Request<v1::ReportWhatIfRequest>,
    ) -> Result<Response<v1::ReportWhatIfResponse>, Status> {
        handle(plans::report_what_if(&self.0, request.into_inner())).await
    }

    async fn report_front(
        &self,
        request: Request<v1::ReportFrontRequest>,
    ) -> Result<Response<v1::ReportFrontResponse>, Status> {
        handle(plans::report_front(&self.0, request.into_inner())).await
    }

    async fn report_forecast(
        &self,
        request: Request<v1::ReportForecastRequest>,
    ) -> Result<Response<v1::ReportForecastResponse>, Status> {
        handle(forecast::report_forecast(&self.0, request.into_inner())).await
    }
}
