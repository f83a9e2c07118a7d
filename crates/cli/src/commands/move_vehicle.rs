//! `move`: notes that the vehicle was moved to a spot outside of the bays.

use super::print_job;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::MoveVehicleRequest;
use baywright_api::v1::job_service_client::JobServiceClient;
use clap::Args;

/// Note that the vehicle was moved to a spot outside of the bays.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo move J-1001 yard")]
pub(crate) struct MoveVehicle {
    /// The job.
    job: String,
    /// The spot where it stands now.
    spot: String,
    /// The tag of its keys; by default as it was.
    #[arg(long, value_name = "TAG")]
    keys: Option<String>,
}

impl MoveVehicle {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = MoveVehicleRequest {
            shop_id: session.shop()?,
            job_id: self.job,
            spot_id: self.spot,
            request_id: session.request_id(),
            actor: session.actor.clone(),
            etag: String::new(),
            key_tag: self.keys.unwrap_or_default(),
        };
        let reply = session
            .call(request, async |channel, request| {
                JobServiceClient::new(channel).move_vehicle(request).await
            })
            .await?;
        print_job(session, "MoveVehicleResponse", &reply, reply.job.as_ref()).await
    }
}
