//! An estimate: what the sender's system says about a visit.

use super::Vehicle;
use crate::fault::{Fault, FaultList, Faults};
use crate::ids::{AccountId, JobId, OperationCode, OperationId};
use chrono::{DateTime, Utc};
use std::collections::BTreeSet;

/// The most lines of an estimate.
pub const LINES_MAX: usize = 200;

/// How a vehicle comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ArrivalKind {
    /// The customer waits.
    Waiting,
    /// The customer drops it off.
    DropOff,
    /// It is towed in.
    TowIn,
}

/// One line of an estimate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EstimateLine {
    /// The sender's name of the line.
    pub id: OperationId,
    /// What is done.
    pub code: OperationCode,
    /// What a person reads.
    pub text: String,
}

/// What an estimate is made from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EstimateDraft {
    /// Name of the job.
    pub job: JobId,
    /// Revision, from 1.
    pub revision: u32,
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
    /// Hand-back time that was promised.
    pub promise_at: DateTime<Utc>,
    /// Weight of the promise, 1 to 100.
    pub weight: u32,
    /// Its lines.
    pub lines: Vec<EstimateLine>,
}

/// A checked estimate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Estimate(EstimateDraft);

impl Estimate {
    /// Checks and takes an estimate.
    ///
    /// # Errors
    /// A fault for a revision of 0, a promise at or before the expected arrival, a weight out of
    /// range, no lines or too many, and a line named twice.
    pub fn new(draft: EstimateDraft) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        if draft.revision == 0 {
            faults.push(Fault::new("revision", 0, "be 1 or more", "number revisions from 1"));
        }
        check_visit(&mut faults, draft.expected_arrival_at, draft.promise_at, draft.weight);
        if draft.lines.is_empty() || draft.lines.len() > LINES_MAX {
            faults.push(Fault::new(
                "lines",
                draft.lines.len(),
                format!("hold 1 to {LINES_MAX} lines"),
                "send every line of the estimate in one request",
            ));
        }
        let mut seen = BTreeSet::new();
        for (index, line) in draft.lines.iter().enumerate() {
            if !seen.insert(&line.id) {
                faults.push(Fault::new(
                    format!("lines[{index}].operation_id"),
                    &line.id,
                    "differ from the other lines' names",
                    "lines of two revisions match by this name, so each needs its own",
                ));
            }
        }
        faults.finish(Self(draft))
    }

    /// The estimate's parts.
    pub fn parts(&self) -> &EstimateDraft {
        &self.0
    }
}

/// Notes what is wrong with the times and the weight of a visit.
pub(crate) fn check_visit(
    faults: &mut FaultList,
    expected_arrival_at: DateTime<Utc>,
    promise_at: DateTime<Utc>,
    weight: u32,
) {
    if promise_at <= expected_arrival_at {
        faults.push(Fault::new(
            "promise_time",
            promise_at.to_rfc3339(),
            format!("lie after the expected arrival {}", expected_arrival_at.to_rfc3339()),
            "promise a later hand-back or expect the vehicle earlier",
        ));
    }
    if !(1..=100).contains(&weight) {
        faults.push(Fault::new(
            "weight",
            weight,
            "be a whole number from 1 to 100",
            "leave it out for the usual weight 1",
        ));
    }
}
