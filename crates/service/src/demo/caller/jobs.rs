//! Jobs: estimates, decisions, prerequisites, arrivals, and what is given up or sent out.

use super::{Caller, PAGES_MAX, actor, answered, request_id, shop_id};
use crate::demo::DemoError;
use baywright_api::{
    time::timestamp,
    v1::{
        self, job_service_client::JobServiceClient, offer_service_client::OfferServiceClient,
        task_service_client::TaskServiceClient,
    },
};
use chrono::{DateTime, Utc};

/// To whom a task is sent out, until when, and what was agreed.
#[derive(Debug, Clone, Copy)]
pub(in crate::demo) struct Sent<'a> {
    pub(in crate::demo) party: &'a str,
    pub(in crate::demo) expected: DateTime<Utc>,
    pub(in crate::demo) note: &'a str,
}

impl Caller {
    fn job_service(&self) -> JobServiceClient<tonic::transport::Channel> {
        JobServiceClient::new(self.channel())
    }

    pub(in crate::demo) async fn submit_estimate(
        &self,
        estimate: v1::Estimate,
    ) -> Result<v1::Job, DemoError> {
        let what = format!("the estimate of job {}", estimate.job_id);
        let request = v1::SubmitEstimateRequest {
            shop_id: shop_id(),
            estimate: Some(estimate),
            request_id: request_id(),
            actor: actor(),
            validate_only: false,
        };
        let answer = self.job_service().submit_estimate(request).await;
        Ok(answered(&what, answer)?.job.unwrap_or_default())
    }

    /// Accepts the named tasks; all that are proposed where none is named.
    pub(in crate::demo) async fn accept(
        &self,
        job_id: &str,
        tasks: &[&str],
    ) -> Result<v1::Job, DemoError> {
        let request = v1::DecideTasksRequest {
            accept_task_ids: tasks.iter().map(|&task| task.to_owned()).collect(),
            accept_all: tasks.is_empty(),
            ..v1::DecideTasksRequest::default()
        };
        self.decide(job_id, request).await
    }

    pub(in crate::demo) async fn decline(
        &self,
        job_id: &str,
        tasks: &[&str],
        reason: &str,
    ) -> Result<v1::Job, DemoError> {
        let request = v1::DecideTasksRequest {
            decline_task_ids: tasks.iter().map(|&task| task.to_owned()).collect(),
            reason: reason.to_owned(),
            ..v1::DecideTasksRequest::default()
        };
        self.decide(job_id, request).await
    }

    async fn decide(
        &self,
        job_id: &str,
        request: v1::DecideTasksRequest,
    ) -> Result<v1::Job, DemoError> {
        let request = v1::DecideTasksRequest {
            shop_id: shop_id(),
            job_id: job_id.to_owned(),
            request_id: request_id(),
            actor: actor(),
            ..request
        };
        let answer = self.job_service().decide_tasks(request).await;
        Ok(answered(&format!("deciding on tasks of job {job_id}"), answer)?.job.unwrap_or_default())
    }

    /// Says which procedures an operation calls for that no rule knows.
    pub(in crate::demo) async fn decide_operation(
        &self,
        (job_id, operation_id): (&str, &str),
        procedures: &[&str],
        reason: &str,
    ) -> Result<(), DemoError> {
        let request = v1::DecideOperationRequest {
            shop_id: shop_id(),
            job_id: job_id.to_owned(),
            operation_id: operation_id.to_owned(),
            procedure_ids: procedures.iter().map(|&one| one.to_owned()).collect(),
            reason: reason.to_owned(),
            request_id: request_id(),
            actor: actor(),
            etag: String::new(),
        };
        let answer = self.job_service().decide_operation(request).await;
        answered(&format!("deciding operation {operation_id} of job {job_id}"), answer).map(drop)
    }

    pub(in crate::demo) async fn sign_off(
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
        let answer = self.job_service().sign_off_prerequisite(request).await;
        answered(&format!("signing off {prerequisite_id} of job {job_id}"), answer).map(drop)
    }

    /// Notes that a prerequisite is not met yet, and when it is expected.
    pub(in crate::demo) async fn expect_prerequisite(
        &self,
        job_id: &str,
        prerequisite_id: &str,
        state: v1::PrerequisiteState,
        expected: DateTime<Utc>,
    ) -> Result<(), DemoError> {
        let request = v1::UpdatePrerequisiteRequest {
            shop_id: shop_id(),
            job_id: job_id.to_owned(),
            prerequisite_id: prerequisite_id.to_owned(),
            state: state.into(),
            expected_time: Some(timestamp(expected)),
            request_id: request_id(),
            actor: actor(),
            ..v1::UpdatePrerequisiteRequest::default()
        };
        let answer = self.job_service().update_prerequisite(request).await;
        answered(&format!("noting {prerequisite_id} of job {job_id}"), answer).map(drop)
    }

    pub(in crate::demo) async fn record_arrival(
        &self,
        job_id: &str,
        spot: &str,
        key_tag: &str,
    ) -> Result<(), DemoError> {
        let request = v1::RecordArrivalRequest {
            shop_id: shop_id(),
            job_id: job_id.to_owned(),
            spot_id: spot.to_owned(),
            key_tag: key_tag.to_owned(),
            request_id: request_id(),
            actor: actor(),
            etag: String::new(),
        };
        let answer = self.job_service().record_arrival(request).await;
        answered(&format!("the arrival of job {job_id}"), answer).map(drop)
    }

    /// Moves a vehicle out of its bay.
    pub(in crate::demo) async fn move_vehicle(
        &self,
        job_id: &str,
        spot: &str,
    ) -> Result<(), DemoError> {
        let request = v1::MoveVehicleRequest {
            shop_id: shop_id(),
            job_id: job_id.to_owned(),
            spot_id: spot.to_owned(),
            request_id: request_id(),
            actor: actor(),
            ..v1::MoveVehicleRequest::default()
        };
        let answer = self.job_service().move_vehicle(request).await;
        answered(&format!("moving the vehicle of job {job_id}"), answer).map(drop)
    }

    pub(in crate::demo) async fn outside_glass(
        &self,
        (job_id, operation_id): (&str, &str),
        adhesive: v1::Adhesive,
        evidence: &str,
    ) -> Result<(), DemoError> {
        let request = v1::RecordOutsideWorkRequest {
            shop_id: shop_id(),
            job_id: job_id.to_owned(),
            operation_id: operation_id.to_owned(),
            adhesive: Some(adhesive),
            evidence: evidence.to_owned(),
            request_id: request_id(),
            actor: actor(),
            etag: String::new(),
        };
        let answer = self.job_service().record_outside_work(request).await;
        answered(&format!("the outside work on job {job_id}"), answer).map(drop)
    }

    pub(in crate::demo) async fn cancel_job(
        &self,
        job_id: &str,
        reason: &str,
    ) -> Result<(), DemoError> {
        let request = v1::CancelJobRequest {
            shop_id: shop_id(),
            job_id: job_id.to_owned(),
            reason: reason.to_owned(),
            request_id: request_id(),
            actor: actor(),
            etag: String::new(),
        };
        let answer = self.job_service().cancel_job(request).await;
        answered(&format!("cancelling job {job_id}"), answer).map(drop)
    }

    pub(in crate::demo) async fn cancel_task(
        &self,
        (job_id, task_id): (&str, &str),
        reason: &str,
    ) -> Result<(), DemoError> {
        let request = v1::CancelTaskRequest {
            shop_id: shop_id(),
            job_id: job_id.to_owned(),
            task_id: task_id.to_owned(),
            reason: reason.to_owned(),
            request_id: request_id(),
            actor: actor(),
            etag: String::new(),
        };
        let answer = TaskServiceClient::new(self.channel()).cancel_task(request).await;
        answered(&format!("cancelling task {task_id} of job {job_id}"), answer).map(drop)
    }

    pub(in crate::demo) async fn sublet(
        &self,
        (job_id, task_id): (&str, &str),
        sent: Sent<'_>,
    ) -> Result<(), DemoError> {
        let request = v1::SubletTaskRequest {
            shop_id: shop_id(),
            job_id: job_id.to_owned(),
            task_id: task_id.to_owned(),
            party: sent.party.to_owned(),
            expected_time: Some(timestamp(sent.expected)),
            note: sent.note.to_owned(),
            request_id: request_id(),
            actor: actor(),
            etag: String::new(),
        };
        let answer = TaskServiceClient::new(self.channel()).sublet_task(request).await;
        answered(&format!("sending out task {task_id} of job {job_id}"), answer).map(drop)
    }

    pub(in crate::demo) async fn make_offer(
        &self,
        estimate: v1::Estimate,
    ) -> Result<v1::Offer, DemoError> {
        let what = format!("an offer for {}", estimate.job_id);
        let request = v1::MakeOfferRequest {
            shop_id: shop_id(),
            estimate: Some(estimate),
            request_id: request_id(),
            actor: actor(),
            ..v1::MakeOfferRequest::default()
        };
        let answer = OfferServiceClient::new(self.channel()).make_offer(request).await;
        Ok(answered(&what, answer)?.offer.unwrap_or_default())
    }

    pub(in crate::demo) async fn decline_offer(
        &self,
        offer_id: &str,
        reason: &str,
    ) -> Result<(), DemoError> {
        let request = v1::DeclineOfferRequest {
            shop_id: shop_id(),
            offer_id: offer_id.to_owned(),
            reason: reason.to_owned(),
            request_id: request_id(),
            actor: actor(),
        };
        let answer = OfferServiceClient::new(self.channel()).decline_offer(request).await;
        answered("declining an offer", answer).map(drop)
    }

    pub(in crate::demo) async fn job(&self, job_id: &str) -> Result<v1::Job, DemoError> {
        let request = v1::GetJobRequest { shop_id: shop_id(), job_id: job_id.to_owned() };
        let answer = self.job_service().get_job(request).await;
        Ok(answered(&format!("reading job {job_id}"), answer)?.job.unwrap_or_default())
    }

    /// Every job that is expected or on site, by promise.
    pub(in crate::demo) async fn jobs(&self) -> Result<Vec<v1::Job>, DemoError> {
        let mut request =
            v1::ListJobsRequest { shop_id: shop_id(), ..v1::ListJobsRequest::default() };
        let mut jobs = Vec::new();
        for _ in 0..PAGES_MAX {
            let answer = self.job_service().list_jobs(request.clone()).await;
            let page = answered("listing the jobs", answer)?;
            jobs.extend(page.jobs);
            request.page_token = page.next_page_token;
            if request.page_token.is_empty() {
                break;
            }
        }
        Ok(jobs)
    }
}
