//! `arrive`: notes that the vehicle has come.

use super::print_job;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::RecordArrivalRequest;
use baywright_api::v1::job_service_client::JobServiceClient;
use clap::Args;

/// Note that the vehicle has come.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo arrive J-1001 --spot yard")]
pub(crate) struct Arrive {
    /// The job.
    job: String,
    /// The spot where it stands.
    #[arg(long, value_name = "ID")]
    spot: Option<String>,
    /// The tag of its keys.
    #[arg(long, value_name = "TAG")]
    keys: Option<String>,
}

impl Arrive {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = RecordArrivalRequest {
            shop_id: session.shop()?,
            job_id: self.job,
            spot_id: self.spot.unwrap_or_default(),
            request_id: session.request_id(),
            actor: session.actor.clone(),
            etag: String::new(),
            key_tag: self.keys.unwrap_or_default(),
        };
        let reply = session
            .call(request, async |channel, request| {
                JobServiceClient::new(channel).record_arrival(request).await
            })
            .await?;
        print_job(session, "RecordArrivalResponse", &reply, reply.job.as_ref()).await
    }
}
