//! Exporting against a stand-in that holds the demo's shop and a survey: the files say the same.

use super::stand_in::{ReadShop, run_against};
use super::{Run, demo};
use baywright_api::v1::shop_service_server::ShopServiceServer;
use baywright_api::v1::survey_service_server::{SurveyService, SurveyServiceServer};
use baywright_api::v1::{
    GetSurveyRequest, GetSurveyResponse, RecordSurveyRequest, RecordSurveyResponse, ShopDefinition,
    Survey,
};
use baywright_files::{shop_file, survey_file};
use std::fs;
use tonic::service::Routes;
use tonic::{Request, Response, Status};

/// What the stand-in holds.
#[derive(Debug, Clone)]
struct Held {
    definition: ShopDefinition,
    survey: Survey,
}

impl Held {
    fn demo() -> Self {
        let text = |name| fs::read_to_string(demo(name)).unwrap();
        let definition = shop_file::parse(&text("shop.toml")).unwrap();
        let survey = survey_file::parse(&text("survey-bay-3.csv"), "bay-3").unwrap();
        Self { definition, survey }
    }
}

#[tonic::async_trait]
impl SurveyService for Held {
    async fn record_survey(
        &self,
        _: Request<RecordSurveyRequest>,
    ) -> Result<Response<RecordSurveyResponse>, Status> {
        Err(Status::unimplemented("not asked here"))
    }

    async fn get_survey(
        &self,
        request: Request<GetSurveyRequest>,
    ) -> Result<Response<GetSurveyResponse>, Status> {
        if request.into_inner().bay_id != self.survey.bay_id {
            return Err(Status::not_found("there is no survey of it."));
        }
        Ok(Response::new(GetSurveyResponse { survey: Some(self.survey.clone()) }))
    }
}

/// Runs `export` with these options against a service that holds so much.
fn export(held: &Held, options: &[&str]) -> Run {
    let shop = ShopServiceServer::new(ReadShop(held.definition.clone()));
    let routes = Routes::new(shop).add_service(SurveyServiceServer::new(held.clone()));
    run_against(routes, &[&["export"], options].concat())
}

#[test]
fn a_shop_is_written_to_a_file_that_says_the_same_and_replaces_an_older_one() {
    let (held, folder) = (Held::demo(), tempfile::tempdir().unwrap());
    let file = folder.path().join("shop.toml");
    fs::write(&file, "older").unwrap();

    let run = export(&held, &[file.to_str().unwrap()]);

    assert_eq!((run.code, run.stderr.as_str()), (0, ""));
    assert_eq!(run.stdout, format!("Shop demo is written to {}.\n", file.display()));
    let written = fs::read_to_string(&file).unwrap();
    assert_eq!(shop_file::parse(&written).unwrap(), held.definition);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "no part is left behind");
}

#[test]
fn a_survey_goes_to_standard_output_and_says_the_same() {
    let held = Held::demo();

    let run = export(&held, &["--survey", "bay-3"]);

    assert_eq!((run.code, run.stderr.as_str()), (0, ""));
    assert_eq!(survey_file::parse(&run.stdout, "bay-3").unwrap(), held.survey);
}

#[test]
fn a_refusal_leaves_the_file_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("survey.csv");
    fs::write(&file, "older").unwrap();

    let run = export(&Held::demo(), &["--survey", "bay-1", file.to_str().unwrap()]);

    assert_eq!((run.code, run.stdout.as_str()), (1, ""));
    assert!(run.stderr.contains("there is no survey of it."), "{}", run.stderr);
    assert_eq!(fs::read_to_string(&file).unwrap(), "older");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "no part is left behind");
}

#[test]
fn what_no_file_can_say_is_refused_and_nothing_is_written() {
    let (mut held, folder) = (Held::demo(), tempfile::tempdir().unwrap());
    held.definition.procedures[0].kind = 77;
    let file = folder.path().join("shop.toml");

    let run = export(&held, &[file.to_str().unwrap()]);

    assert_eq!((run.code, run.stdout.as_str()), (1, ""));
    assert!(run.stderr.contains("procedure[0].kind holds what no file"), "{}", run.stderr);
    assert!(!file.exists());
}
