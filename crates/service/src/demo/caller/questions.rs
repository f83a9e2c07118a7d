//! What a manager asks: fits, the plan, the day.

use super::{Caller, PAGES_MAX, actor, answered, request_id, shop_id};
use crate::demo::DemoError;
use baywright_api::v1::{
    self, day_service_client::DayServiceClient, fit_service_client::FitServiceClient,
    plan_service_client::PlanServiceClient,
};

impl Caller {
    pub(in crate::demo) async fn fits(&self) -> Result<Vec<v1::Fit>, DemoError> {
        let mut request =
            v1::ListFitsRequest { shop_id: shop_id(), ..v1::ListFitsRequest::default() };
        let mut fits = Vec::new();
        for _ in 0..PAGES_MAX {
            let answer = FitServiceClient::new(self.channel()).list_fits(request.clone()).await;
            let page = answered("listing the fits", answer)?;
            fits.extend(page.fits);
            request.page_token = page.next_page_token;
            if request.page_token.is_empty() {
                break;
            }
        }
        Ok(fits)
    }

    pub(in crate::demo) async fn plan(&self) -> Result<v1::Plan, DemoError> {
        let request = v1::MakePlanRequest {
            shop_id: shop_id(),
            request_id: request_id(),
            actor: actor(),
            ..v1::MakePlanRequest::default()
        };
        let answer = PlanServiceClient::new(self.channel()).make_plan(request).await;
        Ok(answered("planning the day", answer)?.plan.unwrap_or_default())
    }

    pub(in crate::demo) async fn today(&self) -> Result<v1::GetTodayResponse, DemoError> {
        let request = v1::GetTodayRequest { shop_id: shop_id(), ..Default::default() };
        let answer = DayServiceClient::new(self.channel()).get_today(request).await;
        answered("asking for the day", answer)
    }

    /// Whom to chase, for one job or (with an empty name) for all.
    pub(in crate::demo) async fn chases(&self, job_id: &str) -> Result<Vec<v1::Chase>, DemoError> {
        let request = v1::ListChasesRequest { shop_id: shop_id(), job_id: job_id.to_owned() };
        let answer = DayServiceClient::new(self.channel()).list_chases(request).await;
        Ok(answered("asking whom to chase", answer)?.chases)
    }

    pub(in crate::demo) async fn finishes(&self) -> Result<Vec<v1::ProjectedFinish>, DemoError> {
        let request = v1::ListFinishesRequest { shop_id: shop_id() };
        let answer = DayServiceClient::new(self.channel()).list_finishes(request).await;
        Ok(answered("asking for the finishes", answer)?.finishes)
    }
}
