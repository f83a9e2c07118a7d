//! A service that stands in for the real one: its own socket, its own thread, answers as a test says.

use super::{Run, baywright};
use baywright_api::v1::shop_service_server::ShopService;
use baywright_api::v1::{
    ApplyShopRequest, ApplyShopResponse, GetShopRequest, GetShopResponse, ShopDefinition,
};
use tokio::net::TcpListener;
use tokio_stream::wrappers::TcpListenerStream;
use tonic::service::Routes;
use tonic::transport::Server;
use tonic::{Request, Response, Status};

/// Runs the command for shop `demo` against a service that serves `routes`.
pub(crate) fn run_against(routes: Routes, arguments: &[&str]) -> Run {
    let runtime =
        tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build().unwrap();
    let listener = runtime.block_on(TcpListener::bind("127.0.0.1:0")).unwrap();
    let server = format!("http://{}", listener.local_addr().unwrap());
    runtime.spawn(
        Server::builder().add_routes(routes).serve_with_incoming(TcpListenerStream::new(listener)),
    );
    let common = ["--shop", "demo", "--server", &server];
    baywright(&[arguments, &common].concat())
}

/// A shop that can only be read.
#[derive(Debug, Clone, Default)]
pub(crate) struct ReadShop(pub(crate) ShopDefinition);

#[tonic::async_trait]
impl ShopService for ReadShop {
    async fn apply_shop(
        &self,
        _: Request<ApplyShopRequest>,
    ) -> Result<Response<ApplyShopResponse>, Status> {
        Err(Status::unimplemented("not asked here"))
    }

    async fn get_shop(
        &self,
        _: Request<GetShopRequest>,
    ) -> Result<Response<GetShopResponse>, Status> {
        Ok(Response::new(GetShopResponse { definition: Some(self.0.clone()) }))
    }
}
