//! What people tell about the end of a task, checked: codes, adhesive, notes.

use crate::error::ServiceError;
use baywright_api::v1;
use baywright_core::{
    demand::TaskKind,
    fault::{Fault, FaultList},
    work::{Adhesive, FoundCode, Task},
};
use chrono::{DateTime, Utc};

/// Codes as a scan found them; other tasks find none.
pub(super) fn codes_told(faults: &mut FaultList, messages: &[v1::FoundCode]) -> Vec<FoundCode> {
    let mut codes = Vec::new();
    for (index, message) in messages.iter().enumerate() {
        codes.extend(faults.take(&format!("codes[{index}]"), FoundCode::try_from(message)));
    }
    codes
}

/// Refuses codes from a task that is no scan.
pub(super) fn only_scans_find_codes(
    kind: TaskKind,
    codes: &[FoundCode],
) -> Result<(), ServiceError> {
    let scan = matches!(kind, TaskKind::PreScan | TaskKind::PostScan);
    if scan || codes.is_empty() {
        return Ok(());
    }
    Err(Fault::new(
        "codes",
        format!("a list of {}", codes.len()),
        format!("be empty for a task of the kind {kind}"),
        "record codes with the scan that found them",
    )
    .into())
}

/// Notes a fault where a text that must be stated is empty.
pub(super) fn stated(faults: &mut FaultList, field: &str, text: &str, remedy: &str) {
    if text.trim().is_empty() {
        faults.push(Fault::new(field, "empty", "be stated", remedy));
    }
}

/// Notes a fault where the note about a task in hand is empty.
pub(super) fn stated_note(faults: &mut FaultList, note: &str) {
    stated(faults, "note", note, "say in a few words what was seen");
}

/// Refuses glass of our own without its adhesive's record.
pub(super) fn own_glass_has_adhesive(
    kind: TaskKind,
    adhesive: Option<&Adhesive>,
) -> Result<(), ServiceError> {
    if kind != TaskKind::Glass || adhesive.is_some() {
        return Ok(());
    }
    Err(Fault::new(
        "adhesive",
        "absent",
        "be given for glass",
        "record product, instant, temperature, humidity and the adhesive maker's minutes",
    )
    .into())
}

/// Refuses an adhesive's record for anything but glass, and one of the future.
pub(super) fn check_adhesive(
    kind: TaskKind,
    adhesive: Option<&Adhesive>,
    now: DateTime<Utc>,
) -> Result<(), ServiceError> {
    let Some(adhesive) = adhesive else { return Ok(()) };
    let set_at = adhesive.parts().set_at;
    let fault = if kind != TaskKind::Glass {
        Fault::new(
            "adhesive",
            "given",
            format!("be absent for a task of the kind {kind}"),
            "leave it out; it belongs to the glass task",
        )
    } else if set_at > now {
        Fault::new(
            "adhesive.set_time",
            set_at.to_rfc3339(),
            format!("not lie after now, {}", now.to_rfc3339()),
            "state the instant at which the glass was set",
        )
    } else {
        return Ok(());
    };
    Err(fault.into())
}

/// Refuses to let a task pass that something has undone since the attempt began.
pub(super) fn not_undone_meanwhile(task: &Task) -> Result<(), ServiceError> {
    let Some(undone) = &task.undone else { return Ok(()) };
    let sentence = format!(
        "Since this attempt began {} has undone task {}; end it without a pass and do it again.",
        undone.by, task.id
    );
    Err(ServiceError::NotReady { sentences: vec![sentence] })
}
