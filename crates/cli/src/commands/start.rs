//! `start`: starts a held task after its checks were answered at the vehicle.

use super::held_task::HeldTask;
use super::print_holding;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::work_service_client::WorkServiceClient;
use baywright_api::v1::{CheckAnswer, StartTaskRequest};
use clap::Args;

/// Start a held task after every check was answered at the vehicle.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo start J-1001 pre-scan --technician ines \\\n    \
    --yes check:battery-supported='steady 13.6 V'"
)]
pub(crate) struct Start {
    #[command(flatten)]
    held: HeldTask,
    /// A check that is met, with what was seen or measured; may be repeated.
    #[arg(long, value_name = "CHECK[=EVIDENCE]")]
    yes: Vec<String>,
    /// A check that is not met, with what was seen or measured; may be repeated.
    #[arg(long, value_name = "CHECK[=EVIDENCE]")]
    no: Vec<String>,
    /// Every check that is not named is met: each was answered at the vehicle.
    #[arg(long, requires = "evidence")]
    all_met: bool,
    /// What was seen or measured, for each check that has no evidence of its own.
    #[arg(long, value_name = "TEXT")]
    evidence: Option<String>,
}

impl Start {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = StartTaskRequest {
            shop_id: session.shop()?,
            answers: self.answers(session).await?,
            holding: Some(self.held.key(session).await?),
            request_id: session.request_id(),
        };
        let reply = session
            .call(request, async |channel, request| {
                WorkServiceClient::new(channel).start_task(request).await
            })
            .await?;
        print_holding(session, "StartTaskResponse", &reply, reply.holding.as_ref()).await
    }

    /// The answers named, and with `--all-met` a yes to every other check of the holding.
    async fn answers(&self, session: &Session) -> Result<Vec<CheckAnswer>, Failure> {
        let mut answers: Vec<CheckAnswer> = Vec::new();
        let named = self
            .yes
            .iter()
            .map(|text| (text, true))
            .chain(self.no.iter().map(|text| (text, false)));
        for (text, met) in named {
            let answer = self.answer(text, met);
            if answers.iter().any(|other| other.check_id == answer.check_id) {
                return Err(Failure::usage(
                    format!("the check {} is answered twice.", answer.check_id),
                    "answer each check once, with --yes or with --no.",
                ));
            }
            answers.push(answer);
        }
        if self.all_met {
            for check in self.held.holding(session).await?.start_checks {
                if !answers.iter().any(|answer| answer.check_id == check.check_id) {
                    answers.push(self.answer(&check.check_id, true));
                }
            }
        }
        Ok(answers)
    }

    fn answer(&self, text: &str, met: bool) -> CheckAnswer {
        let (check, evidence) =
            text.split_once('=').unwrap_or((text, self.evidence.as_deref().unwrap_or_default()));
        CheckAnswer { check_id: check.to_owned(), met, evidence: evidence.to_owned() }
    }
}
