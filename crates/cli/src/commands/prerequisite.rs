//! `prerequisite`: notes where a prerequisite stands that is not met.

use super::print_job;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::PrerequisiteState;
use baywright_api::v1::UpdatePrerequisiteRequest;
use baywright_api::v1::job_service_client::JobServiceClient;
use baywright_files::words::Word as _;
use clap::Args;

/// Note where a prerequisite stands that is not met.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo prerequisite J-1004 glass-parts --state on-order --expected '2026-05-06 10:00' --party 'parts desk'"
)]
pub(crate) struct Prerequisite {
    /// The job.
    job: String,
    /// The prerequisite.
    #[arg(value_name = "PREREQUISITE")]
    name: String,
    /// Where it stands; that it is met is said by sign-off.
    #[arg(long, value_parser = ["open", "booked", "on-order", "failed"])]
    state: String,
    /// When it is expected: "2026-05-05 16:30" in the shop's time, or after RFC 3339; by default
    /// no time is expected.
    #[arg(long, value_name = "TIME")]
    expected: Option<String>,
    /// The party to ask; by default as it was.
    #[arg(long, value_name = "TEXT")]
    party: Option<String>,
}

impl Prerequisite {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let expected_time = match &self.expected {
            Some(text) => Some(session.clock().await?.read("--expected", text)?),
            None => None,
        };
        let state = PrerequisiteState::from_word(&self.state).map_or(0, Into::into);
        let request = UpdatePrerequisiteRequest {
            shop_id: session.shop()?,
            job_id: self.job,
            prerequisite_id: self.name,
            state,
            expected_time,
            party: self.party.unwrap_or_default(),
            request_id: session.request_id(),
            actor: session.actor.clone(),
            etag: String::new(),
            update_mask: None,
        };
        let reply = session
            .call(request, async |channel, request| {
                JobServiceClient::new(channel).update_prerequisite(request).await
            })
            .await?;
        print_job(session, "UpdatePrerequisiteResponse", &reply, reply.job.as_ref()).await
    }
}
