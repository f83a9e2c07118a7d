//! The story of a morning: one vehicle whose customer waits, in a shop that works as ever.
//!
//! It arrives, the inspection finds more than the estimate says, a part comes late, a calibration
//! fails and is done again, the vehicle may not leave and then may. Each step is a call of the
//! contract, told as a sentence with the time on the shop's clock and what the service answered. An
//! answer that differs from what the story needs ends it with an error.

mod morning;
mod teller;

use super::{
    DemoError,
    caller::refused,
    day::{Floor, tuesday},
    files,
    report::counted,
    show,
};
use baywright_api::v1::{self, PrerequisiteState, TaskState};
use chrono::{DateTime, TimeDelta, Utc};
use morning::{Happening, Morning, reason_of};
use std::net::SocketAddr;
use teller::Teller;

/// The visit that is followed.
const JOB: &str = "J-2001";
/// The calibration that fails at first.
pub(super) const RADAR: &str = "front-radar";
/// What it waits for.
const PART: &str = "bracket-parts";
/// The last task of the visit.
const LAST: &str = "post-scan";

/// How the story prints.
type Print<'a> = &'a mut dyn FnMut(&str) -> Result<(), DemoError>;

/// Tells it.
pub(super) async fn tell(
    floor: Floor<'_>,
    address: SocketAddr,
    print: Print<'_>,
) -> Result<(), DemoError> {
    let definition = floor.caller.shop().await?;
    let zone = show::zone_of(&definition)?;
    let morning = Morning::new(floor, &definition, zone).await?;
    let teller = Teller::new(floor, zone, print);
    let mut story = Story { floor, morning, teller };
    story.teller.opening(address)?;
    story.estimate().await?;
    story.arrival().await?;
    story.supplement().await?;
    story.late_part().await?;
    story.failure().await?;
    story.refused_hand_back().await?;
    story.redo().await?;
    story.hand_back().await?;
    story.teller.ending()
}

struct Story<'a> {
    floor: Floor<'a>,
    morning: Morning<'a>,
    teller: Teller<'a>,
}

impl Story<'_> {
    async fn estimate(&mut self) -> Result<(), DemoError> {
        let plan = self.floor.caller.plan().await?;
        let answer = format!(
            "plan {}: {}, {} late",
            plan.revision,
            counted(plan.assignments.len(), "task"),
            counted(plan.late_jobs.len(), "job")
        );
        self.teller.step("The manager plans the day.", &[answer])?;
        let job = self.floor.caller.submit_estimate(files::later(files::STORY)?).await?;
        let proposed = proposed(&job);
        needs("the mirror to call for surround-view", &proposed, |all| {
            all.contains("surround-view")
        })?;
        let said =
            format!("A body shop asks for {JOB}: a mirror was replaced, the customer will wait.");
        self.teller.step(&said, &[format!("proposed: {proposed}")])?;
        let job = self.floor.caller.accept(JOB, &[]).await?;
        self.floor
            .caller
            .sign_off(JOB, "authorised", "order signed at the desk (invented)")
            .await?;
        let open = job.tasks.iter().filter(|task| task.state() == TaskState::Open).count();
        self.teller.step(
            "The manager accepts, and the order is signed.",
            &[format!("{open} tasks open")],
        )?;
        self.finish_by_plan("Planned again with it.").await
    }

    async fn arrival(&mut self) -> Result<(), DemoError> {
        self.pass_until(tuesday(7, 40)).await?;
        self.floor.caller.record_arrival(JOB, "front-row", "K-21").await?;
        let job = self.floor.caller.job(JOB).await?;
        let state = job.state().as_str_name();
        needs("the vehicle to be on site", state, |state| state == "JOB_STATE_ON_SITE")?;
        let said = format!("The vehicle of {JOB} arrives and is left on the front row, keys K-21.");
        self.teller.step(&said, &["on site".to_owned()])
    }

    async fn supplement(&mut self) -> Result<(), DemoError> {
        self.pass_until_task("inspection", true).await?;
        self.meanwhile()?;
        self.teller.step(
            "The inspection finds the bracket of the front radar cracked.",
            &["inspection passed".to_owned()],
        )?;
        let job = self.floor.caller.submit_estimate(files::later(files::STORY_SUPPLEMENT)?).await?;
        let proposed = proposed(&job);
        needs("the bracket to call for the front radar", &proposed, |all| all == RADAR)?;
        self.teller.step(
            "The body shop sends a supplement, revision 2 of the estimate.",
            &[format!("proposed: {proposed}")],
        )?;
        self.floor.caller.accept(JOB, &[]).await?;
        let expected = self.floor.hand.now() + TimeDelta::minutes(40);
        self.expect_part(expected).await?;
        let said = format!(
            "The manager accepts; the bracket is on order for {}.",
            self.teller.clock(expected)
        );
        self.teller.step(&said, &["front-radar open, its part on order".to_owned()])?;
        self.finish_by_plan("Planned again with the supplement.").await
    }

    async fn expect_part(&self, expected: DateTime<Utc>) -> Result<(), DemoError> {
        let state = PrerequisiteState::OnOrder;
        self.floor.caller.expect_prerequisite(JOB, PART, state, expected).await
    }

    async fn late_part(&mut self) -> Result<(), DemoError> {
        self.pass_until(self.floor.hand.now() + TimeDelta::minutes(45)).await?;
        self.meanwhile()?;
        let chases = self.floor.caller.chases(JOB).await?;
        let items = chases.iter().flat_map(|chase| &chase.items);
        let overdue: Vec<_> =
            items.filter(|one| one.overdue).map(|one| one.sentence.clone()).collect();
        needs("one thing of the job to be overdue", &overdue.len().to_string(), |count| {
            count == "1"
        })?;
        self.teller.step("The bracket has not come. Whom to chase?", &overdue)?;
        let expected = self.floor.hand.now() + TimeDelta::minutes(30);
        self.expect_part(expected).await?;
        let said = format!("The parts desk now says {}.", self.teller.clock(expected));
        self.teller.step(&said, &["no longer overdue".to_owned()])?;
        self.finish_by_plan("Planned again with the late part.").await?;
        self.pass_until(expected - TimeDelta::minutes(5)).await?;
        self.meanwhile()?;
        let seen = "the right bracket, unpacked (invented)";
        self.floor.caller.sign_off(JOB, PART, seen).await?;
        let job = self.floor.caller.job(JOB).await?;
        let met = job.prerequisites.iter().find(|one| one.prerequisite_id == PART);
        let state = met.map_or("", |one| one.state().as_str_name());
        needs("the part to be there", state, |state| state == "PREREQUISITE_STATE_DONE")?;
        self.teller.step("The bracket is there and is mounted.", &["signed off".to_owned()])
    }

    async fn failure(&mut self) -> Result<(), DemoError> {
        let happening = self.pass_until_task(RADAR, false).await?;
        self.meanwhile()?;
        let bay = happening.bay.clone();
        let said = format!(
            "{} aims the radar in {bay}; the roller door opens beside it, and the attempt fails.",
            happening.technician
        );
        let answer = format!(
            "front-radar failed, conditions record {} kept; {bay} is in doubt for it",
            happening.record
        );
        self.teller.step(&said, &[answer])
    }

    async fn refused_hand_back(&mut self) -> Result<(), DemoError> {
        let check = self.floor.caller.check_hand_back(JOB).await?;
        let against = check.reasons.iter().any(|reason| reason.key == format!("task:{RADAR}"));
        let got = if against { "named" } else { "not named" };
        needs("the failed radar to stand against the hand-back", got, |got| got == "named")?;
        let status = self.floor.caller.hand_back(JOB, Vec::new()).await.err();
        let reason = status.as_ref().and_then(reason_of);
        let reason = reason.map_or("no refusal", |reason| reason.as_str_name());
        needs("the hand-back to be refused", reason, |got| {
            got == "ERROR_REASON_HAND_BACK_REFUSED"
        })?;
        let sentences: Vec<_> =
            check.reasons.iter().map(|reason| format!("refused: {}", reason.sentence)).collect();
        self.teller.step("The customer would like to go. May it be handed back?", &sentences)
    }

    async fn redo(&mut self) -> Result<(), DemoError> {
        let why = "the roller door is locked now (invented)";
        let job = self.floor.caller.redo((JOB, RADAR), why).await?;
        let radar = job.tasks.iter().find(|task| task.task_id == RADAR);
        let state = radar.map_or("", |task| task.state().as_str_name());
        needs("the radar to be open again", state, |state| state == "TASK_STATE_OPEN")?;
        self.teller.step(
            "The door is locked, and the manager allows a new attempt.",
            &["front-radar open again, the doubt cleared".to_owned()],
        )?;
        self.finish_by_plan("Planned again after the failure.").await?;
        let happening = self.pass_until_task(RADAR, true).await?;
        self.meanwhile()?;
        let said = format!("{} aims the radar again, in {}.", happening.technician, happening.bay);
        let answer = format!(
            "front-radar passed at attempt {}, conditions record {} kept",
            happening.attempt, happening.record
        );
        self.teller.step(&said, &[answer])
    }

    async fn hand_back(&mut self) -> Result<(), DemoError> {
        let happening = self.pass_until_task(LAST, true).await?;
        self.meanwhile()?;
        let said = format!("{} scans it a last time.", happening.technician);
        self.teller.step(&said, &["post-scan passed, no codes".to_owned()])?;
        let check = self.floor.caller.check_hand_back(JOB).await?;
        let got =
            check.reasons.iter().map(|one| one.sentence.as_str()).collect::<Vec<_>>().join(" ");
        needs("nothing to stand against the hand-back", &got, str::is_empty)?;
        let job = self.floor.caller.hand_back(JOB, Vec::new()).await;
        let job = job.map_err(|status| refused("the hand-back", &status))?;
        let state = job.state().as_str_name();
        needs("the vehicle to have left", state, |state| state == "JOB_STATE_HANDED_BACK")?;
        let promise = self.teller.time(job.promise_time.as_ref());
        self.teller.step(
            "May it be handed back now? The keys go to the customer.",
            &[format!("allowed: handed back; promised was {promise}")],
        )
    }

    /// Plans again, and says when the visit would end by it.
    async fn finish_by_plan(&mut self, said: &str) -> Result<(), DemoError> {
        let plan = self.floor.caller.plan().await?;
        let finishes = self.floor.caller.finishes().await?;
        let finish = finishes.iter().find(|one| one.job_id == JOB);
        let answer = match finish {
            Some(v1::ProjectedFinish { finish_time: Some(at), promise_time, .. }) => format!(
                "plan {}: {JOB} would be done {}, promised {}",
                plan.revision,
                self.teller.time(Some(at)),
                self.teller.time(promise_time.as_ref())
            ),
            Some(one) => {
                let got = one.reasons.join(" ");
                return Err(unexpected(&format!("{JOB} to be planned whole"), &got));
            }
            None => return Err(unexpected(&format!("a finish of {JOB}"), "none")),
        };
        self.teller.step(said, &[answer])
    }

    /// Lets the shop work until that instant.
    async fn pass_until(&mut self, at: DateTime<Utc>) -> Result<(), DemoError> {
        while self.floor.hand.now() < at {
            for happening in self.morning.step(at).await? {
                self.passing(&happening)?;
            }
        }
        Ok(())
    }

    /// Says that a task of the visit has ended of which no chapter tells.
    fn passing(&mut self, happening: &Happening) -> Result<(), DemoError> {
        if happening.job != JOB {
            return Ok(());
        }
        let Happening { task, technician, bay, passed, .. } = happening;
        needs(
            &format!("{task} to have passed"),
            if *passed { "passed" } else { "failed" },
            |got| got == "passed",
        )?;
        let place = if bay.is_empty() { String::new() } else { format!(", in {bay}") };
        self.teller.step(
            &format!("{technician} has done {task}{place}."),
            &[format!("passed, conditions record {} kept", happening.record)],
        )
    }

    /// Lets the shop work until the task of the visit has ended, as the story needs it.
    async fn pass_until_task(&mut self, task: &str, passed: bool) -> Result<Happening, DemoError> {
        let latest = tuesday(17, 0);
        while self.floor.hand.now() < latest {
            let mut found = None;
            for happening in self.morning.step(latest).await? {
                if happening.job == JOB && happening.task == task {
                    found = Some(happening);
                } else {
                    self.passing(&happening)?;
                }
            }
            if let Some(one) = found {
                let got = if one.passed { "passed" } else { "failed" };
                let wanted = if passed { "passed" } else { "failed" };
                needs(&format!("{task} to have {wanted}"), got, |got| got == wanted)?;
                return Ok(one);
            }
        }
        Err(unexpected(&format!("{JOB}/{task} to end today"), "nothing of it by 17:00"))
    }

    fn meanwhile(&mut self) -> Result<(), DemoError> {
        let counts = self.morning.counts_since();
        self.teller.meanwhile(&counts)
    }
}

/// The tasks that are proposed, by name.
fn proposed(job: &v1::Job) -> String {
    let proposed = job.tasks.iter().filter(|task| task.state() == TaskState::Proposed);
    proposed.map(|task| task.task_id.as_str()).collect::<Vec<_>>().join(", ")
}

fn needs(wanted: &str, got: &str, holds: impl Fn(&str) -> bool) -> Result<(), DemoError> {
    if holds(got) { Ok(()) } else { Err(unexpected(wanted, got)) }
}

fn unexpected(wanted: &str, got: &str) -> DemoError {
    DemoError::Unexpected { wanted: wanted.to_owned(), got: format!("\"{got}\"") }
}
