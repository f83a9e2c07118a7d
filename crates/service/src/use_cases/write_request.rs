//! What every request that writes states: shop, request id and who acts.

use crate::{
    app::App,
    error::ServiceError,
    storage::{Call, CallParts},
};
use baywright_api::v1;
use chrono::{DateTime, Utc};
use prost::Message;

/// A request that writes.
pub(super) trait WriteRequest: Message + Sized {
    /// The method's name, as kept with the request id and in the audit trail.
    const METHOD: &'static str;

    /// Shop, request id and who acts.
    fn parts(&self) -> [&str; 3];
}

/// A request that changes one job.
pub(super) trait JobRequest: WriteRequest {
    /// The job, and its etag as the caller read it; empty means no matter.
    fn job(&self) -> (&str, &str);
}

macro_rules! write_requests {
    ($($request:ident = $method:literal by $actor:ident;)+) => {$(
        impl WriteRequest for v1::$request {
            const METHOD: &'static str = $method;

            fn parts(&self) -> [&str; 3] {
                [&self.shop_id, &self.request_id, &self.$actor]
            }
        }
    )+};
}

write_requests! {
    RecordSurveyRequest = "RecordSurvey" by actor;
    SubmitEstimateRequest = "SubmitEstimate" by actor;
    MakePlanRequest = "MakePlan" by actor;
    MakePlanWithProgressRequest = "MakePlanWithProgress" by actor;
    PullTaskRequest = "PullTask" by technician_id;
    DecideTasksRequest = "DecideTasks" by actor;
    DecideOperationRequest = "DecideOperation" by actor;
    SignOffPrerequisiteRequest = "SignOffPrerequisite" by actor;
    UpdatePrerequisiteRequest = "UpdatePrerequisite" by actor;
    UpdateJobRequest = "UpdateJob" by actor;
    RecordArrivalRequest = "RecordArrival" by actor;
    MoveVehicleRequest = "MoveVehicle" by actor;
    RecordOutsideWorkRequest = "RecordOutsideWork" by actor;
    RedoTaskRequest = "RedoTask" by actor;
    HandBackVehicleRequest = "HandBackVehicle" by actor;
    CancelTaskRequest = "CancelTask" by actor;
    SubletTaskRequest = "SubletTask" by actor;
    EndSubletRequest = "EndSublet" by actor;
    CancelJobRequest = "CancelJob" by actor;
    CorrectRecordRequest = "CorrectRecord" by actor;
    MakeOfferRequest = "MakeOffer" by actor;
    AcceptOfferRequest = "AcceptOffer" by actor;
    DeclineOfferRequest = "DeclineOffer" by actor;
    RecordRoadEntryRequest = "RecordRoadEntry" by actor;
    WithdrawRoadEntryRequest = "WithdrawRoadEntry" by actor;
    ClearDoubtRequest = "ClearDoubt" by actor;
}

impl WriteRequest for v1::ApplyShopRequest {
    const METHOD: &'static str = "ApplyShop";

    fn parts(&self) -> [&str; 3] {
        let shop = self.definition.as_ref().and_then(|definition| definition.shop.as_ref());
        [shop.map_or("", |shop| &shop.shop_id), &self.request_id, &self.actor]
    }
}

/// Requests of somebody who holds a task: the technician is who acts.
pub(super) trait HolderRequest: WriteRequest {
    /// The holding that the caller means.
    fn holding(&self) -> Option<&v1::HoldingKey>;
}

macro_rules! holder_requests {
    ($($request:ident = $method:literal;)+) => {$(
        impl WriteRequest for v1::$request {
            const METHOD: &'static str = $method;

            fn parts(&self) -> [&str; 3] {
                let actor = self.holding.as_ref().map_or("", |key| &key.technician_id);
                [&self.shop_id, &self.request_id, actor]
            }
        }

        impl HolderRequest for v1::$request {
            fn holding(&self) -> Option<&v1::HoldingKey> {
                self.holding.as_ref()
            }
        }
    )+};
}

holder_requests! {
    StartTaskRequest = "StartTask";
    FinishTaskRequest = "FinishTask";
    FailTaskRequest = "FailTask";
    PutBackTaskRequest = "PutBackTask";
    PauseTaskRequest = "PauseTask";
    ResumeTaskRequest = "ResumeTask";
    EnterPhaseRequest = "EnterPhase";
    HandOverTaskRequest = "HandOverTask";
}

macro_rules! job_requests {
    ($($request:ident)+) => {$(
        impl JobRequest for v1::$request {
            fn job(&self) -> (&str, &str) {
                (&self.job_id, &self.etag)
            }
        }
    )+};
}

job_requests! {
    DecideTasksRequest
    DecideOperationRequest
    SignOffPrerequisiteRequest
    UpdatePrerequisiteRequest
    UpdateJobRequest
    RecordArrivalRequest
    MoveVehicleRequest
    RecordOutsideWorkRequest
    HandBackVehicleRequest
    RedoTaskRequest
    CancelTaskRequest
    SubletTaskRequest
    EndSubletRequest
    CancelJobRequest
}

impl App {
    /// The call of a request that writes, at `at`.
    pub(super) fn call<R: WriteRequest>(
        request: &R,
        at: DateTime<Utc>,
    ) -> Result<Call, ServiceError> {
        let [shop_id, request_id, actor] = request.parts();
        Call::new(CallParts { shop_id, method: R::METHOD, request_id, actor, at }, request)
    }
}
