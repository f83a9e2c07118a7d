//! Estimates: what the sender's system says about a visit.

use crate::job::vehicle;
use crate::kinds::{Kind as _, kind_or};
use crate::reading::{Reading as _, whole};
use crate::time::{required_instant, timestamp};
use crate::v1;
use baywright_core::fault::{FaultList, Faults};
use baywright_core::ids::{AccountId, JobId, OperationCode, OperationId};
use baywright_core::work::{ArrivalKind, Estimate, EstimateDraft, EstimateLine};
use chrono::{DateTime, Utc};

/// The weight of a promise that states none.
const WEIGHT_USUAL: u32 = 1;

impl TryFrom<&v1::Estimate> for Estimate {
    type Error = Faults;

    fn try_from(message: &v1::Estimate) -> Result<Self, Faults> {
        whole(|faults| draft(faults, message), Self::new, |fault| fault)
    }
}

fn draft(faults: &mut FaultList, message: &v1::Estimate) -> Option<EstimateDraft> {
    let arrival_time = message.expected_arrival_time.as_ref();
    // The stand-ins are in order, whichever of the two instants was refused.
    let expected_arrival_at = required_instant(faults, "expected_arrival_time", arrival_time)
        .unwrap_or(DateTime::<Utc>::MIN_UTC);
    let promise_at = required_instant(faults, "promise_time", message.promise_time.as_ref())
        .unwrap_or(DateTime::<Utc>::MAX_UTC);
    Some(EstimateDraft {
        job: faults.name("job_id", &message.job_id, JobId::new)?,
        revision: message.revision,
        account: faults.name("account_id", &message.account_id, AccountId::new)?,
        repair_order: faults.line("repair_order", &message.repair_order),
        vehicle: faults.required("vehicle", message.vehicle.as_ref(), vehicle)?,
        expected_arrival_at,
        arrival: kind_or(faults, "arrival", message.arrival, ArrivalKind::DropOff),
        promise_at,
        weight: if message.weight == 0 { WEIGHT_USUAL } else { message.weight },
        lines: faults.each("lines", &message.lines, line),
    })
}

fn line(faults: &mut FaultList, message: &v1::EstimateLine) -> Option<EstimateLine> {
    Some(EstimateLine {
        id: faults.name("operation_id", &message.operation_id, OperationId::new)?,
        code: faults.name("operation_code", &message.operation_code, OperationCode::new)?,
        text: faults.note_or_empty("text", &message.text),
    })
}

impl From<&Estimate> for v1::Estimate {
    fn from(estimate: &Estimate) -> Self {
        let parts = estimate.parts();
        let line = |line: &EstimateLine| v1::EstimateLine {
            operation_id: line.id.to_string(),
            operation_code: line.code.to_string(),
            text: line.text.clone(),
        };
        Self {
            job_id: parts.job.to_string(),
            revision: parts.revision,
            account_id: parts.account.to_string(),
            repair_order: parts.repair_order.clone(),
            vehicle: Some((&parts.vehicle).into()),
            expected_arrival_time: Some(timestamp(parts.expected_arrival_at)),
            arrival: parts.arrival.number(),
            promise_time: Some(timestamp(parts.promise_at)),
            lines: parts.lines.iter().map(line).collect(),
            weight: parts.weight,
        }
    }
}
