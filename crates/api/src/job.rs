//! Jobs as they are stored and shown, and the parts that belong to them alone.
//!
//! What is read here was written by [`job_message`]: texts were checked when they came in and are
//! taken as they stand; names, kinds and instants are checked again.

use crate::hand_back;
use crate::kinds::{Kind as _, kind_or};
use crate::prerequisite::prerequisite;
use crate::reading::{Reading as _, plain};
use crate::task::{decision, task};
use crate::time::{optional_instant, required_instant, timestamp};
use crate::v1;
use crate::v1::whereabouts::Where;
use baywright_core::demand::SensorFamily;
use baywright_core::fault::{FaultList, Faults};
use baywright_core::ids::{
    AccountId, BayId, JobId, OperationCode, OperationId, ShopId, SpotId, StationId, VehicleClassId,
};
use baywright_core::vin::Vin;
use baywright_core::work::{
    Adhesive, ArrivalKind, FoundCode, Job, JobState, Moved, Operation, OperationState, Place,
    Vehicle, Whereabouts,
};

/// The longest code that a scan finds, in characters.
pub const CODE_LENGTH_MAX: usize = 32;

/// Writes a job of a shop, with the etag that it has now and its warnings.
pub fn job_message(job: &Job, shop: &ShopId, etag: &str) -> v1::Job {
    v1::Job {
        shop_id: shop.to_string(),
        job_id: job.id.to_string(),
        account_id: job.account.to_string(),
        repair_order: job.repair_order.clone(),
        vehicle: Some((&job.vehicle).into()),
        expected_arrival_time: Some(timestamp(job.expected_arrival_at)),
        arrival: job.arrival.number(),
        promise_time: Some(timestamp(job.promise_at)),
        weight: job.weight,
        state: job.state.number(),
        arrived_time: job.arrived_at.map(timestamp),
        handed_back_time: job.handed_back_at.map(timestamp),
        estimate_revision: job.estimate_revision,
        operations: job.operations.iter().map(Into::into).collect(),
        tasks: job.tasks.iter().map(Into::into).collect(),
        prerequisites: job.prerequisites.iter().map(Into::into).collect(),
        whereabouts: job.whereabouts.as_ref().map(Into::into),
        codes: job.codes.iter().map(Into::into).collect(),
        adhesives: job.adhesives.iter().map(Into::into).collect(),
        hand_back_exceptions: job.exceptions.iter().map(Into::into).collect(),
        etag: etag.to_owned(),
        warnings: job.warnings(),
        key_tag: job.key_tag.clone(),
        moved_by: job.moved.as_ref().map(|moved| moved.actor.clone()).unwrap_or_default(),
        moved_time: job.moved.as_ref().map(|moved| timestamp(moved.at)),
        cancellation: job.cancellation.as_ref().map(Into::into),
    }
}

impl TryFrom<&v1::Job> for Job {
    type Error = Faults;

    /// Reads a stored job; shop, etag and warnings are not part of it.
    fn try_from(message: &v1::Job) -> Result<Self, Faults> {
        plain(|faults| job(faults, message))
    }
}

fn job(faults: &mut FaultList, message: &v1::Job) -> Option<Job> {
    let arrival_time = message.expected_arrival_time.as_ref();
    let left_time = message.handed_back_time.as_ref();
    let exceptions = &message.hand_back_exceptions;
    Some(Job {
        id: faults.name("job_id", &message.job_id, JobId::new)?,
        account: faults.name("account_id", &message.account_id, AccountId::new)?,
        repair_order: message.repair_order.clone(),
        vehicle: faults.required("vehicle", message.vehicle.as_ref(), vehicle)?,
        expected_arrival_at: required_instant(faults, "expected_arrival_time", arrival_time)
            .unwrap_or_default(),
        arrival: kind_or(faults, "arrival", message.arrival, ArrivalKind::DropOff),
        promise_at: required_instant(faults, "promise_time", message.promise_time.as_ref())
            .unwrap_or_default(),
        weight: message.weight,
        state: kind_or(faults, "state", message.state, JobState::Expected),
        arrived_at: optional_instant(faults, "arrived_time", message.arrived_time.as_ref()),
        handed_back_at: optional_instant(faults, "handed_back_time", left_time),
        estimate_revision: message.estimate_revision,
        operations: faults.each("operations", &message.operations, operation),
        tasks: faults.each("tasks", &message.tasks, task),
        prerequisites: faults.each("prerequisites", &message.prerequisites, prerequisite),
        whereabouts: faults.optional("whereabouts", message.whereabouts.as_ref(), whereabouts),
        codes: message.codes.iter().map(code_as_kept).collect(),
        adhesives: faults.each("adhesives", &message.adhesives, |faults, kept| {
            faults.own(Adhesive::try_from(kept))
        }),
        exceptions: faults.each("hand_back_exceptions", exceptions, hand_back::exception_as_kept),
        key_tag: message.key_tag.clone(),
        moved: optional_instant(faults, "moved_time", message.moved_time.as_ref())
            .map(|at| Moved { actor: message.moved_by.clone(), at }),
        cancellation: faults.optional("cancellation", message.cancellation.as_ref(), decision),
    })
}

impl TryFrom<&v1::Vehicle> for Vehicle {
    type Error = Faults;

    fn try_from(message: &v1::Vehicle) -> Result<Self, Faults> {
        plain(|faults| vehicle(faults, message))
    }
}

pub(crate) fn vehicle(faults: &mut FaultList, message: &v1::Vehicle) -> Option<Vehicle> {
    let mut sensors = Vec::new();
    for (at, number) in message.sensors.iter().enumerate() {
        sensors.extend(faults.take(&format!("sensors[{at}]"), SensorFamily::from_number(*number)));
    }
    let class = &message.vehicle_class_id;
    Some(Vehicle {
        vin: if message.vin.is_empty() {
            None
        } else {
            faults.leaf("vin", Vin::parse(&message.vin))
        },
        class: faults.name("vehicle_class_id", class, VehicleClassId::new)?,
        sensors: sensors.into_iter().collect(),
    })
}

impl From<&Vehicle> for v1::Vehicle {
    fn from(vehicle: &Vehicle) -> Self {
        Self {
            vin: vehicle.vin.map(|vin| vin.to_string()).unwrap_or_default(),
            vehicle_class_id: vehicle.class.to_string(),
            sensors: vehicle.sensors.iter().map(|sensor| sensor.number()).collect(),
        }
    }
}

fn operation(faults: &mut FaultList, message: &v1::Operation) -> Option<Operation> {
    let outside_time = message.done_outside_time.as_ref();
    Some(Operation {
        id: faults.name("operation_id", &message.operation_id, OperationId::new)?,
        code: faults.name("operation_code", &message.operation_code, OperationCode::new)?,
        text: message.text.clone(),
        state: kind_or(faults, "state", message.state, OperationState::NeedsDecision),
        decision: faults.optional("decision", message.decision.as_ref(), decision),
        done_outside_at: optional_instant(faults, "done_outside_time", outside_time),
    })
}

impl From<&Operation> for v1::Operation {
    fn from(operation: &Operation) -> Self {
        Self {
            operation_id: operation.id.to_string(),
            operation_code: operation.code.to_string(),
            text: operation.text.clone(),
            state: operation.state.number(),
            decision: operation.decision.as_ref().map(Into::into),
            done_outside_time: operation.done_outside_at.map(timestamp),
        }
    }
}

/// Reads where a vehicle stands; none means not in the shop or not known.
///
/// # Errors
/// Every fault of a place or spot.
pub fn whereabouts_from(message: &v1::Whereabouts) -> Result<Option<Whereabouts>, Faults> {
    let mut faults = FaultList::new();
    let stands = whereabouts(&mut faults, message);
    faults.finish(stands)
}

fn whereabouts(faults: &mut FaultList, message: &v1::Whereabouts) -> Option<Whereabouts> {
    match message.r#where.as_ref()? {
        Where::Place(stands) => {
            faults.inside("place", |faults| place(faults, stands)).map(Whereabouts::Place)
        }
        Where::SpotId(id) => faults.name("spot_id", id, SpotId::new).map(Whereabouts::Spot),
    }
}

impl From<&Whereabouts> for v1::Whereabouts {
    fn from(whereabouts: &Whereabouts) -> Self {
        let stands = match whereabouts {
            Whereabouts::Place(place) => Where::Place(place.into()),
            Whereabouts::Spot(id) => Where::SpotId(id.to_string()),
        };
        Self { r#where: Some(stands) }
    }
}

impl TryFrom<&v1::Place> for Place {
    type Error = Faults;

    fn try_from(message: &v1::Place) -> Result<Self, Faults> {
        plain(|faults| place(faults, message))
    }
}

pub(crate) fn place(faults: &mut FaultList, message: &v1::Place) -> Option<Place> {
    Some(Place {
        bay: faults.name("bay_id", &message.bay_id, BayId::new)?,
        station: faults.name("station_id", &message.station_id, StationId::new)?,
    })
}

impl From<&Place> for v1::Place {
    fn from(place: &Place) -> Self {
        Self { bay_id: place.bay.to_string(), station_id: place.station.to_string() }
    }
}

impl TryFrom<&v1::FoundCode> for FoundCode {
    type Error = Faults;

    /// Reads a code as a technician tells it.
    fn try_from(message: &v1::FoundCode) -> Result<Self, Faults> {
        plain(|faults| {
            let code = &message.code;
            let fits = (1..=CODE_LENGTH_MAX).contains(&code.chars().count())
                && !code.trim().is_empty()
                && !code.chars().any(char::is_control);
            if !fits {
                let value = format!("\"{}\"", code.escape_debug());
                let limit = format!("be one line of 1 to {CODE_LENGTH_MAX} characters");
                faults.note("code", value, &limit, "copy the code as the scan shows it");
            }
            faults.note_or_empty("text", &message.text);
            Some(code_as_kept(message))
        })
    }
}

fn code_as_kept(message: &v1::FoundCode) -> FoundCode {
    FoundCode { code: message.code.clone(), text: message.text.clone(), blocking: message.blocking }
}

impl From<&FoundCode> for v1::FoundCode {
    fn from(found: &FoundCode) -> Self {
        Self { code: found.code.clone(), text: found.text.clone(), blocking: found.blocking }
    }
}
