//! The adhesive of replaced glass, and the minutes that its maker states.

use crate::reading::{Reading as _, plain, whole};
use crate::time::{required_instant, timestamp};
use crate::v1;
use baywright_core::fault::{FaultList, Faults};
use baywright_core::ids::TaskId;
use baywright_core::work::{Adhesive, AdhesiveDraft, CureMinutes};
use chrono::{DateTime, Utc};

/// Reads what a person told about glass that was set; `task` is the glass task, none for outside
/// work. A task that the message names is not looked at.
///
/// # Errors
/// Every fault of the message.
pub fn adhesive_told(message: &v1::Adhesive, task: Option<TaskId>) -> Result<Adhesive, Faults> {
    let told = |faults: &mut FaultList| {
        let untold = v1::Adhesive { task_id: String::new(), ..message.clone() };
        Some(AdhesiveDraft { task, ..draft(faults, &untold)? })
    };
    whole(told, Adhesive::new, |fault| fault)
}

impl TryFrom<&v1::Adhesive> for Adhesive {
    type Error = Faults;

    fn try_from(message: &v1::Adhesive) -> Result<Self, Faults> {
        whole(|faults| draft(faults, message), Self::new, |fault| fault)
    }
}

fn draft(faults: &mut FaultList, message: &v1::Adhesive) -> Option<AdhesiveDraft> {
    Some(AdhesiveDraft {
        product: message.product.clone(),
        set_at: required_instant(faults, "set_time", message.set_time.as_ref())
            .unwrap_or(DateTime::<Utc>::MIN_UTC),
        temperature_c: message.temperature_c,
        humidity_percent: message.humidity_percent,
        cure: faults.required("cure", message.cure.as_ref(), cure_minutes)?,
        document: message.document.clone(),
        task: faults.name_or_none("task_id", &message.task_id, TaskId::new),
    })
}

impl From<&Adhesive> for v1::Adhesive {
    fn from(adhesive: &Adhesive) -> Self {
        let parts = adhesive.parts();
        Self {
            product: parts.product.clone(),
            set_time: Some(timestamp(parts.set_at)),
            temperature_c: parts.temperature_c,
            humidity_percent: parts.humidity_percent,
            cure: Some(parts.cure.into()),
            document: parts.document.clone(),
            task_id: parts.task.as_ref().map(TaskId::to_string).unwrap_or_default(),
        }
    }
}

impl TryFrom<&v1::CureMinutes> for CureMinutes {
    type Error = Faults;

    fn try_from(message: &v1::CureMinutes) -> Result<Self, Faults> {
        plain(|faults| cure_minutes(faults, message))
    }
}

pub(crate) fn cure_minutes(
    faults: &mut FaultList,
    message: &v1::CureMinutes,
) -> Option<CureMinutes> {
    let v1::CureMinutes { moved_minutes, calibrated_minutes, driven_minutes } = *message;
    faults
        .own(CureMinutes::new(moved_minutes, calibrated_minutes, driven_minutes))
        .or_else(|| CureMinutes::new(0, 0, 0).ok())
}

impl From<CureMinutes> for v1::CureMinutes {
    fn from(cure: CureMinutes) -> Self {
        Self {
            moved_minutes: cure.moved(),
            calibrated_minutes: cure.calibrated(),
            driven_minutes: cure.driven(),
        }
    }
}
