//! The audit trail.

use super::handle;
use crate::{app::App, use_cases::audit};
use baywright_api::v1::{self, audit_service_server::AuditService};
use tonic::{Request, Response, Status};

/// Handlers of `AuditService`.
#[derive(Debug, Clone)]
pub(super) struct AuditHandlers(pub(super) App);

#[tonic::async_trait]
impl AuditService for AuditHandlers {
    async fn list_audit_entries(
        &self,
        request: Request<v1::ListAuditEntriesRequest>,
    ) -> Result<Response<v1::ListAuditEntriesResponse>, Status> {
        handle(audit::list_entries(&self.0, request.into_inner())).await
    }
}
