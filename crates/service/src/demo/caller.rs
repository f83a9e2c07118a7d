//! The demonstration's side of the socket: each call of the contract that it makes, with a request
//! id of its own.

use super::{DemoError, SHOP_ID};
use baywright_api::v1::{
    self, fit_service_client::FitServiceClient, job_service_client::JobServiceClient,
    plan_service_client::PlanServiceClient, shop_service_client::ShopServiceClient,
    survey_service_client::SurveyServiceClient,
};
use std::net::SocketAddr;
use tonic::{
    Code, Response, Status,
    transport::{Channel, Endpoint},
};
use uuid::Uuid;

/// Who acts in the demonstration, as the audit trail shows it.
const ACTOR: &str = "demo";

/// The most pages that are read of one list.
const PAGES_MAX: usize = 20;

/// A connection to the service.
#[derive(Debug)]
pub(super) struct Caller(Channel);

impl Caller {
    /// Connects to the address.
    pub(super) async fn connect(address: SocketAddr) -> Result<Self, DemoError> {
        let endpoint = Endpoint::from_shared(format!("http://{address}"))?;
        Ok(Self(endpoint.connect().await?))
    }

    fn channel(&self) -> Channel {
        self.0.clone()
    }

    /// Whether the service has a shop of that name.
    pub(super) async fn knows_shop(&self, shop_id: &str) -> Result<bool, DemoError> {
        let request = v1::GetShopRequest { shop_id: shop_id.to_owned() };
        match ShopServiceClient::new(self.channel()).get_shop(request).await {
            Err(status) if status.code() == Code::NotFound => Ok(false),
            answer => answered("reading the shop", answer).map(|_| true),
        }
    }

    pub(super) async fn apply_shop(&self, definition: v1::ShopDefinition) -> Result<(), DemoError> {
        let request = v1::ApplyShopRequest {
            definition: Some(definition),
            validate_only: false,
            request_id: request_id(),
            actor: actor(),
        };
        let answer = ShopServiceClient::new(self.channel()).apply_shop(request).await;
        answered("applying the shop", answer).map(drop)
    }

    pub(super) async fn record_survey(&self, survey: v1::Survey) -> Result<(), DemoError> {
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

    pub(super) async fn submit_estimate(&self, estimate: v1::Estimate) -> Result<(), DemoError> {
        let what = format!("the estimate of job {}", estimate.job_id);
        let request = v1::SubmitEstimateRequest {
            shop_id: shop_id(),
            estimate: Some(estimate),
            request_id: request_id(),
            actor: actor(),
            validate_only: false,
        };
        let answer = JobServiceClient::new(self.channel()).submit_estimate(request).await;
        answered(&what, answer).map(drop)
    }

    /// Accepts the named tasks; all that are proposed where none is named.
    pub(super) async fn accept(&self, job_id: &str, tasks: &[&str]) -> Result<(), DemoError> {
        let request = v1::DecideTasksRequest {
            shop_id: shop_id(),
            job_id: job_id.to_owned(),
            accept_task_ids: tasks.iter().map(|&task| task.to_owned()).collect(),
            accept_all: tasks.is_empty(),
            request_id: request_id(),
            actor: actor(),
            ..v1::DecideTasksRequest::default()
        };
        let answer = JobServiceClient::new(self.channel()).decide_tasks(request).await;
        answered(&format!("accepting tasks of job {job_id}"), answer).map(drop)
    }

    pub(super) async fn sign_off(
        &self,
        job_id: &str,
        prerequisite_id: &str,
        evidence: &str,
    ) -> Result<(), DemoError> {
        let request = v1::SignOffPrerequisiteRequest {
            shop_id: shop_id(),
            job_id: job_id.to_owned(),
            prerequisite_id: prerequisite_id.to_owned(),
            evidence: evidence.to_owned(),
            request_id: request_id(),
            actor: actor(),
            ..v1::SignOffPrerequisiteRequest::default()
        };
        let answer = JobServiceClient::new(self.channel()).sign_off_prerequisite(request).await;
        answered(&format!("signing off {prerequisite_id} of job {job_id}"), answer).map(drop)
    }

    /// Notes that a prerequisite is not met yet, and when it is expected.
    pub(super) async fn expect_prerequisite(
        &self,
        job_id: &str,
        prerequisite_id: &str,
        state: v1::PrerequisiteState,
        expected: prost_types::Timestamp,
    ) -> Result<(), DemoError> {
        let request = v1::UpdatePrerequisiteRequest {
            shop_id: shop_id(),
            job_id: job_id.to_owned(),
            prerequisite_id: prerequisite_id.to_owned(),
            state: state.into(),
            expected_time: Some(expected),
            request_id: request_id(),
            actor: actor(),
            ..v1::UpdatePrerequisiteRequest::default()
        };
        let answer = JobServiceClient::new(self.channel()).update_prerequisite(request).await;
        answered(&format!("noting {prerequisite_id} of job {job_id}"), answer).map(drop)
    }

    pub(super) async fn record_arrival(&self, job_id: &str, spot: &str) -> Result<(), DemoError> {
        let request = v1::RecordArrivalRequest {
            shop_id: shop_id(),
            job_id: job_id.to_owned(),
            spot_id: spot.to_owned(),
            request_id: request_id(),
            actor: actor(),
            ..v1::RecordArrivalRequest::default()
        };
        let answer = JobServiceClient::new(self.channel()).record_arrival(request).await;
        answered(&format!("the arrival of job {job_id}"), answer).map(drop)
    }

    pub(super) async fn shop(&self) -> Result<v1::ShopDefinition, DemoError> {
        let request = v1::GetShopRequest { shop_id: shop_id() };
        let answer = ShopServiceClient::new(self.channel()).get_shop(request).await;
        Ok(answered("reading the shop", answer)?.definition.unwrap_or_default())
    }

    pub(super) async fn jobs(&self) -> Result<Vec<v1::Job>, DemoError> {
        let request = v1::ListJobsRequest { shop_id: shop_id(), ..v1::ListJobsRequest::default() };
        let answer = JobServiceClient::new(self.channel()).list_jobs(request).await;
        Ok(answered("listing the jobs", answer)?.jobs)
    }

    pub(super) async fn fits(&self) -> Result<Vec<v1::Fit>, DemoError> {
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

    pub(super) async fn plan(&self) -> Result<v1::Plan, DemoError> {
        let request = v1::MakePlanRequest {
            shop_id: shop_id(),
            request_id: request_id(),
            actor: actor(),
            ..v1::MakePlanRequest::default()
        };
        let answer = PlanServiceClient::new(self.channel()).make_plan(request).await;
        Ok(answered("planning the day", answer)?.plan.unwrap_or_default())
    }
}

fn answered<T>(what: &str, answer: Result<Response<T>, Status>) -> Result<T, DemoError> {
    answer.map(Response::into_inner).map_err(|status| DemoError::Refused {
        what: what.to_owned(),
        sentence: status.message().to_owned(),
    })
}

fn shop_id() -> String {
    SHOP_ID.to_owned()
}

fn actor() -> String {
    ACTOR.to_owned()
}

fn request_id() -> String {
    Uuid::now_v7().to_string()
}
