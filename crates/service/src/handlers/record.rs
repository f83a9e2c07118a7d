//! The chain of conditions records, and corrections.

use super::handle;
use crate::{app::App, use_cases::record_chain};
use baywright_api::v1::{self, record_service_server::RecordService};
use tonic::{Request, Response, Status};

/// Handlers of `RecordService`.
#[derive(Debug, Clone)]
pub(super) struct RecordHandlers(pub(super) App);

#[tonic::async_trait]
impl RecordService for RecordHandlers {
    async fn verify_records(
        &self,
        request: Request<v1::VerifyRecordsRequest>,
    ) -> Result<Response<v1::VerifyRecordsResponse>, Status> {
        handle(record_chain::verify_records(&self.0, request.into_inner())).await
    }

    async fn correct_record(
        &self,
        request: Request<v1::CorrectRecordRequest>,
    ) -> Result<Response<v1::CorrectRecordResponse>, Status> {
        handle(record_chain::correct_record(&self.0, request.into_inner())).await
    }
}
