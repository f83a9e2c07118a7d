//! Surveys of bays.

use super::handle;
use crate::{app::App, use_cases::surveys};
use baywright_api::v1::{self, survey_service_server::SurveyService};
use tonic::{Request, Response, Status};

/// Handlers of `SurveyService`.
#[derive(Debug, Clone)]
pub(super) struct SurveyHandlers(pub(super) App);

#[tonic::async_trait]
impl SurveyService for SurveyHandlers {
    async fn record_survey(
        &self,
        request: Request<v1::RecordSurveyRequest>,
    ) -> Result<Response<v1::RecordSurveyResponse>, Status> {
        handle(surveys::record_survey(&self.0, request.into_inner())).await
    }

    async fn get_survey(
        &self,
        request: Request<v1::GetSurveyRequest>,
    ) -> Result<Response<v1::GetSurveyResponse>, Status> {
        handle(surveys::get_survey(&self.0, request.into_inner())).await
    }
}
