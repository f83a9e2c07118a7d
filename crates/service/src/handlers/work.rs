//! The technician's work.

use super::handle;
use crate::{
    app::App,
    use_cases::{hand_over, holdings, pull, records, work_end, work_pause, work_phase, work_start},
};
use baywright_api::v1::{self, work_service_server::WorkService};
use tonic::{Request, Response, Status};

/// Handlers of `WorkService`.
#[derive(Debug, Clone)]
pub(super) struct WorkHandlers(pub(super) App);

#[tonic::async_trait]
impl WorkService for WorkHandlers {
    async fn pull_task(
        &self,
        request: Request<v1::PullTaskRequest>,
    ) -> Result<Response<v1::PullTaskResponse>, Status> {
        handle(pull::pull_task(&self.0, request.into_inner())).await
    }

    async fn start_task(
        &self,
        request: Request<v1::StartTaskRequest>,
    ) -> Result<Response<v1::StartTaskResponse>, Status> {
        handle(work_start::start_task(&self.0, request.into_inner())).await
    }

    async fn pause_task(
        &self,
        request: Request<v1::PauseTaskRequest>,
    ) -> Result<Response<v1::PauseTaskResponse>, Status> {
        handle(work_pause::pause_task(&self.0, request.into_inner())).await
    }

    async fn resume_task(
        &self,
        request: Request<v1::ResumeTaskRequest>,
    ) -> Result<Response<v1::ResumeTaskResponse>, Status> {
        handle(work_pause::resume_task(&self.0, request.into_inner())).await
    }

    async fn enter_phase(
        &self,
        request: Request<v1::EnterPhaseRequest>,
    ) -> Result<Response<v1::EnterPhaseResponse>, Status> {
        handle(work_phase::enter_phase(&self.0, request.into_inner())).await
    }

    async fn hand_over_task(
        &self,
        request: Request<v1::HandOverTaskRequest>,
    ) -> Result<Response<v1::HandOverTaskResponse>, Status> {
        handle(hand_over::hand_over_task(&self.0, request.into_inner())).await
    }

    async fn finish_task(
        &self,
        request: Request<v1::FinishTaskRequest>,
    ) -> Result<Response<v1::FinishTaskResponse>, Status> {
        handle(work_end::finish_task(&self.0, request.into_inner())).await
    }

    async fn fail_task(
        &self,
        request: Request<v1::FailTaskRequest>,
    ) -> Result<Response<v1::FailTaskResponse>, Status> {
        handle(work_end::fail_task(&self.0, request.into_inner())).await
    }

    async fn put_back_task(
        &self,
        request: Request<v1::PutBackTaskRequest>,
    ) -> Result<Response<v1::PutBackTaskResponse>, Status> {
        handle(work_end::put_back_task(&self.0, request.into_inner())).await
    }

    async fn redo_task(
        &self,
        request: Request<v1::RedoTaskRequest>,
    ) -> Result<Response<v1::RedoTaskResponse>, Status> {
        handle(work_end::redo_task(&self.0, request.into_inner())).await
    }

    async fn list_holdings(
        &self,
        request: Request<v1::ListHoldingsRequest>,
    ) -> Result<Response<v1::ListHoldingsResponse>, Status> {
        handle(holdings::list_holdings(&self.0, request.into_inner())).await
    }

    async fn list_conditions_records(
        &self,
        request: Request<v1::ListConditionsRecordsRequest>,
    ) -> Result<Response<v1::ListConditionsRecordsResponse>, Status> {
        handle(records::list_records(&self.0, request.into_inner())).await
    }
}
