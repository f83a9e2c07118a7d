//! What is decided about tasks without holding them.

use super::handle;
use crate::{
    app::App,
    use_cases::{cancelling, sublets},
};
use baywright_api::v1::{self, task_service_server::TaskService};
use tonic::{Request, Response, Status};

/// Handlers of `TaskService`.
#[derive(Debug, Clone)]
pub(super) struct TaskHandlers(pub(super) App);

#[tonic::async_trait]
impl TaskService for TaskHandlers {
    async fn cancel_task(
        &self,
        request: Request<v1::CancelTaskRequest>,
    ) -> Result<Response<v1::CancelTaskResponse>, Status> {
        handle(cancelling::cancel_task(&self.0, request.into_inner())).await
    }

    async fn sublet_task(
        &self,
        request: Request<v1::SubletTaskRequest>,
    ) -> Result<Response<v1::SubletTaskResponse>, Status> {
        handle(sublets::sublet_task(&self.0, request.into_inner())).await
    }

    async fn end_sublet(
        &self,
        request: Request<v1::EndSubletRequest>,
    ) -> Result<Response<v1::EndSubletResponse>, Status> {
        handle(sublets::end_sublet(&self.0, request.into_inner())).await
    }
}
