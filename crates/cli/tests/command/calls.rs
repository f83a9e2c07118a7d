//! The talk with a service: repeats carry the same request id, refusals are shown whole.
//!
//! The service here is a stand-in that answers by script; what it keeps is what it was asked.

use super::{Run, baywright, demo};
use baywright_api::v1::survey_service_server::{SurveyService, SurveyServiceServer};
use baywright_api::v1::{
    GetSurveyRequest, GetSurveyResponse, RecordSurveyRequest, RecordSurveyResponse,
};
use std::collections::HashMap;
use std::sync::{Arc, Mutex};
use tokio::net::TcpListener;
use tokio_stream::wrappers::TcpListenerStream;
use tonic::transport::Server;
use tonic::{Code, Request, Response, Status};
use tonic_types::{ErrorDetails, StatusExt as _};

/// Answers the first calls with these refusals, in turn, and every later one with a yes.
struct Scripted {
    refusals: Mutex<Vec<Status>>,
    asked: Arc<Mutex<Vec<RecordSurveyRequest>>>,
}

#[tonic::async_trait]
impl SurveyService for Scripted {
    async fn record_survey(
        &self,
        request: Request<RecordSurveyRequest>,
    ) -> Result<Response<RecordSurveyResponse>, Status> {
        let request = request.into_inner();
        let survey = request.survey.clone();
        self.asked.lock().unwrap().push(request);
        match self.refusals.lock().unwrap().pop() {
            Some(refusal) => Err(refusal),
            None => Ok(Response::new(RecordSurveyResponse { survey })),
        }
    }

    async fn get_survey(
        &self,
        _: Request<GetSurveyRequest>,
    ) -> Result<Response<GetSurveyResponse>, Status> {
        Err(Status::unimplemented("not asked here"))
    }
}

/// Sends the survey of bay 3 to a service that refuses so first; gives the run and what was asked.
fn survey_against(refusals: Vec<Status>, options: &[&str]) -> (Run, Vec<RecordSurveyRequest>) {
    let asked = Arc::new(Mutex::new(Vec::new()));
    let service = Scripted { refusals: Mutex::new(refusals), asked: Arc::clone(&asked) };
    let runtime =
        tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build().unwrap();
    let listener = runtime.block_on(TcpListener::bind("127.0.0.1:0")).unwrap();
    let server = format!("http://{}", listener.local_addr().unwrap());
    runtime.spawn(
        Server::builder()
            .add_service(SurveyServiceServer::new(service))
            .serve_with_incoming(TcpListenerStream::new(listener)),
    );
    let file = demo("survey-bay-3.csv");
    let mut arguments =
        vec!["survey", "bay-3", &file, "--shop", "demo", "--actor", "ruth", "--server", &server];
    arguments.extend(options);
    let run = baywright(&arguments);
    let asked = asked.lock().unwrap().clone();
    (run, asked)
}

fn busy() -> Status {
    let details =
        ErrorDetails::with_error_info("BUSY", "baywright", HashMap::<String, String>::new());
    Status::with_error_details(Code::Unavailable, "the database stayed busy.", details)
}

#[test]
fn an_answer_is_printed_on_standard_output() {
    let (run, asked) = survey_against(Vec::new(), &[]);
    assert_eq!((run.code, run.stderr.as_str()), (0, ""));
    assert_eq!(
        run.stdout,
        "Survey bay-3-2026-05 of bay-3 is recorded: 150 heights, 300 light readings, taken on 2026-05-04, \
         counts until 2027-05-04.\n"
    );
    assert_eq!((asked[0].actor.as_str(), asked[0].shop_id.as_str()), ("ruth", "demo"));
}

#[test]
fn a_busy_service_is_asked_again_with_the_same_request_id() {
    let (run, asked) = survey_against(vec![busy(), Status::unavailable("starting")], &[]);
    assert_eq!(run.code, 0, "{}", run.stderr);
    assert_eq!(asked.len(), 3);
    assert!(asked.iter().all(|request| request.request_id == asked[0].request_id));
    assert_eq!(asked[0].request_id.len(), 36);
}

#[test]
fn repeats_have_an_end() {
    let (run, asked) = survey_against((0..10).map(|_| busy()).collect(), &[]);
    assert_eq!(asked.len(), 4);
    assert_eq!(run.code, 1);
    assert_eq!(
        run.stderr,
        "error: the database stayed busy.\nhint: repeat the call with the same --request-id.\n"
    );
}

#[test]
fn every_invocation_has_its_own_request_id_unless_one_is_given() {
    let ids = [(); 2].map(|()| survey_against(Vec::new(), &[]).1[0].request_id.clone());
    assert_ne!(ids[0], ids[1]);
    let given = "6f3c2a52-8f2b-4c6e-9a07-3f1d2b9e4c11";
    let (_, asked) = survey_against(Vec::new(), &["--request-id", given]);
    assert_eq!(asked[0].request_id, given);
}

#[test]
fn a_refusal_is_not_repeated_and_shows_every_field() {
    let mut details = ErrorDetails::new();
    details.add_bad_request_violation(
        "survey.heights[0]",
        "lies outside of bay-3; measure in floor axes",
    );
    details.set_error_info("INVALID_FIELDS", "baywright", HashMap::<String, String>::new());
    let refusal =
        Status::with_error_details(Code::InvalidArgument, "the survey has 1 fault.", details);
    let (run, asked) = survey_against(vec![refusal], &[]);
    assert_eq!((run.code, asked.len(), run.stdout.as_str()), (1, 1, ""));
    assert_eq!(
        run.stderr,
        "error: the survey has 1 fault.\n  survey.heights[0]: lies outside of bay-3; measure in floor axes\n\
         hint: correct each field named above and send again.\n"
    );
}

#[test]
fn a_reply_can_be_had_as_canonical_json() {
    let (run, _) = survey_against(Vec::new(), &["--json"]);
    assert_eq!(run.code, 0);
    assert!(
        run.stdout.starts_with("{\n  \"survey\": {\n    \"surveyId\": \"bay-3-2026-05\",\n"),
        "{}",
        run.stdout
    );
    assert!(run.stdout.contains("\"plane\": \"LIGHT_PLANE_VERTICAL\""));
}
