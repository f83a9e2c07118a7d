//! Somebody who calls the service, and the usual steps.

use super::{
    calls::Request,
    shop::{SHOP, adhesive, survey},
};
use baywright_api::v1::{self, plan_service_client::PlanServiceClient};
use tonic::{Status, Streaming, transport::Channel};
use uuid::Uuid;

/// Who acts where a person is asked for.
const ACTOR: &str = "Mia (invented)";

/// Somebody who calls the service.
#[derive(Debug, Clone)]
pub struct Caller {
    channel: Channel,
}

/// The request id of a new request.
pub fn new_request_id() -> String {
    Uuid::new_v4().to_string()
}

/// The holder's word for a holding.
pub fn key_of(holding: &v1::Holding) -> v1::HoldingKey {
    v1::HoldingKey {
        job_id: holding.job_id.clone(),
        task_id: holding.task_id.clone(),
        technician_id: holding.technician_id.clone(),
        fence: holding.fence,
    }
}

/// A yes to every check of a holding.
pub fn yes_to_all(holding: &v1::Holding) -> Vec<v1::CheckAnswer> {
    let yes = |check: &v1::AskedCheck| v1::CheckAnswer {
        check_id: check.check_id.clone(),
        met: true,
        evidence: "looked at it".to_owned(),
    };
    holding.start_checks.iter().map(yes).collect()
}

fn shop() -> String {
    SHOP.to_owned()
}

fn actor() -> String {
    ACTOR.to_owned()
}

impl Caller {
    pub(super) fn new(channel: Channel) -> Self {
        Self { channel }
    }

    /// Sends any request.
    pub async fn send<R: Request>(&self, request: R) -> Result<R::Reply, Status> {
        request.send(self.channel.clone()).await
    }

    /// Applies a definition and records a survey of each of its bays.
    pub async fn set_up(&self, definition: v1::ShopDefinition) {
        let bays = definition.bays.clone();
        self.apply(definition).await.unwrap();
        for bay in &bays {
            self.record_survey(survey(bay)).await.unwrap();
        }
    }

    /// Applies a definition.
    pub async fn apply(
        &self,
        definition: v1::ShopDefinition,
    ) -> Result<v1::ApplyShopResponse, Status> {
        self.send(v1::ApplyShopRequest {
            definition: Some(definition),
            validate_only: false,
            request_id: new_request_id(),
            actor: actor(),
        })
        .await
    }

    /// Records a survey.
    pub async fn record_survey(
        &self,
        survey: v1::Survey,
    ) -> Result<v1::RecordSurveyResponse, Status> {
        self.send(v1::RecordSurveyRequest {
            shop_id: shop(),
            survey: Some(survey),
            request_id: new_request_id(),
            actor: actor(),
        })
        .await
    }

    /// Sends an estimate.
    pub async fn submit(&self, estimate: v1::Estimate) -> Result<v1::Job, Status> {
        let request = v1::SubmitEstimateRequest {
            shop_id: shop(),
            estimate: Some(estimate),
            request_id: new_request_id(),
            actor: actor(),
            ..v1::SubmitEstimateRequest::default()
        };
        Ok(self.send(request).await?.job.unwrap())
    }

    /// Accepts every task that is proposed.
    pub async fn accept_all(&self, job_id: &str) -> Result<v1::Job, Status> {
        let request = v1::DecideTasksRequest {
            shop_id: shop(),
            job_id: job_id.to_owned(),
            accept_all: true,
            request_id: new_request_id(),
            actor: actor(),
            ..v1::DecideTasksRequest::default()
        };
        Ok(self.send(request).await?.job.unwrap())
    }

    /// Signs off a prerequisite.
    pub async fn sign_off(&self, job_id: &str, prerequisite_id: &str) -> Result<v1::Job, Status> {
        let request = v1::SignOffPrerequisiteRequest {
            shop_id: shop(),
            job_id: job_id.to_owned(),
            prerequisite_id: prerequisite_id.to_owned(),
            evidence: "seen".to_owned(),
            until_time: None,
            request_id: new_request_id(),
            actor: actor(),
            etag: String::new(),
        };
        Ok(self.send(request).await?.job.unwrap())
    }

    /// Records that the vehicle has come and stands in the yard.
    pub async fn arrive(&self, job_id: &str) -> Result<v1::Job, Status> {
        let request = v1::RecordArrivalRequest {
            shop_id: shop(),
            job_id: job_id.to_owned(),
            spot_id: "yard".to_owned(),
            request_id: new_request_id(),
            actor: actor(),
            ..v1::RecordArrivalRequest::default()
        };
        Ok(self.send(request).await?.job.unwrap())
    }

    /// Sends an estimate, accepts what it calls for, signs off what is asked ahead, and records the
    /// arrival.
    pub async fn bring_in(&self, estimate: v1::Estimate) -> v1::Job {
        let job_id = estimate.job_id.clone();
        self.submit(estimate).await.unwrap();
        let job = self.accept_all(&job_id).await.unwrap();
        for prerequisite in &job.prerequisites {
            if prerequisite.asked() == v1::AskedWhen::Ahead
                && prerequisite.provided_by_task_id.is_empty()
            {
                self.sign_off(&job_id, &prerequisite.prerequisite_id).await.unwrap();
            }
        }
        self.arrive(&job_id).await.unwrap()
    }

    /// Records that the vehicle was moved to the yard.
    pub async fn move_out(&self, job_id: &str) -> Result<v1::Job, Status> {
        let request = v1::MoveVehicleRequest {
            shop_id: shop(),
            job_id: job_id.to_owned(),
            spot_id: "yard".to_owned(),
            request_id: new_request_id(),
            actor: actor(),
            ..v1::MoveVehicleRequest::default()
        };
        Ok(self.send(request).await?.job.unwrap())
    }

    /// Plans the shop.
    pub async fn plan(&self) -> Result<v1::Plan, Status> {
        let request = v1::MakePlanRequest {
            shop_id: shop(),
            days: 1,
            seed: 1,
            epochs: 2,
            request_id: new_request_id(),
            actor: actor(),
        };
        Ok(self.send(request).await?.plan.unwrap())
    }

    /// The newest revision of the plan.
    pub async fn newest_plan(&self) -> v1::Plan {
        let request = v1::GetPlanRequest { shop_id: shop(), ..v1::GetPlanRequest::default() };
        self.send(request).await.unwrap().plan.unwrap()
    }

    /// Plans the shop, telling how the search stands.
    pub async fn plan_with_progress(
        &self,
        epochs: u64,
    ) -> Result<Streaming<v1::MakePlanWithProgressResponse>, Status> {
        let request = v1::MakePlanWithProgressRequest {
            shop_id: shop(),
            days: 1,
            seed: 1,
            epochs,
            seconds: 0,
            request_id: new_request_id(),
            actor: actor(),
        };
        Ok(self.plan_client().make_plan_with_progress(request).await?.into_inner())
    }

    /// A client for plans.
    pub fn plan_client(&self) -> PlanServiceClient<Channel> {
        PlanServiceClient::new(self.channel.clone())
    }

    /// Pulls the next task.
    pub async fn pull(&self, technician_id: &str) -> Result<v1::Holding, Status> {
        let request = v1::PullTaskRequest {
            shop_id: shop(),
            technician_id: technician_id.to_owned(),
            request_id: new_request_id(),
        };
        Ok(self.send(request).await?.holding.unwrap())
    }

    /// Starts a held task with a yes to every check.
    pub async fn begin(&self, holding: &v1::Holding) -> Result<v1::Holding, Status> {
        let request = v1::StartTaskRequest {
            shop_id: shop(),
            holding: Some(key_of(holding)),
            answers: yes_to_all(holding),
            request_id: new_request_id(),
        };
        Ok(self.send(request).await?.holding.unwrap())
    }

    /// The request that finishes a running task; glass was set when it was begun.
    pub fn finish_request(holding: &v1::Holding) -> v1::FinishTaskRequest {
        let glass = holding.task_id == "glass";
        v1::FinishTaskRequest {
            shop_id: shop(),
            holding: Some(key_of(holding)),
            note: String::new(),
            codes: Vec::new(),
            adhesive: glass.then(|| adhesive(holding.started_time.or(holding.pulled_time))),
            request_id: new_request_id(),
        }
    }

    /// Finishes a running task; glass was set when it was begun.
    pub async fn finish(&self, holding: &v1::Holding) -> Result<v1::ConditionsRecord, Status> {
        Ok(self.send(Self::finish_request(holding)).await?.record.unwrap())
    }

    /// Fails a running task.
    pub async fn fail(
        &self,
        holding: &v1::Holding,
        cause: v1::FailureCause,
        prerequisite_id: &str,
    ) -> Result<v1::ConditionsRecord, Status> {
        let request = v1::FailTaskRequest {
            shop_id: shop(),
            holding: Some(key_of(holding)),
            cause: cause.into(),
            note: "it did not come right".to_owned(),
            prerequisite_id: prerequisite_id.to_owned(),
            codes: Vec::new(),
            request_id: new_request_id(),
        };
        Ok(self.send(request).await?.record.unwrap())
    }

    /// Puts a task back.
    pub async fn put_back(&self, holding: &v1::Holding) -> Result<v1::ConditionsRecord, Status> {
        let request = v1::PutBackTaskRequest {
            shop_id: shop(),
            holding: Some(key_of(holding)),
            note: "called away".to_owned(),
            request_id: new_request_id(),
        };
        Ok(self.send(request).await?.record.unwrap())
    }

    /// Opens a failed task again.
    pub async fn redo(
        &self,
        job_id: &str,
        task_id: &str,
        clear_doubt: bool,
    ) -> Result<v1::Job, Status> {
        let request = v1::RedoTaskRequest {
            shop_id: shop(),
            job_id: job_id.to_owned(),
            task_id: task_id.to_owned(),
            reason: "put right".to_owned(),
            clear_doubt,
            request_id: new_request_id(),
            actor: actor(),
            ..v1::RedoTaskRequest::default()
        };
        Ok(self.send(request).await?.job.unwrap())
    }

    /// Pulls, begins and finishes until nothing is ready for any of the technicians; the records in
    /// the order in which they were kept.
    pub async fn work_off(&self, technicians: &[&str]) -> Vec<v1::ConditionsRecord> {
        let mut records = Vec::new();
        loop {
            let before = records.len();
            for technician in technicians {
                let Ok(held) = self.pull(technician).await else { continue };
                let running = self.begin(&held).await.unwrap();
                records.push(self.finish(&running).await.unwrap());
            }
            if records.len() == before {
                return records;
            }
        }
    }

    /// A job.
    pub async fn job(&self, job_id: &str) -> v1::Job {
        let request = v1::GetJobRequest { shop_id: shop(), job_id: job_id.to_owned() };
        self.send(request).await.unwrap().job.unwrap()
    }

    /// Every job, whatever its state; the tests have less than a page of them.
    pub async fn jobs(&self) -> Vec<v1::Job> {
        let states = [
            v1::JobState::Expected,
            v1::JobState::OnSite,
            v1::JobState::HandedBack,
            v1::JobState::Cancelled,
        ];
        let request = v1::ListJobsRequest {
            shop_id: shop(),
            states: states.map(Into::into).to_vec(),
            page_size: 200,
            page_token: String::new(),
        };
        self.send(request).await.unwrap().jobs
    }

    /// Everything that is held.
    pub async fn holdings(&self) -> Vec<v1::Holding> {
        let request = v1::ListHoldingsRequest { shop_id: shop(), technician_id: String::new() };
        self.send(request).await.unwrap().holdings
    }

    /// The records of a job.
    pub async fn records(&self, job_id: &str) -> Vec<v1::ConditionsRecord> {
        let request = v1::ListConditionsRecordsRequest {
            shop_id: shop(),
            job_id: job_id.to_owned(),
            task_id: String::new(),
            page_size: 200,
            page_token: String::new(),
        };
        self.send(request).await.unwrap().records
    }

    /// Everything that stands against a hand-back.
    pub async fn hand_back_reasons(&self, job_id: &str) -> Vec<v1::HandBackReason> {
        let request = v1::CheckHandBackRequest { shop_id: shop(), job_id: job_id.to_owned() };
        let answer = self.send(request).await.unwrap();
        assert_eq!(answer.allowed, answer.reasons.is_empty());
        answer.reasons
    }

    /// Hands the vehicle back, with exceptions for these reasons.
    pub async fn hand_back(&self, job_id: &str, except: &[&str]) -> Result<v1::Job, Status> {
        let exception = |key: &&str| v1::HandBackException {
            reason_key: (*key).to_owned(),
            manager: "Noa (invented)".to_owned(),
            reason: "agreed with the customer".to_owned(),
            recorded_time: None,
        };
        let request = v1::HandBackVehicleRequest {
            shop_id: shop(),
            job_id: job_id.to_owned(),
            exceptions: except.iter().map(exception).collect(),
            request_id: new_request_id(),
            actor: actor(),
            etag: String::new(),
        };
        Ok(self.send(request).await?.job.unwrap())
    }
}
