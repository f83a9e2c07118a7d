//! `estimate`: sends estimates, new or changed.

use super::print_job;
use crate::answer;
use crate::failure::Failure;
use crate::input;
use crate::session::Session;
use baywright_api::v1::SubmitEstimateRequest;
use baywright_api::v1::job_service_client::JobServiceClient;
use baywright_files::estimate_file;
use clap::Args;
use std::path::PathBuf;

/// Send estimates; the shop's call rules propose tasks.
///
/// Every file is read first, and none is sent while one has a fault. They are then sent in the
/// order given, each as its own request; the first refusal stops. Sending a file again is harmless
/// with the same --request-id. With --json, one reply follows the other.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo estimate estimate-1001-windshield.json"
)]
pub(crate) struct Estimate {
    /// Estimate files (JSON).
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// Say what the estimates call for, without taking them.
    #[arg(long)]
    dry_run: bool,
}

impl Estimate {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let shop_id = session.shop()?;
        let bytes_max = estimate_file::ESTIMATE_FILE_BYTES_MAX;
        let estimates = input::all_parsed(&self.files, bytes_max, estimate_file::parse)?;
        let count = estimates.len();
        for (at, estimate) in estimates.into_iter().enumerate() {
            if at > 0 && !session.json {
                answer::write("")?;
            }
            let request = SubmitEstimateRequest {
                shop_id: shop_id.clone(),
                estimate: Some(estimate),
                request_id: session.request_id_of(count)?,
                actor: session.actor.clone(),
                validate_only: self.dry_run,
            };
            let reply = session
                .call(request, async |channel, request| {
                    JobServiceClient::new(channel).submit_estimate(request).await
                })
                .await?;
            print_job(session, "SubmitEstimateResponse", &reply, reply.job.as_ref()).await?;
        }
        Ok(())
    }
}
