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
    faults.finish(())?;
    let input = (id, request.evidence, until);
    app.change_job(
        call,
        input,
        |change, job, (id, evidence, until)| {
            Box::pin(async move {
                let prerequisite = found(job, id.as_ref())?;
                lapses_later(*until, change.now)?;
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
    let expected = optional_instant(&mut faults, "expected_time", request.expected_time.as_ref());
    let state = match request.state() {
        v1::PrerequisiteState::Open => Some(PrerequisiteState::Open),
        v1::PrerequisiteState::Booked => Some(PrerequisiteState::Booked),
        v1::PrerequisiteState::OnOrder => Some(PrerequisiteState::OnOrder),
        v1::PrerequisiteState::Failed => Some(PrerequisiteState::Failed),
        v1::PrerequisiteState::Done | v1::PrerequisiteState::Unspecified => {
            faults.push(Fault::new(
                "state",
                request.state().as_str_name(),
                "be open, booked, on order or failed",
                "sign it off when it is met",
            ));
            None
        }
    };
    faults.finish(())?;
    let input = (id, state, expected, request.party);
    app.change_job(
        call,
        input,
        |change, job, (id, state, expected, party)| {
            Box::pin(async move {
                let id = found(job, id.as_ref())?.id.clone();
                // What had been met and no longer is takes back what was done on it.
                let by = format!("prerequisite {id}, taken back,");
                reopen_prerequisite(job, &id, &by, change.now);
                let prerequisite = found(job, Some(&id))?;
                if let Some(state) = state {
                    prerequisite.state = *state;
                }
                prerequisite.expected_at = *expected;
                if !party.is_empty() {
                    prerequisite.party.clone_from(party);
                }
                Ok(())
            })
        },
        |job| v1::UpdatePrerequisiteResponse { job: Some(job) },
    )
    .await
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

/// A sign-off cannot lapse before it counts.
fn lapses_later(until: Option<DateTime<Utc>>, now: DateTime<Utc>) -> Result<(), ServiceError> {
    match until {
        Some(until) if until <= now => Err(Fault::new(
            "until_time",
            until.to_rfc3339(),
            format!("lie after now, {}", now.to_rfc3339()),
            "leave it out, or give the instant from which it no longer counts",
        )
        .into()),
        Some(_) | None => Ok(()),
    }
}
