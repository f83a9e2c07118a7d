//! `sign-off`: signs off a prerequisite as met.

use super::print_job;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::SignOffPrerequisiteRequest;
use baywright_api::v1::job_service_client::JobServiceClient;
use clap::Args;

/// Sign off a prerequisite as met.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo sign-off J-1001 glass-parts --evidence 'windshield and mouldings unpacked, no damage'"
)]
pub(crate) struct SignOff {
    /// The job.
    job: String,
    /// The prerequisite.
    prerequisite: String,
    /// On what evidence.
    #[arg(long, value_name = "TEXT")]
    evidence: String,
    /// First instant at which it no longer counts: "2026-05-05 16:30" in the shop's time, or after
    /// RFC 3339; by default as the prerequisite says.
    #[arg(long, value_name = "TIME")]
    until: Option<String>,
}

impl SignOff {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let until_time = match &self.until {
            Some(text) => Some(session.clock().await?.read("--until", text)?),
            None => None,
        };
        let request = SignOffPrerequisiteRequest {
            shop_id: session.shop()?,
            job_id: self.job,
            prerequisite_id: self.prerequisite,
            evidence: self.evidence,
            until_time,
            request_id: session.request_id(),
            actor: session.actor.clone(),
            etag: String::new(),
        };
        let reply = session
            .call(request, async |channel, request| {
                JobServiceClient::new(channel).sign_off_prerequisite(request).await
            })
            .await?;
        print_job(session, "SignOffPrerequisiteResponse", &reply, reply.job.as_ref()).await
    }
}
