//! The handlers: each takes a request, calls one use case and answers.
//!
//! [`routes`] is the one place where they are registered. Health and reflection are added where the
//! service starts.

mod audit;
mod day;
mod doubt;
mod fit;
mod hand_back;
mod job;
mod offer;
mod plan;
mod record;
mod road;
mod shop;
mod survey;
mod task;
mod watch;
mod work;

use crate::{
    app::App,
    error::ServiceError,
    limits::{MESSAGE_BYTES_IN_MAX, MESSAGE_BYTES_OUT_MAX},
};
use baywright_api::v1::{
    audit_service_server::AuditServiceServer, day_service_server::DayServiceServer,
    doubt_service_server::DoubtServiceServer, fit_service_server::FitServiceServer,
    hand_back_service_server::HandBackServiceServer, job_service_server::JobServiceServer,
    offer_service_server::OfferServiceServer, plan_service_server::PlanServiceServer,
    record_service_server::RecordServiceServer, road_service_server::RoadServiceServer,
    shop_service_server::ShopServiceServer, survey_service_server::SurveyServiceServer,
    task_service_server::TaskServiceServer, watch_service_server::WatchServiceServer,
    work_service_server::WorkServiceServer,
};
use tonic::{Response, Status, service::Routes};

macro_rules! limited {
    ($server:ident, $handlers:expr) => {
        $server::new($handlers)
            .max_decoding_message_size(MESSAGE_BYTES_IN_MAX)
            .max_encoding_message_size(MESSAGE_BYTES_OUT_MAX)
    };
}

/// Every service of the contract that is served.
pub fn routes(app: App) -> Routes {
    Routes::default()
        .add_service(limited!(ShopServiceServer, shop::ShopHandlers(app.clone())))
        .add_service(limited!(SurveyServiceServer, survey::SurveyHandlers(app.clone())))
        .add_service(limited!(JobServiceServer, job::JobHandlers(app.clone())))
        .add_service(limited!(DayServiceServer, day::DayHandlers(app.clone())))
        .add_service(limited!(DoubtServiceServer, doubt::DoubtHandlers(app.clone())))
        .add_service(limited!(FitServiceServer, fit::FitHandlers(app.clone())))
        .add_service(limited!(OfferServiceServer, offer::OfferHandlers(app.clone())))
        .add_service(limited!(PlanServiceServer, plan::PlanHandlers(app.clone())))
        .add_service(limited!(TaskServiceServer, task::TaskHandlers(app.clone())))
        .add_service(limited!(WorkServiceServer, work::WorkHandlers(app.clone())))
        .add_service(limited!(HandBackServiceServer, hand_back::HandBackHandlers(app.clone())))
        .add_service(limited!(RecordServiceServer, record::RecordHandlers(app.clone())))
        .add_service(limited!(RoadServiceServer, road::RoadHandlers(app.clone())))
        .add_service(limited!(AuditServiceServer, audit::AuditHandlers(app.clone())))
        .add_service(limited!(WatchServiceServer, watch::WatchHandlers(app)))
}

/// The answer of a use case as the answer of a call.
async fn handle<T>(
    answer: impl Future<Output = Result<T, ServiceError>>,
) -> Result<Response<T>, Status> {
    Ok(Response::new(answer.await?))
}
