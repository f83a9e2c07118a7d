//! `export`: writes what the service holds as the file that says the same.
//!
//! Of a plan, its problem and the plan come as they were kept. Any other text is read back before it is written: a file that says something else than the service is
//! never given out.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::output;
use crate::session::Session;
use baywright_api::v1::plan_service_client::PlanServiceClient;
use baywright_api::v1::shop_service_client::ShopServiceClient;
use baywright_api::v1::survey_service_client::SurveyServiceClient;
use baywright_api::v1::{
    GetPlanRequest, GetPlanResponse, GetShopRequest, GetSurveyRequest, ShopDefinition, Survey,
};
use baywright_files::{shop_file, survey_file};
use clap::Args;
use std::path::PathBuf;

/// Write the shop file, a survey, or a plan or its problem, as the service holds it.
///
/// The file is one that `apply`, `survey` or `solve` takes. It is written beside its place and then put
/// there whole. Remarks of the file that was applied are not kept. `solve` with the seed, threads and
/// epochs of a plan gives the plan's file again, byte for byte, from its problem's.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo export shop-now.toml")]
pub(crate) struct Export {
    /// Where the file is written; without it, standard output.
    file: Option<PathBuf>,
    /// Write the newest survey of this bay (CSV) instead of the shop file (TOML).
    #[arg(long, value_name = "BAY")]
    survey: Option<String>,
    /// Write the problem of this revision of the plan (JSON, planning-problem/1); without a number, of the
    /// newest.
    #[arg(
        long,
        value_name = "REVISION",
        num_args = 0..=1,
        require_equals = true,
        default_missing_value = "0",
        conflicts_with_all = ["survey", "plan"]
    )]
    problem: Option<u32>,
    /// Write this revision of the plan (JSON, planning-plan/1); without a number, the newest.
    #[arg(
        long,
        value_name = "REVISION",
        num_args = 0..=1,
        require_equals = true,
        default_missing_value = "0",
        conflicts_with = "survey"
    )]
    plan: Option<u32>,
}

/// The longest reply that the service gives, bytes.
const REPLY_BYTES_MAX: usize = 16 << 20;

impl Export {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let (what, text) = if let Some(bay) = &self.survey {
            (format!("The newest survey of {bay}"), survey(session, bay).await?)
        } else if let Some(revision) = self.problem {
            let reply = plan_files(session, revision).await?;
            (format!("The problem of {}", search_of(&reply)), reply.problem_file)
        } else if let Some(revision) = self.plan {
            let reply = plan_files(session, revision).await?;
            (format!("The plan of {}", search_of(&reply)), reply.plan_file)
        } else {
            (format!("Shop {}", session.shop()?), shop(session).await?)
        };
        let Some(file) = &self.file else { return answer::write(&text) };
        output::write_whole(file, &text)?;
        answer::write(&format!("{what} is written to {}.", file.display()))
    }
}

/// A revision of the plan with its files.
async fn plan_files(session: &Session, revision: u32) -> Result<GetPlanResponse, Failure> {
    let request = GetPlanRequest { shop_id: session.shop()?, revision, with_files: true };
    session
        .call(request, async |channel, request| {
            let client = PlanServiceClient::new(channel);
            client.max_decoding_message_size(REPLY_BYTES_MAX).get_plan(request).await
        })
        .await
}

/// Which revision it is, with what `solve` has to be given to make it again.
fn search_of(reply: &GetPlanResponse) -> String {
    let plan = reply.plan.clone().unwrap_or_default();
    format!(
        "revision {} (--seed {} --threads {} --epochs {})",
        plan.revision, plan.seed, plan.threads, plan.epochs
    )
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
