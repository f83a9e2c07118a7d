//! `where`: say where a vehicle and its keys are, and who works on it.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::LocateVehicleRequest;
use baywright_api::v1::day_service_client::DayServiceClient;
use clap::Args;

/// Say where a vehicle and its keys are, and who works on it.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo where J-1001")]
pub(crate) struct Whereabouts {
    /// The job.
    job: String,
}

impl Whereabouts {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = LocateVehicleRequest { shop_id: session.shop()?, job_id: self.job };
        let reply = session
            .call(request, async |channel, request| {
                DayServiceClient::new(channel).locate_vehicle(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("LocateVehicleResponse", &reply)?);
        }
        answer::write(&views::day::whereabouts(&reply, session.clock().await?))
    }
}
