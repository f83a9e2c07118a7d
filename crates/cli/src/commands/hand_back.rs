//! `hand-back`: says whether a vehicle may leave, or hands it back.

use super::print_job;
use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::hand_back_service_client::HandBackServiceClient;
use baywright_api::v1::{
    CheckHandBackRequest, CheckHandBackResponse, HandBackException, HandBackVehicleRequest,
};
use clap::Args;

/// Hand a vehicle back, or check whether it may leave.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo hand-back J-1001 --check")]
pub(crate) struct HandBack {
    /// The job.
    job: String,
    /// Only say whether it may leave and what stands against it.
    #[arg(long, conflicts_with_all = ["except", "manager"])]
    check: bool,
    /// A reason against it that the manager excepts, and why; may be repeated.
    #[arg(long, value_name = "KEY=REASON", requires = "manager")]
    except: Vec<String>,
    /// The manager who records the exceptions.
    #[arg(long, value_name = "NAME", requires = "except")]
    manager: Option<String>,
}

impl HandBack {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        if self.check { self.check_hand_back(session).await } else { self.hand_back(session).await }
    }

    async fn check_hand_back(&self, session: &Session) -> Result<(), Failure> {
        let request = CheckHandBackRequest { shop_id: session.shop()?, job_id: self.job.clone() };
        let reply = session
            .call(request, async |channel, request| {
                HandBackServiceClient::new(channel).check_hand_back(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("CheckHandBackResponse", &reply)?);
        }
        let mut lines = reasons(&reply, session).await?;
        lines.push(views::caution(&reply.caution));
        answer::write(&format!("{}\n{}", verdict(&self.job, reply.allowed), lines.join("\n")))
    }

    async fn hand_back(self, session: &Session) -> Result<(), Failure> {
        let manager = self.manager.unwrap_or_default();
        let exceptions: Result<Vec<_>, Failure> =
            self.except.iter().map(|text| exception(text, &manager)).collect();
        let request = HandBackVehicleRequest {
            shop_id: session.shop()?,
            job_id: self.job,
            exceptions: exceptions?,
            request_id: session.request_id(),
            actor: session.actor.clone(),
            etag: String::new(),
        };
        let reply = session
            .call(request, async |channel, request| {
                HandBackServiceClient::new(channel).hand_back_vehicle(request).await
            })
            .await?;
        print_job(session, "HandBackVehicleResponse", &reply, reply.job.as_ref()).await?;
        if session.json { Ok(()) } else { answer::write(&format!("\n{}", views::caution(""))) }
    }
}

fn verdict(job: &str, allowed: bool) -> String {
    if allowed {
        format!("Job {job} may be handed back now.")
    } else {
        format!("Job {job} may not be handed back now:")
    }
}

async fn reasons(reply: &CheckHandBackResponse, session: &Session) -> Result<Vec<String>, Failure> {
    let clock = session.clock().await?;
    let line = |reason: &baywright_api::v1::HandBackReason| {
        let until = reason.until_time.as_ref().map_or(String::new(), |at| {
            format!(" It goes away by itself at {}.", clock.show(Some(at)))
        });
        let excepted = if reason.can_be_excepted { "" } else { " No manager may except it." };
        format!("  {}: {}{until}{excepted}", reason.key, reason.sentence)
    };
    Ok(reply.reasons.iter().map(line).collect())
}

fn exception(text: &str, manager: &str) -> Result<HandBackException, Failure> {
    let (key, reason) = text.split_once('=').filter(|(_, reason)| !reason.trim().is_empty()).ok_or_else(|| {
        Failure::usage(
            format!("--except is \"{text}\"; it must be KEY=REASON."),
            "take the key from `baywright hand-back JOB --check`, such as task:front-camera='owner declined in writing'.",
        )
    })?;
    Ok(HandBackException {
        reason_key: key.to_owned(),
        manager: manager.to_owned(),
        reason: reason.to_owned(),
        recorded_time: None,
    })
}
