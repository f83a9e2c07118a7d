//! Prerequisites: signing off what is met, and noting where the others stand.

use super::{cancelling::not_ended, change_job::JobCall};
use crate::{app::App, error::ServiceError};
use baywright_api::{time::instant_from, v1};
use baywright_core::{
    fault::{Fault, FaultList},
    ids::PrerequisiteId,
    readiness::reopen_prerequisite,
    work::{Job, Prerequisite, PrerequisiteState},
};
use chrono::{DateTime, Utc};

/// Signs off a prerequisite as met.
///
/// # Errors
/// No such prerequisite; no evidence; a sign-off that would lapse before it counts.
pub async fn sign_off(
    app: &App,
    request: v1::SignOffPrerequisiteRequest,
) -> Result<v1::SignOffPrerequisiteResponse, ServiceError> {
    let now = app.clock.now();
    let call = JobCall::new(&request, now)?;
    // What lay ahead at the first time may be past at a repeat, which gets the same answer.
    if let Some(answer) = app.database.answered(&call.call).await? {
        return Ok(answer);
    }
    let mut faults = FaultList::new();
    let id = faults.take("", PrerequisiteId::new(&request.prerequisite_id));
    if request.evidence.trim().is_empty() {
        faults.push(Fault::new(
            "evidence",
            "empty",
            "be stated",
            "say what was seen, measured or told, and by whom",
        ));
    }
    let until = optional_instant(&mut faults, "until_time", request.until_time.as_ref());
    if let Some(until) = until
        && until <= now
    {
        faults.push(Fault::new(
            "until_time",
            until.to_rfc3339(),
            format!("lie after now, {}", now.to_rfc3339()),
            "leave it out, or give the instant from which it no longer counts",
        ));
    }
    faults.finish(())?;
    let input = (id, request.evidence, until);
    app.change_job(
        call,
        input,
        |change, job, (id, evidence, until)| {
            Box::pin(async move {
                let prerequisite = found(job, id.as_ref())?;
                prerequisite.sign_off(change.actor, change.now, evidence, *until);
                Ok(())
            })
        },
        |job| v1::SignOffPrerequisiteResponse { job: Some(job) },
    )
    .await
}

/// Notes where a prerequisite stands that is not met.
///
/// # Errors
/// No such prerequisite; a state that only a sign-off can give.
pub async fn update(
    app: &App,
    request: v1::UpdatePrerequisiteRequest,
) -> Result<v1::UpdatePrerequisiteResponse, ServiceError> {
    let call = JobCall::new(&request, app.clock.now())?;
    let mut faults = FaultList::new();
    let id = faults.take("", PrerequisiteId::new(&request.prerequisite_id));
    let told = told(&mut faults, &request);
    faults.finish(())?;
    app.change_job(
        call,
        (id, told),
        |change, job, (id, told)| {
            Box::pin(async move {
                let id = found(job, id.as_ref())?.id.clone();
                if let Some(state) = told.state {
                    // What had been met and no longer is takes back what was done on it.
                    let by = format!("prerequisite {id}, taken back,");
                    reopen_prerequisite(job, &id, &by, change.now);
                    found(job, Some(&id))?.state = state;
                }
                let prerequisite = found(job, Some(&id))?;
                if told.changes_expected {
                    prerequisite.expected_at = told.expected;
                }
                if let Some(party) = &told.party {
                    prerequisite.party.clone_from(party);
                }
                Ok(())
            })
        },
        |job| v1::UpdatePrerequisiteResponse { job: Some(job) },
    )
    .await
}

/// The fields that an update may name.
const FIELDS: [&str; 3] = ["state", "expected_time", "party"];

/// What changes.
struct Told {
    state: Option<PrerequisiteState>,
    /// Whether the expected time changes, and to what; it may be that there is none.
    changes_expected: bool,
    expected: Option<DateTime<Utc>>,
    party: Option<String>,
}

/// What the mask names; without one state and expected time, and the party where it is given.
fn told(faults: &mut FaultList, request: &v1::UpdatePrerequisiteRequest) -> Told {
    let paths = request.update_mask.as_ref().map(|mask| &mask.paths[..]);
    let limit = format!("name one or more of {}", FIELDS.join(", "));
    if paths.is_some_and(<[_]>::is_empty) {
        faults.push(Fault::new("update_mask", "empty", limit.as_str(), "say what changes"));
    }
    for (index, path) in paths.unwrap_or_default().iter().enumerate() {
        if !FIELDS.contains(&path.as_str()) {
            let field = format!("update_mask.paths[{index}]");
            faults.push(Fault::new(field, path, limit.as_str(), "leave this path out"));
        }
    }
    let named = |field: &str| paths.is_none_or(|paths| paths.iter().any(|path| path == field));
    let expected = optional_instant(faults, "expected_time", request.expected_time.as_ref());
    Told {
        state: if named("state") { stated(faults, request.state()) } else { None },
        changes_expected: named("expected_time"),
        expected,
        party: (named("party") && (paths.is_some() || !request.party.is_empty()))
            .then(|| request.party.clone()),
    }
}

fn stated(faults: &mut FaultList, state: v1::PrerequisiteState) -> Option<PrerequisiteState> {
    match state {
        v1::PrerequisiteState::Open => Some(PrerequisiteState::Open),
        v1::PrerequisiteState::Booked => Some(PrerequisiteState::Booked),
        v1::PrerequisiteState::OnOrder => Some(PrerequisiteState::OnOrder),
        v1::PrerequisiteState::Failed => Some(PrerequisiteState::Failed),
        v1::PrerequisiteState::Done | v1::PrerequisiteState::Unspecified => {
            let limit = "be open, booked, on order or failed";
            let remedy = "sign it off when it is met";
            faults.push(Fault::new("state", state.as_str_name(), limit, remedy));
            None
        }
    }
}

pub(super) fn optional_instant(
    faults: &mut FaultList,
    field: &str,
    time: Option<&prost_types::Timestamp>,
) -> Option<DateTime<Utc>> {
    faults.take(field, instant_from(time?))
}

fn found<'a>(
    job: &'a mut Job,
    id: Option<&PrerequisiteId>,
) -> Result<&'a mut Prerequisite, ServiceError> {
    not_ended(job)?;
    let name = id.map(PrerequisiteId::as_str).unwrap_or_default();
    id.and_then(|id| job.prerequisite_mut(id))
        .ok_or_else(|| ServiceError::not_found("prerequisite", name))
}
