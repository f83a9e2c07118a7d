//! The whole shop at work: whoever is on shift and free pulls, starts and finishes; vehicles come when
//! they are expected.
//!
//! Only the clock is simulated: it is moved to the next end of work, arrival or quarter of an hour.
//! What anybody gets is the service's answer to a pull, never a script's.

use super::{JOB, RADAR};
use crate::demo::{DemoError, caller::refused, day::Floor, report::counted};
use baywright_api::{
    technician::technician_from,
    time::instant_from,
    v1::{self, ErrorReason, FailureCause, JobState, TaskState},
};
use baywright_core::{calendar::TimeZone, shop::Technician};
use chrono::{DateTime, TimeDelta, Utc};
use tonic::Status;
use tonic_types::StatusExt as _;

/// Pulls are tried again at least so often, minutes: glass cures without anybody's doing.
const TICK_MINUTES: i64 = 15;

/// Something that a technician has in hand.
#[derive(Debug)]
struct AtWork {
    holding: v1::Holding,
    ends: DateTime<Utc>,
}

/// A task that has ended.
#[derive(Debug, Clone)]
pub(super) struct Happening {
    pub(super) job: String,
    pub(super) task: String,
    pub(super) technician: String,
    /// The bay; empty where none was used.
    pub(super) bay: String,
    pub(super) attempt: u32,
    /// Number of the conditions record.
    pub(super) record: u64,
    pub(super) passed: bool,
}

/// The shop at work.
#[derive(Debug)]
pub(super) struct Morning<'a> {
    floor: Floor<'a>,
    technicians: Vec<Technician>,
    at_work: Vec<AtWork>,
    /// Vehicles that are still to come.
    expected: Vec<(DateTime<Utc>, String)>,
    /// Vehicles that stand in a bay and are done there.
    to_move: Vec<String>,
    ended: usize,
    begun: usize,
    came: usize,
}

impl<'a> Morning<'a> {
    /// The shop as it stands: what was begun goes on.
    pub(super) async fn new(
        floor: Floor<'a>,
        definition: &v1::ShopDefinition,
        zone: TimeZone,
    ) -> Result<Self, DemoError> {
        let mut technicians = Vec::new();
        for message in &definition.technicians {
            technicians.push(technician_from(message, zone).map_err(|faults| {
                DemoError::Unexpected {
                    wanted: "technicians as written down".to_owned(),
                    got: faults.to_string(),
                }
            })?);
        }
        let jobs = floor.caller.jobs().await?;
        let yet_to_come = jobs.iter().filter(|job| job.state() == JobState::Expected);
        let expected = yet_to_come
            .filter_map(|job| {
                Some((instant(job.expected_arrival_time.as_ref())?, job.job_id.clone()))
            })
            .collect();
        let mut morning = Self {
            floor,
            technicians,
            at_work: Vec::new(),
            expected,
            to_move: Vec::new(),
            ended: 0,
            begun: 0,
            came: 0,
        };
        for holding in floor.caller.holdings().await? {
            morning.goes_on(&jobs, holding).await?;
        }
        Ok(morning)
    }

    /// What was held is started, what was paused is resumed, what runs goes on.
    async fn goes_on(&mut self, jobs: &[v1::Job], holding: v1::Holding) -> Result<(), DemoError> {
        let job = jobs.iter().find(|job| job.job_id == holding.job_id);
        let task =
            job.and_then(|job| job.tasks.iter().find(|task| task.task_id == holding.task_id));
        let now = self.floor.hand.now();
        let minutes = TimeDelta::minutes(holding.minutes.into());
        let mut ends = now + minutes;
        match task.map(v1::Task::state) {
            Some(TaskState::Held) => drop(self.floor.caller.start(&holding).await?),
            Some(TaskState::Paused) => self.floor.caller.resume(&holding).await?,
            _ => {
                let began = instant(holding.started_time.as_ref()).unwrap_or(now);
                ends = (began + minutes).max(now);
            }
        }
        self.at_work.push(AtWork { holding, ends });
        Ok(())
    }

    /// Everybody who is free pulls; then the clock moves to what comes next, `until` at the latest,
    /// and that happens. Gives the tasks that have ended.
    pub(super) async fn step(&mut self, until: DateTime<Utc>) -> Result<Vec<Happening>, DemoError> {
        self.free_bays().await?;
        self.pull_all().await?;
        let now = self.floor.hand.now();
        let ends = self.at_work.iter().map(|work| work.ends);
        let comes = self.expected.iter().map(|(at, _)| *at);
        let tick = now + TimeDelta::minutes(TICK_MINUTES);
        let next = ends.chain(comes).chain([tick, until]).min().unwrap_or(until);
        self.floor.hand.move_to(next);
        let now = self.floor.hand.now();
        self.let_in(now).await?;
        let mut happened = Vec::new();
        while let Some(index) = self.at_work.iter().position(|work| work.ends <= now) {
            let work = self.at_work.swap_remove(index);
            happened.push(self.end(&work.holding).await?);
        }
        Ok(happened)
    }

    /// Vehicles that are due arrive.
    async fn let_in(&mut self, now: DateTime<Utc>) -> Result<(), DemoError> {
        let (due, later): (Vec<_>, Vec<_>) =
            std::mem::take(&mut self.expected).into_iter().partition(|(at, _)| *at <= now);
        self.expected = later;
        for (_, job) in due {
            self.floor.caller.record_arrival(&job, "yard", "").await?;
            self.came += 1;
        }
        Ok(())
    }

    /// Vehicles that are done in their bay are moved out, once they may be moved.
    async fn free_bays(&mut self) -> Result<(), DemoError> {
        let now = self.floor.hand.now();
        for job_id in std::mem::take(&mut self.to_move) {
            let job = self.floor.caller.job(&job_id).await?;
            let cured = job.adhesives.iter().filter_map(movable_at).max();
            if cured.is_some_and(|cured| now < cured) {
                self.to_move.push(job_id);
            } else {
                self.floor.caller.move_vehicle(&job_id, "yard").await?;
            }
        }
        Ok(())
    }

    async fn pull_all(&mut self) -> Result<(), DemoError> {
        let now = self.floor.hand.now();
        let on_shift = self.technicians.iter().filter(|one| one.is_on_shift(now));
        let on_shift: Vec<String> = on_shift.map(|one| one.id().to_string()).collect();
        for technician in on_shift {
            let busy = |work: &AtWork| work.holding.technician_ids.contains(&technician);
            if self.at_work.iter().any(busy) {
                continue;
            }
            let holding = match self.floor.caller.pull(&technician).await {
                Ok(holding) => holding,
                Err(status) if has_nothing(&status) => continue,
                Err(status) => return Err(refused(&format!("{technician}'s pull"), &status)),
            };
            let holding = self.floor.caller.start(&holding).await?;
            let ends = self.floor.hand.now() + TimeDelta::minutes(holding.minutes.into());
            self.to_move.retain(|job| *job != holding.job_id);
            self.at_work.push(AtWork { holding, ends });
            self.begun += 1;
        }
        Ok(())
    }

    /// Finishes a task; the radar of the story's visit fails at its first attempt.
    async fn end(&mut self, holding: &v1::Holding) -> Result<Happening, DemoError> {
        let fails = holding.job_id == JOB && holding.task_id == RADAR && holding.attempt == 1;
        let record = if fails {
            let note = "the roller door beside the bay opened while the radar was aimed (invented)";
            self.floor.caller.fail(holding, FailureCause::Environment, note).await?
        } else {
            self.floor.caller.finish(holding, Vec::new(), self.floor.hand.now()).await?
        };
        self.ended += 1;
        if holding.place.is_some() {
            self.to_move.push(holding.job_id.clone());
        }
        Ok(Happening {
            job: holding.job_id.clone(),
            task: holding.task_id.clone(),
            technician: capital(&holding.technician_id),
            bay: holding.place.as_ref().map(|place| place.bay_id.clone()).unwrap_or_default(),
            attempt: holding.attempt,
            record: record.number,
            passed: !fails,
        })
    }

    /// What has happened since this was asked last, in words; empty where nothing has.
    pub(super) fn counts_since(&mut self) -> String {
        let counts = [
            (std::mem::take(&mut self.begun), "begun"),
            (std::mem::take(&mut self.ended), "ended"),
        ];
        let tasks = counts.into_iter().filter(|(count, _)| *count > 0);
        let mut words: Vec<_> =
            tasks.map(|(count, what)| format!("{} {what}", counted(count, "task"))).collect();
        let came = std::mem::take(&mut self.came);
        if came > 0 {
            words.push(format!("{} arrived", counted(came, "vehicle")));
        }
        words.join(", ")
    }
}

/// Why the service refused.
pub(super) fn reason_of(status: &Status) -> Option<ErrorReason> {
    let details = status.get_error_details();
    ErrorReason::from_str_name(&format!("ERROR_REASON_{}", details.error_info()?.reason))
}

/// Whether a pull found nothing that this technician could take now.
fn has_nothing(status: &Status) -> bool {
    matches!(
        reason_of(status),
        Some(ErrorReason::NothingReady | ErrorReason::NoFittingBay | ErrorReason::HeldElsewhere)
    )
}

fn movable_at(adhesive: &v1::Adhesive) -> Option<DateTime<Utc>> {
    let minutes = adhesive.cure.as_ref()?.moved_minutes;
    Some(instant(adhesive.set_time.as_ref())? + TimeDelta::minutes(minutes.into()))
}

fn instant(at: Option<&prost_types::Timestamp>) -> Option<DateTime<Utc>> {
    instant_from(at?).ok()
}

/// A technician's name as a sentence begins with it.
fn capital(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
