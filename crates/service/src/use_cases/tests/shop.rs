//! A small shop on a database of its own, with a word for everything that its people do.
#![cfg(test)]

use crate::{
    app::App,
    clock::Clock,
    error::ServiceError,
    storage::{Database, Settings},
    use_cases::{
        arrivals, cancelling, decisions, estimates, hand_back, hand_over, jobs, pull, records,
        shops, sublets, work_end, work_pause, work_start,
    },
};
use baywright_api::{time::timestamp, v1};
use chrono::{DateTime, TimeDelta, Utc};
use std::sync::{
    Arc,
    atomic::{AtomicU64, Ordering},
};
use tempfile::TempDir;

pub(super) const SHOP: &str = "test-shop";
pub(super) const JOB: &str = "J-1";
pub(super) const DEFINITION: &str = include_str!("shop.toml");

/// A Tuesday on which everybody but Eve is on shift.
pub(super) fn morning() -> DateTime<Utc> {
    "2026-05-05T09:00:00Z".parse().unwrap()
}

pub(super) fn minutes_on(minutes: i64) -> prost_types::Timestamp {
    timestamp(morning() + TimeDelta::minutes(minutes))
}

/// A fresh request id.
pub(super) fn request_id() -> String {
    static COUNT: AtomicU64 = AtomicU64::new(1);
    format!("00000000-0000-4000-8000-{:012}", COUNT.fetch_add(1, Ordering::Relaxed))
}

pub(super) struct TestShop {
    pub(super) app: App,
    job_id: String,
    folder: Arc<TempDir>,
}

impl TestShop {
    /// The shop, with nothing in it.
    pub(super) async fn open() -> Self {
        Self::open_as(DEFINITION).await
    }

    /// A shop as a shop file says it.
    pub(super) async fn open_as(definition: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("shop.db");
        let database = Database::open_with(&path, Settings::default()).await.unwrap();
        let app = App::new(database, Clock::beginning_at(morning()));
        let shop = Self { app, job_id: JOB.to_owned(), folder: Arc::new(folder) };
        shop.apply(definition).await;
        shop
    }

    /// Writes the shop down as a file says.
    pub(super) async fn apply(&self, file: &str) {
        let request = v1::ApplyShopRequest {
            definition: Some(baywright_files::shop_file::parse(file).unwrap()),
            request_id: request_id(),
            actor: "desk".to_owned(),
            ..v1::ApplyShopRequest::default()
        };
        shops::apply_shop(&self.app, request).await.unwrap();
    }

    /// The shop with [`JOB`] on site, and what these operations call for accepted.
    pub(super) async fn with(codes: &[&str]) -> Self {
        let shop = Self::open().await;
        shop.estimate(1, codes).await.unwrap();
        shop.decide(true).await.unwrap();
        shop.arrive().await.unwrap();
        shop
    }

    /// The same shop, speaking about another job.
    pub(super) fn about(&self, job_id: &str) -> Self {
        let (app, folder) = (self.app.clone(), Arc::clone(&self.folder));
        Self { app, job_id: job_id.to_owned(), folder }
    }

    pub(super) async fn estimate(
        &self,
        revision: u32,
        codes: &[&str],
    ) -> Result<v1::SubmitEstimateResponse, ServiceError> {
        let sensors = [
            v1::SensorFamily::FrontCamera,
            v1::SensorFamily::FrontRadar,
            v1::SensorFamily::SurroundView,
        ];
        let line = |code: &&str| v1::EstimateLine {
            operation_id: format!("line-{code}"),
            operation_code: (*code).to_owned(),
            text: String::new(),
        };
        let estimate = v1::Estimate {
            job_id: self.job_id.clone(),
            revision,
            account_id: "account-1".to_owned(),
            repair_order: "RO-1".to_owned(),
            vehicle: Some(v1::Vehicle {
                vin: String::new(),
                vehicle_class_id: "compact".to_owned(),
                sensors: sensors.map(Into::into).to_vec(),
            }),
            expected_arrival_time: Some(minutes_on(30)),
            arrival: v1::ArrivalKind::DropOff.into(),
            promise_time: Some(minutes_on(400)),
            lines: codes.iter().map(line).collect(),
            weight: 1,
        };
        let request = v1::SubmitEstimateRequest {
            shop_id: SHOP.to_owned(),
            estimate: Some(estimate),
            request_id: request_id(),
            actor: "desk".to_owned(),
            ..v1::SubmitEstimateRequest::default()
        };
        estimates::submit_estimate(&self.app, request).await
    }

    /// Accepts every proposal, or declines `front-radar`.
    pub(super) async fn decide(
        &self,
        accept: bool,
    ) -> Result<v1::DecideTasksResponse, ServiceError> {
        let decline = if accept { Vec::new() } else { vec!["front-radar".to_owned()] };
        let request = v1::DecideTasksRequest {
            shop_id: SHOP.to_owned(),
            job_id: self.job_id.clone(),
            accept_all: accept,
            decline_task_ids: decline,
            reason: "invented".to_owned(),
            request_id: request_id(),
            actor: "desk".to_owned(),
            ..v1::DecideTasksRequest::default()
        };
        decisions::decide_tasks(&self.app, request).await
    }

    pub(super) async fn accept(&self, task: &str) -> Result<v1::DecideTasksResponse, ServiceError> {
        let request = v1::DecideTasksRequest {
            shop_id: SHOP.to_owned(),
            job_id: self.job_id.clone(),
            accept_task_ids: vec![task.to_owned()],
            request_id: request_id(),
            actor: "desk".to_owned(),
            ..v1::DecideTasksRequest::default()
        };
        decisions::decide_tasks(&self.app, request).await
    }

    pub(super) async fn arrive(&self) -> Result<v1::RecordArrivalResponse, ServiceError> {
        let request = v1::RecordArrivalRequest {
            shop_id: SHOP.to_owned(),
            job_id: self.job_id.clone(),
            request_id: request_id(),
            actor: "desk".to_owned(),
            ..v1::RecordArrivalRequest::default()
        };
        arrivals::record_arrival(&self.app, request).await
    }

    pub(super) async fn pull(&self, technician: &str) -> Result<v1::Holding, ServiceError> {
        let request = v1::PullTaskRequest {
            shop_id: SHOP.to_owned(),
            technician_id: technician.to_owned(),
            request_id: request_id(),
        };
        Ok(pull::pull_task(&self.app, request).await?.holding.unwrap())
    }

    /// Starts what is held; every check is met.
    pub(super) async fn start(&self, held: &v1::Holding) -> Result<v1::Holding, ServiceError> {
        let answer = |check: &v1::AskedCheck| v1::CheckAnswer {
            check_id: check.check_id.clone(),
            met: true,
            evidence: "seen".to_owned(),
        };
        let request = v1::StartTaskRequest {
            shop_id: SHOP.to_owned(),
            holding: Some(key(held)),
            answers: held.start_checks.iter().map(answer).collect(),
            request_id: request_id(),
        };
        Ok(work_start::start_task(&self.app, request).await?.holding.unwrap())
    }

    /// Pulls and starts the one task that is ready.
    pub(super) async fn begin(&self, technician: &str) -> v1::Holding {
        let held = self.pull(technician).await.unwrap();
        self.start(&held).await.unwrap()
    }

    pub(super) async fn pause(&self, held: &v1::Holding) -> Result<v1::Holding, ServiceError> {
        let request = v1::PauseTaskRequest {
            shop_id: SHOP.to_owned(),
            holding: Some(key(held)),
            note: "sun on the target".to_owned(),
            request_id: request_id(),
        };
        Ok(work_pause::pause_task(&self.app, request).await?.holding.unwrap())
    }

    pub(super) async fn resume(&self, held: &v1::Holding) -> Result<v1::Holding, ServiceError> {
        let request = v1::ResumeTaskRequest {
            shop_id: SHOP.to_owned(),
            holding: Some(key(held)),
            request_id: request_id(),
        };
        Ok(work_pause::resume_task(&self.app, request).await?.holding.unwrap())
    }

    pub(super) async fn hand_over(
        &self,
        held: &v1::Holding,
        to: &str,
    ) -> Result<v1::Holding, ServiceError> {
        let request = v1::HandOverTaskRequest {
            shop_id: SHOP.to_owned(),
            holding: Some(key(held)),
            to_technician_id: to.to_owned(),
            note: "target stands".to_owned(),
            request_id: request_id(),
        };
        Ok(hand_over::hand_over_task(&self.app, request).await?.holding.unwrap())
    }

    pub(super) async fn finish(
        &self,
        held: &v1::Holding,
    ) -> Result<v1::ConditionsRecord, ServiceError> {
        let adhesive = (held.task_id == "glass").then(|| adhesive(0));
        let request = v1::FinishTaskRequest {
            shop_id: SHOP.to_owned(),
            holding: Some(key(held)),
            adhesive,
            request_id: request_id(),
            ..v1::FinishTaskRequest::default()
        };
        Ok(work_end::finish_task(&self.app, request).await?.record.unwrap())
    }

    /// Fails what is held, for this cause; a preparation is that of the tyres.
    pub(super) async fn fail(
        &self,
        held: &v1::Holding,
        cause: v1::FailureCause,
    ) -> Result<v1::ConditionsRecord, ServiceError> {
        let request = v1::FailTaskRequest {
            shop_id: SHOP.to_owned(),
            holding: Some(key(held)),
            cause: cause.into(),
            note: "invented".to_owned(),
            prerequisite_id: "tyres".to_owned(),
            codes: Vec::new(),
            request_id: request_id(),
        };
        Ok(work_end::fail_task(&self.app, request).await?.record.unwrap())
    }

    pub(super) async fn put_back(
        &self,
        held: &v1::Holding,
    ) -> Result<v1::ConditionsRecord, ServiceError> {
        let request = v1::PutBackTaskRequest {
            shop_id: SHOP.to_owned(),
            holding: Some(key(held)),
            note: "invented".to_owned(),
            request_id: request_id(),
        };
        Ok(work_end::put_back_task(&self.app, request).await?.record.unwrap())
    }

    pub(super) async fn redo(&self, task: &str) -> Result<v1::RedoTaskResponse, ServiceError> {
        let request = v1::RedoTaskRequest {
            shop_id: SHOP.to_owned(),
            job_id: self.job_id.clone(),
            task_id: task.to_owned(),
            reason: "invented".to_owned(),
            request_id: request_id(),
            actor: "desk".to_owned(),
            ..v1::RedoTaskRequest::default()
        };
        work_end::redo_task(&self.app, request).await
    }

    pub(super) async fn cancel_task(
        &self,
        task: &str,
    ) -> Result<v1::CancelTaskResponse, ServiceError> {
        cancelling::cancel_task(&self.app, cancel_task_request(task)).await
    }

    pub(super) async fn cancel_job(&self) -> Result<v1::CancelJobResponse, ServiceError> {
        cancelling::cancel_job(&self.app, cancel_job_request()).await
    }

    pub(super) async fn sublet(&self, task: &str) -> Result<v1::SubletTaskResponse, ServiceError> {
        sublets::sublet_task(&self.app, sublet_request(task)).await
    }

    pub(super) async fn end_sublet(
        &self,
        task: &str,
        outcome: v1::Outcome,
    ) -> Result<v1::EndSubletResponse, ServiceError> {
        sublets::end_sublet(&self.app, end_sublet_request(task, outcome)).await
    }

    pub(super) async fn hand_back(
        &self,
        exceptions: &[&str],
    ) -> Result<v1::HandBackVehicleResponse, ServiceError> {
        let exception = |key: &&str| v1::HandBackException {
            reason_key: (*key).to_owned(),
            manager: "ruth".to_owned(),
            reason: "invented".to_owned(),
            recorded_time: None,
        };
        let request = v1::HandBackVehicleRequest {
            shop_id: SHOP.to_owned(),
            job_id: self.job_id.clone(),
            exceptions: exceptions.iter().map(exception).collect(),
            request_id: request_id(),
            actor: "desk".to_owned(),
            ..v1::HandBackVehicleRequest::default()
        };
        hand_back::hand_back(&self.app, request).await
    }

    /// The job as it is read.
    pub(super) async fn job(&self) -> v1::GetJobResponse {
        let request = v1::GetJobRequest { shop_id: SHOP.to_owned(), job_id: self.job_id.clone() };
        jobs::get_job(&self.app, request).await.unwrap()
    }

    pub(super) async fn task(&self, id: &str) -> v1::Task {
        let job = self.job().await.job.unwrap();
        job.tasks.into_iter().find(|task| task.task_id == id).unwrap()
    }

    pub(super) async fn state(&self, task: &str) -> v1::TaskState {
        self.task(task).await.state()
    }

    pub(super) async fn prerequisite(&self, id: &str) -> v1::Prerequisite {
        let job = self.job().await.job.unwrap();
        job.prerequisites.into_iter().find(|one| one.prerequisite_id == id).unwrap()
    }

    pub(super) async fn records(&self) -> Vec<v1::ConditionsRecord> {
        let request = v1::ListConditionsRecordsRequest {
            shop_id: SHOP.to_owned(),
            job_id: self.job_id.clone(),
            ..v1::ListConditionsRecordsRequest::default()
        };
        records::list_records(&self.app, request).await.unwrap().records
    }
}

pub(super) fn key(held: &v1::Holding) -> v1::HoldingKey {
    v1::HoldingKey {
        job_id: held.job_id.clone(),
        task_id: held.task_id.clone(),
        technician_id: held.technician_id.clone(),
        fence: held.fence,
    }
}

/// An adhesive that was set so many minutes before the morning.
pub(super) fn adhesive(minutes_before: i64) -> v1::Adhesive {
    v1::Adhesive {
        product: "invented adhesive".to_owned(),
        set_time: Some(minutes_on(-minutes_before)),
        temperature_c: 20.0,
        humidity_percent: 50.0,
        cure: Some(v1::CureMinutes {
            moved_minutes: 10,
            calibrated_minutes: 60,
            driven_minutes: 90,
        }),
        document: "invented sheet".to_owned(),
        task_id: String::new(),
    }
}

pub(super) fn cancel_task_request(task: &str) -> v1::CancelTaskRequest {
    v1::CancelTaskRequest {
        shop_id: SHOP.to_owned(),
        job_id: JOB.to_owned(),
        task_id: task.to_owned(),
        reason: "no longer wanted".to_owned(),
        request_id: request_id(),
        actor: "desk".to_owned(),
        etag: String::new(),
    }
}

pub(super) fn cancel_job_request() -> v1::CancelJobRequest {
    v1::CancelJobRequest {
        shop_id: SHOP.to_owned(),
        job_id: JOB.to_owned(),
        reason: "goes elsewhere".to_owned(),
        request_id: request_id(),
        actor: "desk".to_owned(),
        etag: String::new(),
    }
}

pub(super) fn sublet_request(task: &str) -> v1::SubletTaskRequest {
    v1::SubletTaskRequest {
        shop_id: SHOP.to_owned(),
        job_id: JOB.to_owned(),
        task_id: task.to_owned(),
        party: "glass shop".to_owned(),
        expected_time: Some(minutes_on(120)),
        note: "by telephone".to_owned(),
        request_id: request_id(),
        actor: "desk".to_owned(),
        etag: String::new(),
    }
}

pub(super) fn end_sublet_request(task: &str, outcome: v1::Outcome) -> v1::EndSubletRequest {
    v1::EndSubletRequest {
        shop_id: SHOP.to_owned(),
        job_id: JOB.to_owned(),
        task_id: task.to_owned(),
        outcome: outcome.into(),
        evidence: "invoice 17".to_owned(),
        adhesive: None,
        codes: Vec::new(),
        request_id: request_id(),
        actor: "desk".to_owned(),
        etag: String::new(),
    }
}
