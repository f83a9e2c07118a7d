//! Recording surveys of bays.

use super::{estimates::inside, known_shop::not_there};
use crate::{
    app::App,
    error::ServiceError,
    snapshot::ShopSnapshot,
    storage::{Call, Done, surveys as table},
};
use baywright_api::v1;
use baywright_core::{fault::Fault, survey::Survey};
use sea_orm::DatabaseTransaction;

/// Records a survey of a bay.
///
/// # Errors
/// Every fault of the survey at once, points outside of the bay among them; an unknown bay; a name
/// that the bay has a survey of.
pub async fn record_survey(
    app: &App,
    request: v1::RecordSurveyRequest,
) -> Result<v1::RecordSurveyResponse, ServiceError> {
    let call = App::call(&request, app.clock.now())?;
    let message = request
        .survey
        .as_ref()
        .ok_or_else(|| Fault::new("survey", "absent", "be given", "send the survey"))?;
    let survey = Survey::try_from(message).map_err(|faults| inside("survey", faults))?;
    app.exactly_once_on_shop(call.clone(), (call, survey), |tx, shop, (call, survey)| {
        Box::pin(record(tx, shop, call, survey))
    })
    .await
}

async fn record(
    tx: &DatabaseTransaction,
    shop: &ShopSnapshot,
    call: &Call,
    survey: &Survey,
) -> Result<Done<v1::RecordSurveyResponse>, ServiceError> {
    let bay = shop.definition().bay(survey.bay());
    let bay = bay.ok_or_else(|| ServiceError::not_found("bay", survey.bay().as_str()))?;
    survey.check_against(bay).map_err(|faults| inside("survey", faults))?;
    let message = v1::Survey::from(survey);
    if !table::record_survey(tx, call.shop_id().as_str(), &message, call.at()).await? {
        return Err(Fault::new(
            "survey.survey_id",
            &message.survey_id,
            "be new: the bay has a survey of this name, and a survey is never changed",
            "give the new survey its own name",
        )
        .into());
    }
    let name = format!("{}/{}", message.bay_id, message.survey_id);
    let reply = v1::RecordSurveyResponse { survey: Some(message.clone()) };
    Ok(Done::new(reply).changed("survey", name, None, Some(&message)))
}

/// Reads the newest survey of a bay.
///
/// # Errors
/// No such bay, or none that was surveyed.
pub async fn get_survey(
    app: &App,
    request: v1::GetSurveyRequest,
) -> Result<v1::GetSurveyResponse, ServiceError> {
    app.database
        .read(request, |tx, request| {
            Box::pin(async move {
                let survey = table::newest_survey(tx, &request.shop_id, &request.bay_id).await?;
                if survey.is_none() {
                    let bay = &request.bay_id;
                    return Err(not_there(tx, &request.shop_id, "survey of bay", bay).await);
                }
                Ok(v1::GetSurveyResponse { survey })
            })
        })
        .await
}
