//! `sublet-end`: notes how a task ended that was sent out.

use super::codes::Codes;
use super::glass::Glass;
use super::print_record;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::task_service_client::TaskServiceClient;
use baywright_api::v1::{EndSubletRequest, Outcome};
use clap::Args;

/// Note how a task ended that was sent out, which undoes what the task undoes.
///
/// For glass that passed, state what was recorded when it was set: the minutes are those that the
/// adhesive's maker states for that temperature and humidity, and are never assumed. Where nothing is
/// stated, nothing here guards its cure.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo sublet-end J-1001 glass --passed --evidence 'invoice 17 of the glass shop'"
)]
pub(crate) struct SubletEnd {
    /// The job.
    job: String,
    /// The task.
    task: String,
    /// It was done, and is good.
    #[arg(long, required_unless_present = "failed")]
    passed: bool,
    /// It was tried, and is not good.
    #[arg(long, conflicts_with = "passed")]
    failed: bool,
    /// On what evidence.
    #[arg(long, value_name = "TEXT")]
    evidence: String,
    #[command(flatten)]
    codes: Codes,
    #[command(flatten)]
    glass: Glass,
}

impl SubletEnd {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let adhesive = self.glass.adhesive(session).await?;
        let outcome = if self.failed { Outcome::Failed } else { Outcome::Passed };
        let request = EndSubletRequest {
            shop_id: session.shop()?,
            job_id: self.job,
            task_id: self.task,
            outcome: outcome.into(),
            evidence: self.evidence,
            adhesive,
            codes: self.codes.found(),
            request_id: session.request_id(),
            actor: session.actor.clone(),
            etag: String::new(),
        };
        let reply = session
            .call(request, async |channel, request| {
                TaskServiceClient::new(channel).end_sublet(request).await
            })
            .await?;
        print_record(session, "EndSubletResponse", &reply, reply.record.as_ref()).await
    }
}
