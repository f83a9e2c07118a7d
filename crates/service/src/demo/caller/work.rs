//! The technicians' work, and the hand-back.

use super::{Caller, actor, answered, request_id, shop_id};
use crate::demo::DemoError;
use baywright_api::{
    time::timestamp,
    v1::{
        self, hand_back_service_client::HandBackServiceClient,
        work_service_client::WorkServiceClient,
    },
};
use chrono::{DateTime, Utc};
use tonic::{Response, Status, transport::Channel};

/// What was seen where a start check is answered.
const SEEN: &str = "seen at the vehicle (invented)";

impl Caller {
    fn work_service(&self) -> WorkServiceClient<Channel> {
        WorkServiceClient::new(self.channel())
    }

    /// The next task of a technician, or the refusal.
    pub(in crate::demo) async fn pull(&self, technician: &str) -> Result<v1::Holding, Status> {
        let request = v1::PullTaskRequest {
            shop_id: shop_id(),
            technician_id: technician.to_owned(),
            request_id: request_id(),
        };
        let answer = self.work_service().pull_task(request).await?;
        Ok(answer.into_inner().holding.unwrap_or_default())
    }

    /// Starts a task, every check answered with yes.
    pub(in crate::demo) async fn start(
        &self,
        holding: &v1::Holding,
    ) -> Result<v1::Holding, DemoError> {
        let answers = holding.start_checks.iter().map(|check| v1::CheckAnswer {
            check_id: check.check_id.clone(),
            met: true,
            evidence: SEEN.to_owned(),
        });
        let request = v1::StartTaskRequest {
            shop_id: shop_id(),
            holding: Some(key(holding)),
            answers: answers.collect(),
            request_id: request_id(),
        };
        let answer = self.work_service().start_task(request).await;
        Ok(answered(&about("starting", holding), answer)?.holding.unwrap_or_default())
    }

    pub(in crate::demo) async fn pause(
        &self,
        holding: &v1::Holding,
        note: &str,
    ) -> Result<(), DemoError> {
        let request = v1::PauseTaskRequest {
            shop_id: shop_id(),
            holding: Some(key(holding)),
            note: note.to_owned(),
            request_id: request_id(),
        };
        let answer = self.work_service().pause_task(request).await;
        answered(&about("pausing", holding), answer).map(drop)
    }

    pub(in crate::demo) async fn resume(&self, holding: &v1::Holding) -> Result<(), DemoError> {
        let request = v1::ResumeTaskRequest {
            shop_id: shop_id(),
            holding: Some(key(holding)),
            request_id: request_id(),
        };
        let answer = self.work_service().resume_task(request).await;
        answered(&about("resuming", holding), answer).map(drop)
    }

    /// Finishes a task as passed at `now`; of glass with what is on the adhesive's package, of scans
    /// with the `codes` that were found.
    pub(in crate::demo) async fn finish(
        &self,
        holding: &v1::Holding,
        codes: Vec<v1::FoundCode>,
        now: DateTime<Utc>,
    ) -> Result<v1::ConditionsRecord, DemoError> {
        let request = v1::FinishTaskRequest {
            shop_id: shop_id(),
            holding: Some(key(holding)),
            note: "done as the sheet says (invented)".to_owned(),
            codes,
            adhesive: (holding.task_id == "glass").then(|| adhesive_set(now)),
            request_id: request_id(),
        };
        let answer = self.work_service().finish_task(request).await;
        Ok(answered(&about("finishing", holding), answer)?.record.unwrap_or_default())
    }

    pub(in crate::demo) async fn fail(
        &self,
        holding: &v1::Holding,
        cause: v1::FailureCause,
        note: &str,
    ) -> Result<v1::ConditionsRecord, DemoError> {
        let request = v1::FailTaskRequest {
            shop_id: shop_id(),
            holding: Some(key(holding)),
            cause: cause.into(),
            note: note.to_owned(),
            request_id: request_id(),
            ..v1::FailTaskRequest::default()
        };
        let answer = self.work_service().fail_task(request).await;
        Ok(answered(&about("failing", holding), answer)?.record.unwrap_or_default())
    }

    /// Allows a new attempt at a failed task, and clears the doubt that the failure left.
    pub(in crate::demo) async fn redo(
        &self,
        (job_id, task_id): (&str, &str),
        reason: &str,
    ) -> Result<v1::Job, DemoError> {
        let request = v1::RedoTaskRequest {
            shop_id: shop_id(),
            job_id: job_id.to_owned(),
            task_id: task_id.to_owned(),
            reason: reason.to_owned(),
            clear_doubt: true,
            request_id: request_id(),
            actor: actor(),
            etag: String::new(),
        };
        let answer = self.work_service().redo_task(request).await;
        let what = format!("allowing a new attempt at {job_id}/{task_id}");
        Ok(answered(&what, answer)?.job.unwrap_or_default())
    }

    pub(in crate::demo) async fn holdings(&self) -> Result<Vec<v1::Holding>, DemoError> {
        let request = v1::ListHoldingsRequest { shop_id: shop_id(), technician_id: String::new() };
        let answer = self.work_service().list_holdings(request).await;
        Ok(answered("listing what is held", answer)?.holdings)
    }

    pub(in crate::demo) async fn check_hand_back(
        &self,
        job_id: &str,
    ) -> Result<v1::CheckHandBackResponse, DemoError> {
        let request = v1::CheckHandBackRequest { shop_id: shop_id(), job_id: job_id.to_owned() };
        let answer = HandBackServiceClient::new(self.channel()).check_hand_back(request).await;
        answered(&format!("asking whether job {job_id} may leave"), answer)
    }

    /// Hands a vehicle back, with the exceptions that a manager records, or gives the refusal.
    pub(in crate::demo) async fn hand_back(
        &self,
        job_id: &str,
        exceptions: Vec<v1::HandBackException>,
    ) -> Result<v1::Job, Status> {
        let request = v1::HandBackVehicleRequest {
            shop_id: shop_id(),
            job_id: job_id.to_owned(),
            exceptions,
            request_id: request_id(),
            actor: actor(),
            etag: String::new(),
        };
        let answer = HandBackServiceClient::new(self.channel()).hand_back_vehicle(request).await;
        Ok(answer.map(Response::into_inner)?.job.unwrap_or_default())
    }
}

/// What is recorded when glass is set at `now`; every figure is invented.
pub(in crate::demo) fn adhesive_set(now: DateTime<Utc>) -> v1::Adhesive {
    v1::Adhesive {
        product: "demo adhesive (invented)".to_owned(),
        set_time: Some(timestamp(now)),
        temperature_c: 19.0,
        humidity_percent: 55.0,
        cure: Some(v1::CureMinutes {
            moved_minutes: 30,
            calibrated_minutes: 60,
            driven_minutes: 90,
        }),
        document: "Demo adhesive sheet (invented)".to_owned(),
        task_id: String::new(),
    }
}

fn key(holding: &v1::Holding) -> v1::HoldingKey {
    v1::HoldingKey {
        job_id: holding.job_id.clone(),
        task_id: holding.task_id.clone(),
        technician_id: holding.technician_id.clone(),
        fence: holding.fence,
    }
}

fn about(doing: &str, holding: &v1::Holding) -> String {
    format!("{doing} {}/{}", holding.job_id, holding.task_id)
}
