//! `export`: writes what the service holds as the file that says the same.
//!
//! The text is read back before it is written: a file that says something else than the service is
//! never given out.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::output;
use crate::session::Session;
use baywright_api::v1::shop_service_client::ShopServiceClient;
use baywright_api::v1::survey_service_client::SurveyServiceClient;
use baywright_api::v1::{GetShopRequest, GetSurveyRequest, ShopDefinition, Survey};
use baywright_files::{shop_file, survey_file};
use clap::Args;
use std::path::PathBuf;

/// Write the shop file, or the newest survey of a bay, as the service holds it.
///
/// The file is one that `apply` or `survey` takes. It is written beside its place and then put there
/// whole. Remarks of the file that was applied are not kept.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo export shop-now.toml")]
pub(crate) struct Export {
    /// Where the file is written; without it, standard output.
    file: Option<PathBuf>,
    /// Write the newest survey of this bay (CSV) instead of the shop file (TOML).
    #[arg(long, value_name = "BAY")]
    survey: Option<String>,
}

impl Export {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let (what, text) = match &self.survey {
            Some(bay) => (format!("The newest survey of {bay}"), survey(session, bay).await?),
            None => (format!("Shop {}", session.shop()?), shop(session).await?),
        };
        let Some(file) = &self.file else { return answer::write(&text) };
        output::write_whole(file, &text)?;
        answer::write(&format!("{what} is written to {}.", file.display()))
    }
}

async fn shop(session: &Session) -> Result<String, Failure> {
    let request = GetShopRequest { shop_id: session.shop()? };
    let reply = session
        .call(request, async |channel, request| {
            ShopServiceClient::new(channel).get_shop(request).await
        })
        .await?;
    if session.json {
        return json::text("GetShopResponse", &reply);
    }
    shop_text(&reply.definition.unwrap_or_default())
}

fn shop_text(definition: &ShopDefinition) -> Result<String, Failure> {
    let text = shop_file::write(definition);
    match shop_file::parse(&text) {
        Ok(read) if read == *definition => Ok(text),
        Ok(_) => Err(not_said("the shop")),
        Err(faults) => Err(not_said(&first_fault(&faults))),
    }
}

async fn survey(session: &Session, bay: &str) -> Result<String, Failure> {
    let request = GetSurveyRequest { shop_id: session.shop()?, bay_id: bay.to_owned() };
    let reply = session
        .call(request, async |channel, request| {
            SurveyServiceClient::new(channel).get_survey(request).await
        })
        .await?;
    if session.json {
        return json::text("GetSurveyResponse", &reply);
    }
    survey_text(&reply.survey.unwrap_or_default())
}

fn survey_text(survey: &Survey) -> Result<String, Failure> {
    let text = survey_file::write(survey);
    match survey_file::parse(&text, &survey.bay_id) {
        // A file must name a datum; the stand-in of a survey without one is no difference.
        Ok(read) if Survey { datum: survey.datum.clone(), ..read.clone() } == *survey => Ok(text),
        Ok(_) => Err(not_said("the survey")),
        Err(faults) => Err(not_said(&first_fault(&faults))),
    }
}

fn first_fault(faults: &baywright_files::FileFaults) -> String {
    faults.list().first().map_or("the whole", |fault| &fault.fault().field).to_owned()
}

fn not_said(what: &str) -> Failure {
    Failure::Reply(format!("{what} holds what no file of this version can say; use --json"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_api::v1::{HoursException, LocalSpan, Shop, WeeklyHours};

    #[test]
    fn what_no_file_can_say_is_refused_rather_than_written_otherwise() {
        // A span of 30 hours: the contract allows it, hours as text cannot say it.
        let spans = vec![LocalSpan { from_minute: 0, to_minute: 1_800 }];
        let exception = HoursException { date: "2026-06-10".to_owned(), spans };
        let mut shop = Shop {
            shop_id: "s".to_owned(),
            title: "S".to_owned(),
            time_zone: "Etc/UTC".to_owned(),
            hours: Some(WeeklyHours::default()),
            ..Shop::default()
        };
        let of = |shop: &Shop| ShopDefinition { shop: Some(shop.clone()), ..Default::default() };
        assert!(shop_text(&of(&shop)).is_ok());

        shop.exceptions.push(exception);

        assert_eq!(shop_text(&of(&shop)).unwrap_err().exit_code(), 1);
        assert!(survey_text(&Survey::default()).is_err());
    }
}
