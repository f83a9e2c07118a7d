//! The shop and its surveys.

use super::{Caller, actor, answered, request_id, shop_id};
use crate::demo::DemoError;
use baywright_api::v1::{
    self, shop_service_client::ShopServiceClient, survey_service_client::SurveyServiceClient,
};
use tonic::Code;

impl Caller {
    /// Whether the service has a shop of that name.
    pub(in crate::demo) async fn knows_shop(&self, shop_id: &str) -> Result<bool, DemoError> {
        let request = v1::GetShopRequest { shop_id: shop_id.to_owned() };
        match ShopServiceClient::new(self.channel()).get_shop(request).await {
            Err(status) if status.code() == Code::NotFound => Ok(false),
            answer => answered("reading the shop", answer).map(|_| true),
        }
    }

    pub(in crate::demo) async fn apply_shop(
        &self,
        definition: v1::ShopDefinition,
    ) -> Result<(), DemoError> {
        let request = v1::ApplyShopRequest {
            definition: Some(definition),
            validate_only: false,
            request_id: request_id(),
            actor: actor(),
        };
        let answer = ShopServiceClient::new(self.channel()).apply_shop(request).await;
        answered("applying the shop", answer).map(drop)
    }

    pub(in crate::demo) async fn record_survey(&self, survey: v1::Survey) -> Result<(), DemoError> {
        let what = format!("recording survey {}", survey.survey_id);
        let request = v1::RecordSurveyRequest {
            shop_id: shop_id(),
            survey: Some(survey),
            request_id: request_id(),
            actor: actor(),
        };
        let answer = SurveyServiceClient::new(self.channel()).record_survey(request).await;
        answered(&what, answer).map(drop)
    }

    pub(in crate::demo) async fn shop(&self) -> Result<v1::ShopDefinition, DemoError> {
        let request = v1::GetShopRequest { shop_id: shop_id() };
        let answer = ShopServiceClient::new(self.channel()).get_shop(request).await;
        Ok(answered("reading the shop", answer)?.definition.unwrap_or_default())
    }
}
