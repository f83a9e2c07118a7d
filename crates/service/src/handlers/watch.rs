//! Watching a shop.

use super::handle;
use crate::{app::App, layers::deadline_asked, use_cases::watch};
use baywright_api::v1::{self, watch_service_server::WatchService};
use futures_util::{Stream, StreamExt as _};
use std::pin::Pin;
use tonic::{Request, Response, Status};

/// Handlers of `WatchService`.
#[derive(Debug, Clone)]
pub(super) struct WatchHandlers(pub(super) App);

#[tonic::async_trait]
impl WatchService for WatchHandlers {
    type WatchChangesStream =
        Pin<Box<dyn Stream<Item = Result<v1::WatchChangesResponse, Status>> + Send>>;

    async fn watch_changes(
        &self,
        request: Request<v1::WatchChangesRequest>,
    ) -> Result<Response<Self::WatchChangesStream>, Status> {
        let deadline = deadline_asked(request.metadata().as_ref());
        handle(async {
            let items = watch::watch_changes(&self.0, request.into_inner(), deadline).await?;
            let items = items.map(|item| item.map_err(Status::from));
            Ok(Box::pin(items) as Self::WatchChangesStream)
        })
        .await
    }
}
