//! Offers and what was turned away.

use super::handle;
use crate::{
    app::App,
    use_cases::{offers, turned_away},
};
use baywright_api::v1::{self, offer_service_server::OfferService};
use tonic::{Request, Response, Status};

/// Handlers of `OfferService`.
#[derive(Debug, Clone)]
pub(super) struct OfferHandlers(pub(super) App);

#[tonic::async_trait]
impl OfferService for OfferHandlers {
    async fn make_offer(
        &self,
        request: Request<v1::MakeOfferRequest>,
    ) -> Result<Response<v1::MakeOfferResponse>, Status> {
        handle(offers::make_offer(&self.0, request.into_inner())).await
    }

    async fn accept_offer(
        &self,
        request: Request<v1::AcceptOfferRequest>,
    ) -> Result<Response<v1::AcceptOfferResponse>, Status> {
        handle(offers::accept_offer(&self.0, request.into_inner())).await
    }

    async fn decline_offer(
        &self,
        request: Request<v1::DeclineOfferRequest>,
    ) -> Result<Response<v1::DeclineOfferResponse>, Status> {
        handle(offers::decline_offer(&self.0, request.into_inner())).await
    }

    async fn get_offer(
        &self,
        request: Request<v1::GetOfferRequest>,
    ) -> Result<Response<v1::GetOfferResponse>, Status> {
        handle(offers::get_offer(&self.0, request.into_inner())).await
    }

    async fn list_offers(
        &self,
        request: Request<v1::ListOffersRequest>,
    ) -> Result<Response<v1::ListOffersResponse>, Status> {
        handle(offers::list_offers(&self.0, request.into_inner())).await
    }

    async fn list_turned_away(
        &self,
        request: Request<v1::ListTurnedAwayRequest>,
    ) -> Result<Response<v1::ListTurnedAwayResponse>, Status> {
        handle(turned_away::list_turned_away(&self.0, request.into_inner())).await
    }
}
