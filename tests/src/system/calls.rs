//! Every call of the contract as a request that can be sent, so that tables of requests read alike.

use baywright_api::v1::{
    self, audit_service_client::AuditServiceClient, day_service_client::DayServiceClient,
    doubt_service_client::DoubtServiceClient, fit_service_client::FitServiceClient,
    hand_back_service_client::HandBackServiceClient, job_service_client::JobServiceClient,
    offer_service_client::OfferServiceClient, plan_service_client::PlanServiceClient,
    record_service_client::RecordServiceClient, road_service_client::RoadServiceClient,
    shop_service_client::ShopServiceClient, survey_service_client::SurveyServiceClient,
    task_service_client::TaskServiceClient, work_service_client::WorkServiceClient,
};
use tonic::{Status, transport::Channel};

/// A request of the contract.
pub trait Request: Sized {
    /// Its answer.
    type Reply: std::fmt::Debug + PartialEq + Send;

    /// Sends it.
    fn send(self, to: Channel) -> impl Future<Output = Result<Self::Reply, Status>> + Send;
}

macro_rules! requests {
    ($($client:ident { $($method:ident: $request:ident -> $reply:ident,)+ })+) => {$($(
        impl Request for v1::$request {
            type Reply = v1::$reply;

            async fn send(self, to: Channel) -> Result<Self::Reply, Status> {
                Ok($client::new(to).$method(self).await?.into_inner())
            }
        }
    )+)+};
}

requests! {
    AuditServiceClient {
        list_audit_entries: ListAuditEntriesRequest -> ListAuditEntriesResponse,
    }
    RecordServiceClient {
        verify_records: VerifyRecordsRequest -> VerifyRecordsResponse,
        correct_record: CorrectRecordRequest -> CorrectRecordResponse,
    }
    ShopServiceClient {
        apply_shop: ApplyShopRequest -> ApplyShopResponse,
        get_shop: GetShopRequest -> GetShopResponse,
    }
    SurveyServiceClient {
        record_survey: RecordSurveyRequest -> RecordSurveyResponse,
        get_survey: GetSurveyRequest -> GetSurveyResponse,
    }
    DayServiceClient {
        list_chases: ListChasesRequest -> ListChasesResponse,
        list_finishes: ListFinishesRequest -> ListFinishesResponse,
        locate_vehicle: LocateVehicleRequest -> LocateVehicleResponse,
        list_unit_uses: ListUnitUsesRequest -> ListUnitUsesResponse,
        list_free_bays: ListFreeBaysRequest -> ListFreeBaysResponse,
        get_today: GetTodayRequest -> GetTodayResponse,
    }
    DoubtServiceClient {
        list_doubts: ListDoubtsRequest -> ListDoubtsResponse,
        clear_doubt: ClearDoubtRequest -> ClearDoubtResponse,
    }
    FitServiceClient {
        list_fits: ListFitsRequest -> ListFitsResponse,
        report_gain: ReportGainRequest -> ReportGainResponse,
        draw_plan: DrawPlanRequest -> DrawPlanResponse,
    }
    JobServiceClient {
        submit_estimate: SubmitEstimateRequest -> SubmitEstimateResponse,
        get_job: GetJobRequest -> GetJobResponse,
        list_jobs: ListJobsRequest -> ListJobsResponse,
        decide_tasks: DecideTasksRequest -> DecideTasksResponse,
        decide_operation: DecideOperationRequest -> DecideOperationResponse,
        sign_off_prerequisite: SignOffPrerequisiteRequest -> SignOffPrerequisiteResponse,
        update_prerequisite: UpdatePrerequisiteRequest -> UpdatePrerequisiteResponse,
        update_job: UpdateJobRequest -> UpdateJobResponse,
        record_arrival: RecordArrivalRequest -> RecordArrivalResponse,
        move_vehicle: MoveVehicleRequest -> MoveVehicleResponse,
        cancel_job: CancelJobRequest -> CancelJobResponse,
        record_outside_work: RecordOutsideWorkRequest -> RecordOutsideWorkResponse,
    }
    OfferServiceClient {
        make_offer: MakeOfferRequest -> MakeOfferResponse,
        accept_offer: AcceptOfferRequest -> AcceptOfferResponse,
        decline_offer: DeclineOfferRequest -> DeclineOfferResponse,
        get_offer: GetOfferRequest -> GetOfferResponse,
        list_offers: ListOffersRequest -> ListOffersResponse,
        list_turned_away: ListTurnedAwayRequest -> ListTurnedAwayResponse,
    }
    PlanServiceClient {
        make_plan: MakePlanRequest -> MakePlanResponse,
        get_plan: GetPlanRequest -> GetPlanResponse,
        report_what_if: ReportWhatIfRequest -> ReportWhatIfResponse,
        report_front: ReportFrontRequest -> ReportFrontResponse,
        report_forecast: ReportForecastRequest -> ReportForecastResponse,
        explain_plan: ExplainPlanRequest -> ExplainPlanResponse,
    }
    RoadServiceClient {
        record_road_entry: RecordRoadEntryRequest -> RecordRoadEntryResponse,
        withdraw_road_entry: WithdrawRoadEntryRequest -> WithdrawRoadEntryResponse,
        list_road_entries: ListRoadEntriesRequest -> ListRoadEntriesResponse,
        list_road_windows: ListRoadWindowsRequest -> ListRoadWindowsResponse,
    }
    TaskServiceClient {
        cancel_task: CancelTaskRequest -> CancelTaskResponse,
        sublet_task: SubletTaskRequest -> SubletTaskResponse,
        end_sublet: EndSubletRequest -> EndSubletResponse,
    }
    WorkServiceClient {
        pause_task: PauseTaskRequest -> PauseTaskResponse,
        enter_phase: EnterPhaseRequest -> EnterPhaseResponse,
        resume_task: ResumeTaskRequest -> ResumeTaskResponse,
        hand_over_task: HandOverTaskRequest -> HandOverTaskResponse,
        pull_task: PullTaskRequest -> PullTaskResponse,
        start_task: StartTaskRequest -> StartTaskResponse,
        finish_task: FinishTaskRequest -> FinishTaskResponse,
        fail_task: FailTaskRequest -> FailTaskResponse,
        put_back_task: PutBackTaskRequest -> PutBackTaskResponse,
        redo_task: RedoTaskRequest -> RedoTaskResponse,
        list_holdings: ListHoldingsRequest -> ListHoldingsResponse,
        list_conditions_records: ListConditionsRecordsRequest -> ListConditionsRecordsResponse,
    }
    HandBackServiceClient {
        check_hand_back: CheckHandBackRequest -> CheckHandBackResponse,
        hand_back_vehicle: HandBackVehicleRequest -> HandBackVehicleResponse,
    }
}
