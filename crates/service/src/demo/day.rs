//! What has happened in the demo shop by 07:30 on its Tuesday. All of it is invented.
//!
//! It is told from Monday morning on, with the service's clock moved along: work is pulled, started
//! and finished by the same calls that a technician makes, so every state that a job or a task may
//! have is there for a reason. Monday's work first, then what is expected, then Tuesday's first half
//! hour.

mod expected;
mod monday;
mod times;
mod tuesday;

pub(super) use times::{monday, tuesday, wednesday};

use super::{
    DemoError,
    caller::{Caller, refused},
};
use crate::clock::ClockHand;
use baywright_api::v1;
use chrono::{DateTime, Utc};

/// The shop as those in the demonstration work in it: its service, and the hand of its clock.
#[derive(Debug, Clone, Copy)]
pub(super) struct Floor<'a> {
    pub(super) caller: &'a Caller,
    pub(super) hand: &'a ClockHand,
}

/// One task, and who has it from when until when.
#[derive(Debug, Clone, Copy)]
struct Turn<'a> {
    technician: &'a str,
    job: &'a str,
    task: &'a str,
    from: DateTime<Utc>,
    until: DateTime<Utc>,
}

/// Sends everything that has happened by that morning.
pub(super) async fn set_up(floor: Floor<'_>) -> Result<(), DemoError> {
    monday::set_up(floor).await?;
    expected::set_up(floor).await?;
    tuesday::set_up(floor).await
}

impl Floor<'_> {
    /// The technician pulls at that instant, and gets the task that is meant.
    async fn pulls(
        &self,
        technician: &str,
        (job, task): (&str, &str),
        at: DateTime<Utc>,
    ) -> Result<v1::Holding, DemoError> {
        self.hand.move_to(at);
        let holding = self.caller.pull(technician).await;
        let holding =
            holding.map_err(|status| refused(&format!("{technician}'s pull"), &status))?;
        if holding.job_id == job && holding.task_id == task {
            return Ok(holding);
        }
        Err(DemoError::Unexpected {
            wanted: format!("{technician} to get {job}/{task}"),
            got: format!("{}/{}", holding.job_id, holding.task_id),
        })
    }

    /// A task from the pull to its end.
    async fn works(&self, turn: Turn<'_>) -> Result<(), DemoError> {
        self.works_with_codes(turn, Vec::new()).await
    }

    /// The same for a scan that finds codes.
    async fn works_with_codes(
        &self,
        turn: Turn<'_>,
        codes: Vec<v1::FoundCode>,
    ) -> Result<(), DemoError> {
        let holding = self.begins(turn).await?;
        self.hand.move_to(turn.until);
        self.caller.finish(&holding, codes, self.hand.now()).await?;
        Ok(())
    }

    /// A task from the pull to its failure.
    async fn fails(
        &self,
        turn: Turn<'_>,
        cause: v1::FailureCause,
        note: &str,
    ) -> Result<(), DemoError> {
        let holding = self.begins(turn).await?;
        self.hand.move_to(turn.until);
        self.caller.fail(&holding, cause, note).await?;
        Ok(())
    }

    async fn begins(&self, turn: Turn<'_>) -> Result<v1::Holding, DemoError> {
        let Turn { technician, job, task, from, .. } = turn;
        let holding = self.pulls(technician, (job, task), from).await?;
        self.caller.start(&holding).await
    }
}
