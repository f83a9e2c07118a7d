//! `survey`: records what was measured in a bay.

use crate::answer;
use crate::failure::Failure;
use crate::input;
use crate::json;
use crate::session::Session;
use baywright_api::v1::RecordSurveyRequest;
use baywright_api::v1::survey_service_client::SurveyServiceClient;
use baywright_files::survey_file;
use clap::Args;
use std::path::PathBuf;

/// Record a survey of a bay.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo survey bay-1 survey-bay-1.csv")]
pub(crate) struct Survey {
    /// The bay.
    bay: String,
    /// Survey file (CSV).
    file: PathBuf,
}

impl Survey {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let parse = |text: &str| survey_file::parse(text, &self.bay);
        let survey = input::parsed(&self.file, survey_file::SURVEY_FILE_BYTES_MAX, parse)?;
        let request = RecordSurveyRequest {
            shop_id: session.shop()?,
            survey: Some(survey),
            request_id: session.request_id(),
            actor: session.actor.clone(),
        };
        let reply = session
            .call(request, async |channel, request| {
                SurveyServiceClient::new(channel).record_survey(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("RecordSurveyResponse", &reply)?);
        }
        let survey = reply.survey.unwrap_or_default();
        answer::write(&format!(
            "Survey {} of {} is recorded: {} heights, {} light readings, taken on {}, counts until {}.",
            survey.survey_id,
            survey.bay_id,
            survey.heights.len(),
            survey.light.len(),
            survey.taken_on,
            survey.valid_until,
        ))
    }
}
