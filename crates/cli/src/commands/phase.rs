//! `phase`: notes that the run or the tear-down of running work begins.

use super::held_task::HeldTask;
use super::print_holding;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::work_service_client::WorkServiceClient;
use baywright_api::v1::{EnterPhaseRequest, WorkPhase};
use clap::{Args, ValueEnum};

/// A phase that can begin.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum Begins {
    Run,
    TearDown,
}

/// Note that the run or the tear-down of a running task begins.
///
/// The set-up begins with the start of the task. The times of the phases stand in the conditions
/// record; a task whose phases nobody tells has none.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo phase J-1001 front-camera --technician ines --begins run"
)]
pub(crate) struct Phase {
    #[command(flatten)]
    held: HeldTask,
    /// What begins.
    #[arg(long, value_name = "PHASE")]
    begins: Begins,
}

impl Phase {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let phase = match self.begins {
            Begins::Run => WorkPhase::Run,
            Begins::TearDown => WorkPhase::TearDown,
        };
        let request = EnterPhaseRequest {
            shop_id: session.shop()?,
            holding: Some(self.held.key(session).await?),
            phase: phase.into(),
            request_id: session.request_id(),
        };
        let reply = session
            .call(request, async |channel, request| {
                WorkServiceClient::new(channel).enter_phase(request).await
            })
            .await?;
        print_holding(session, "EnterPhaseResponse", &reply, reply.holding.as_ref()).await
    }
}
