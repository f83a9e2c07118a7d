//! A job: one vehicle's visit, with everything that decisions about it need.

use super::estimate::check_visit;
use super::{Adhesive, ArrivalKind, Decision, Prerequisite, Task};
use crate::demand::SensorFamily;
use crate::fault::{Fault, FaultList, Faults};
use crate::ids::{
    AccountId, BayId, JobId, OperationCode, OperationId, PrerequisiteId, SpotId, StationId, TaskId,
    VehicleClassId,
};
use crate::vin::Vin;
use chrono::{DateTime, Utc};
use std::collections::BTreeSet;
use std::fmt;

/// State of a job: expected -> on site -> handed back; or cancelled while expected.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum JobState {
    /// The vehicle has yet to come.
    Expected,
    /// The vehicle is in the shop.
    OnSite,
    /// The vehicle has left.
    HandedBack,
    /// It will not come.
    Cancelled,
}

/// What may happen to a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum JobEvent {
    /// The vehicle comes.
    Arrive,
    /// The vehicle leaves.
    HandBack,
    /// The vehicle will not come.
    Cancel,
}

impl JobEvent {
    /// Every event.
    pub const ALL: [Self; 3] = [Self::Arrive, Self::HandBack, Self::Cancel];

    /// The word for it, as in "cannot be cancelled".
    pub fn as_participle(self) -> &'static str {
        match self {
            Self::Arrive => "recorded as arrived",
            Self::HandBack => "handed back",
            Self::Cancel => "cancelled",
        }
    }
}

/// A transition of a job that the state machine does not draw.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a job that is {} cannot be {}", state.as_str(), event.as_participle())]
pub struct IllegalJobTransition {
    /// Where the job stands.
    pub state: JobState,
    /// What was asked.
    pub event: JobEvent,
}

impl JobState {
    /// Every state, in the order drawn.
    pub const ALL: [Self; 4] = [Self::Expected, Self::OnSite, Self::HandedBack, Self::Cancelled];

    /// The state after `event`.
    ///
    /// # Errors
    /// [`IllegalJobTransition`] where the state machine draws no such arrow.
    pub fn after(self, event: JobEvent) -> Result<Self, IllegalJobTransition> {
        match (self, event) {
            (Self::Expected, JobEvent::Arrive) => Ok(Self::OnSite),
            (Self::OnSite, JobEvent::HandBack) => Ok(Self::HandedBack),
            (Self::Expected, JobEvent::Cancel) => Ok(Self::Cancelled),
            _ => Err(IllegalJobTransition { state: self, event }),
        }
    }

    /// Whether the visit is over, so that nothing of the job changes any more.
    pub fn has_ended(self) -> bool {
        matches!(self, Self::HandedBack | Self::Cancelled)
    }

    /// The word for it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Expected => "expected",
            Self::OnSite => "on site",
            Self::HandedBack => "handed back",
            Self::Cancelled => "cancelled",
        }
    }
}

/// The vehicle of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Vehicle {
    /// Vehicle identification number, where it is known.
    pub vin: Option<Vin>,
    /// Class, as the shop has written it down.
    pub class: VehicleClassId,
    /// Sensors fitted.
    pub sensors: BTreeSet<SensorFamily>,
}

/// State of an operation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum OperationState {
    /// A rule knows it.
    Called,
    /// No rule knows it: a person must say what it calls for.
    NeedsDecision,
    /// A person said what it calls for.
    Decided,
    /// The last revision of the estimate no longer has it.
    Withdrawn,
}

/// One line of an estimate as the shop keeps it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Operation {
    /// The sender's name of the line.
    pub id: OperationId,
    /// What is done.
    pub code: OperationCode,
    /// What a person reads.
    pub text: String,
    /// Where it stands.
    pub state: OperationState,
    /// Who decided what it calls for.
    pub decision: Option<Decision>,
    /// When it was recorded as done outside.
    pub done_outside_at: Option<DateTime<Utc>>,
}

/// A place: one pose in one bay.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The bay.
    pub bay: BayId,
    /// The station.
    pub station: StationId,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.bay, self.station)
    }
}

/// Where a vehicle stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Whereabouts {
    /// On a station of a bay.
    Place(Place),
    /// On a spot outside of the bays.
    Spot(SpotId),
}

/// Who said where a vehicle stands, and when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moved {
    /// Who.
    pub actor: String,
    /// When.
    pub at: DateTime<Utc>,
}

/// A code that the last scan found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FoundCode {
    /// The code as read.
    pub code: String,
    /// What it says.
    pub text: String,
    /// Whether it forbids calibration and hand-back.
    pub blocking: bool,
}

/// A manager's recorded exception to one reason against a hand-back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HandBackException {
    /// Key of the reason.
    pub reason_key: String,
    /// The manager's name.
    pub manager: String,
    /// Why the vehicle may leave all the same.
    pub reason: String,
    /// When it was recorded.
    pub at: DateTime<Utc>,
}

/// What changes about a visit; what is absent stays.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct VisitChange {
    /// Hand-back time that is promised now.
    pub promise_at: Option<DateTime<Utc>>,
    /// When the vehicle is expected.
    pub expected_arrival_at: Option<DateTime<Utc>>,
    /// How it comes.
    pub arrival: Option<ArrivalKind>,
    /// Weight of the promise.
    pub weight: Option<u32>,
    /// Vehicle identification number.
    pub vin: Option<Vin>,
}

/// What is known of a visit when it is agreed on.
#[derive(Debug, Clone, PartialEq)]
pub struct Visit {
    /// Name of the job.
    pub id: JobId,
    /// The account that sends it.
    pub account: AccountId,
    /// Repair-order number as printed.
    pub repair_order: String,
    /// The vehicle.
    pub vehicle: Vehicle,
    /// When it is expected.
    pub expected_arrival_at: DateTime<Utc>,
    /// How it comes.
    pub arrival: ArrivalKind,
    /// Hand-back time that is promised.
    pub promise_at: DateTime<Utc>,
    /// Weight of the promise.
    pub weight: u32,
}

/// One vehicle's visit.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Name of the job.
    pub id: JobId,
    /// The account that sent it.
    pub account: AccountId,
    /// Repair-order number as printed.
    pub repair_order: String,
    /// The vehicle.
    pub vehicle: Vehicle,
    /// When it is expected.
    pub expected_arrival_at: DateTime<Utc>,
    /// How it comes.
    pub arrival: ArrivalKind,
    /// Hand-back time that was promised.
    pub promise_at: DateTime<Utc>,
    /// Weight of the promise.
    pub weight: u32,
    /// Where it stands.
    pub state: JobState,
    /// When it came.
    pub arrived_at: Option<DateTime<Utc>>,
    /// When it left.
    pub handed_back_at: Option<DateTime<Utc>>,
    /// Last revision of the estimate.
    pub estimate_revision: u32,
    /// Lines of all revisions.
    pub operations: Vec<Operation>,
    /// Its tasks.
    pub tasks: Vec<Task>,
    /// Its prerequisites.
    pub prerequisites: Vec<Prerequisite>,
    /// Where the vehicle stands now, where that is known.
    pub whereabouts: Option<Whereabouts>,
    /// Codes of the last scan.
    pub codes: Vec<FoundCode>,
    /// Adhesive of each glass that was set.
    pub adhesives: Vec<Adhesive>,
    /// Exceptions recorded for the hand-back.
    pub exceptions: Vec<HandBackException>,
    /// Tag of the keys; empty where it is not known.
    pub key_tag: String,
    /// Who last said where the vehicle stands, and when.
    pub moved: Option<Moved>,
    /// Who cancelled the job, when and why.
    pub cancellation: Option<Decision>,
}

impl Job {
    /// A job of which only the visit is known yet.
    pub fn expected(visit: Visit) -> Self {
        Self {
            id: visit.id,
            account: visit.account,
            repair_order: visit.repair_order,
            vehicle: visit.vehicle,
            expected_arrival_at: visit.expected_arrival_at,
            arrival: visit.arrival,
            promise_at: visit.promise_at,
            weight: visit.weight,
            state: JobState::Expected,
            arrived_at: None,
            handed_back_at: None,
            estimate_revision: 0,
            operations: Vec::new(),
            tasks: Vec::new(),
            prerequisites: Vec::new(),
            whereabouts: None,
            codes: Vec::new(),
            adhesives: Vec::new(),
            exceptions: Vec::new(),
            key_tag: String::new(),
            moved: None,
            cancellation: None,
        }
    }

    /// Takes the step that `event` draws.
    ///
    /// # Errors
    /// [`IllegalJobTransition`] where there is none; the job is unchanged then.
    pub fn step(&mut self, event: JobEvent) -> Result<(), IllegalJobTransition> {
        self.state = self.state.after(event)?;
        Ok(())
    }

    /// The task of that name.
    pub fn task(&self, id: &TaskId) -> Option<&Task> {
        self.tasks.iter().find(|task| task.id == *id)
    }

    /// The task of that name, to be changed.
    pub fn task_mut(&mut self, id: &TaskId) -> Option<&mut Task> {
        self.tasks.iter_mut().find(|task| task.id == *id)
    }

    /// The prerequisite of that name, to be changed.
    pub fn prerequisite_mut(&mut self, id: &PrerequisiteId) -> Option<&mut Prerequisite> {
        self.prerequisites.iter_mut().find(|prerequisite| prerequisite.id == *id)
    }

    /// The operation of that name, to be changed.
    pub fn operation_mut(&mut self, id: &OperationId) -> Option<&mut Operation> {
        self.operations.iter_mut().find(|operation| operation.id == *id)
    }

    /// Notes the adhesive of a glass, in place of an earlier record of the same glass.
    pub fn note_adhesive(&mut self, adhesive: Adhesive) {
        // Of glass set outside nobody knows which it replaces, so every record of it binds.
        if let Some(glass) = adhesive.parts().task.clone() {
            self.forget_adhesive(&glass);
        }
        self.adhesives.push(adhesive);
    }

    /// Forgets the adhesive of a glass task whose glass is out.
    pub fn forget_adhesive(&mut self, glass: &TaskId) {
        self.adhesives.retain(|kept| kept.parts().task.as_ref() != Some(glass));
    }

    /// First instant at which the vehicle may be moved, by every glass; none without glass.
    pub fn movable_at(&self) -> Option<DateTime<Utc>> {
        self.adhesives.iter().map(Adhesive::movable_at).max()
    }

    /// First instant at which sensors behind glass may be calibrated, by every glass.
    pub fn calibratable_at(&self) -> Option<DateTime<Utc>> {
        self.adhesives.iter().map(|one| one.calibratable_at().max(one.movable_at())).max()
    }

    /// First instant at which the vehicle may be driven, by every glass.
    pub fn drivable_at(&self) -> Option<DateTime<Utc>> {
        self.adhesives.iter().map(|one| one.drivable_at().max(one.movable_at())).max()
    }

    /// The place where the vehicle stands, when it stands in a bay.
    pub fn standing_place(&self) -> Option<&Place> {
        match &self.whereabouts {
            Some(Whereabouts::Place(place)) => Some(place),
            Some(Whereabouts::Spot(_)) | None => None,
        }
    }

    /// Changes what was said about the visit.
    ///
    /// # Errors
    /// Every fault of the change at once; nothing is changed then.
    pub fn change_visit(&mut self, change: VisitChange) -> Result<(), Faults> {
        let mut faults = FaultList::new();
        let expected = change.expected_arrival_at.unwrap_or(self.expected_arrival_at);
        let promise = change.promise_at.unwrap_or(self.promise_at);
        let weight = change.weight.unwrap_or(self.weight);
        check_visit(&mut faults, expected, promise, weight);
        if change.expected_arrival_at.is_some() && self.state != JobState::Expected {
            faults.push(Fault::new(
                "expected_arrival_time",
                expected.to_rfc3339(),
                format!("not change once the job is {}", self.state.as_str()),
                "leave it out of the update",
            ));
        }
        faults.finish(())?;
        self.expected_arrival_at = expected;
        self.promise_at = promise;
        self.weight = weight;
        self.arrival = change.arrival.unwrap_or(self.arrival);
        if change.vin.is_some() {
            self.vehicle.vin = change.vin;
        }
        Ok(())
    }

    /// What a person should know about the job, though it stops nothing.
    pub fn warnings(&self) -> Vec<String> {
        let mut warnings = Vec::new();
        if let Some(vin) = &self.vehicle.vin
            && !vin.check_digit_valid()
        {
            warnings.push(format!(
                "The check digit of VIN {vin} is wrong; read the number again at the vehicle. Vehicles \
                 built for some markets carry no valid one."
            ));
        }
        warnings
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The arrows as the contract draws them.
    const DRAWN: &[(JobState, JobEvent, JobState)] = &[
        (JobState::Expected, JobEvent::Arrive, JobState::OnSite),
        (JobState::Expected, JobEvent::Cancel, JobState::Cancelled),
        (JobState::OnSite, JobEvent::HandBack, JobState::HandedBack),
    ];

    #[test]
    fn a_job_goes_where_an_arrow_is_drawn_and_nowhere_else() {
        for state in JobState::ALL {
            for event in JobEvent::ALL {
                let drawn = DRAWN
                    .iter()
                    .find(|(from, by, _)| (*from, *by) == (state, event))
                    .map(|(_, _, to)| *to)
                    .ok_or(IllegalJobTransition { state, event });
                assert_eq!(state.after(event), drawn, "{state:?} {event:?}");
            }
        }
    }
}
