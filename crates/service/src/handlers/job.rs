//! Jobs: estimates, decisions, prerequisites and whereabouts.

use super::handle;
use crate::{
    app::App,
    use_cases::{arrivals, cancelling, decisions, estimates, jobs, prerequisites, update_job},
};
use baywright_api::v1::{self, job_service_server::JobService};
use tonic::{Request, Response, Status};

/// Handlers of `JobService`.
#[derive(Debug, Clone)]
pub(super) struct JobHandlers(pub(super) App);

#[tonic::async_trait]
impl JobService for JobHandlers {
    async fn submit_estimate(
        &self,
        request: Request<v1::SubmitEstimateRequest>,
    ) -> Result<Response<v1::SubmitEstimateResponse>, Status> {
        handle(estimates::submit_estimate(&self.0, request.into_inner())).await
    }

    async fn get_job(
        &self,
        request: Request<v1::GetJobRequest>,
    ) -> Result<Response<v1::GetJobResponse>, Status> {
        handle(jobs::get_job(&self.0, request.into_inner())).await
    }

    async fn list_jobs(
        &self,
        request: Request<v1::ListJobsRequest>,
    ) -> Result<Response<v1::ListJobsResponse>, Status> {
        handle(jobs::list_jobs(&self.0, request.into_inner())).await
    }

    async fn decide_tasks(
        &self,
        request: Request<v1::DecideTasksRequest>,
    ) -> Result<Response<v1::DecideTasksResponse>, Status> {
        handle(decisions::decide_tasks(&self.0, request.into_inner())).await
    }

    async fn decide_operation(
        &self,
        request: Request<v1::DecideOperationRequest>,
    ) -> Result<Response<v1::DecideOperationResponse>, Status> {
        handle(decisions::decide_operation(&self.0, request.into_inner())).await
    }

    async fn sign_off_prerequisite(
        &self,
        request: Request<v1::SignOffPrerequisiteRequest>,
    ) -> Result<Response<v1::SignOffPrerequisiteResponse>, Status> {
        handle(prerequisites::sign_off(&self.0, request.into_inner())).await
    }

    async fn update_prerequisite(
        &self,
        request: Request<v1::UpdatePrerequisiteRequest>,
    ) -> Result<Response<v1::UpdatePrerequisiteResponse>, Status> {
        handle(prerequisites::update(&self.0, request.into_inner())).await
    }

    async fn update_job(
        &self,
        request: Request<v1::UpdateJobRequest>,
    ) -> Result<Response<v1::UpdateJobResponse>, Status> {
        handle(update_job::update_job(&self.0, request.into_inner())).await
    }

    async fn record_arrival(
        &self,
        request: Request<v1::RecordArrivalRequest>,
    ) -> Result<Response<v1::RecordArrivalResponse>, Status> {
        handle(arrivals::record_arrival(&self.0, request.into_inner())).await
    }

    async fn move_vehicle(
        &self,
        request: Request<v1::MoveVehicleRequest>,
    ) -> Result<Response<v1::MoveVehicleResponse>, Status> {
        handle(arrivals::move_vehicle(&self.0, request.into_inner())).await
    }

    async fn record_outside_work(
        &self,
        request: Request<v1::RecordOutsideWorkRequest>,
    ) -> Result<Response<v1::RecordOutsideWorkResponse>, Status> {
        handle(arrivals::record_outside_work(&self.0, request.into_inner())).await
    }

    async fn cancel_job(
        &self,
        request: Request<v1::CancelJobRequest>,
    ) -> Result<Response<v1::CancelJobResponse>, Status> {
        handle(cancelling::cancel_job(&self.0, request.into_inner())).await
    }
}
