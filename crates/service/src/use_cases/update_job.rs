//! Changing what was said about a visit.

use super::{change_job::JobCall, prerequisites::optional_instant};
use crate::{app::App, error::ServiceError};
use baywright_api::{kinds::stated_kind, v1};
use baywright_core::{
    fault::{Fault, FaultList},
    vin::Vin,
    work::{JobState, VisitChange},
};

/// The fields that an update may name.
const FIELDS: [&str; 5] = ["promise_time", "expected_arrival_time", "arrival", "weight", "vin"];

/// Changes promise, expected arrival, how the vehicle comes, weight or VIN.
///
/// # Errors
/// An empty mask or one that names another field; no etag or an old one; a promise before the
/// arrival; a job that has ended.
pub async fn update_job(
    app: &App,
    request: v1::UpdateJobRequest,
) -> Result<v1::UpdateJobResponse, ServiceError> {
    let call = JobCall::new(&request, app.clock.now())?;
    let change = change_asked(&request)?;
    app.change_job(
        call,
        change,
        |_, job, change| {
            Box::pin(async move {
                if matches!(job.state, JobState::HandedBack | JobState::Cancelled) {
                    return Err(ServiceError::IllegalTransition {
                        kind: "job",
                        id: job.id.to_string(),
                        state: job.state.as_str().to_owned(),
                        wanted: "changed".to_owned(),
                    });
                }
                Ok(job.change_visit(*change)?)
            })
        },
        |job| v1::UpdateJobResponse { job: Some(job) },
    )
    .await
}

fn change_asked(request: &v1::UpdateJobRequest) -> Result<VisitChange, ServiceError> {
    let mut faults = FaultList::new();
    if request.etag.is_empty() {
        let remedy = "read the job and send its etag, so that no change of somebody else is lost";
        faults.push(Fault::new("etag", "empty", "be given", remedy));
    }
    let paths = request.update_mask.as_ref().map_or(&[][..], |mask| &mask.paths);
    let limit = format!("name one or more of {}", FIELDS.join(", "));
    if paths.is_empty() {
        faults.push(Fault::new("update_mask", "empty", limit.as_str(), "say what changes"));
    }
    for (index, path) in paths.iter().enumerate() {
        if !FIELDS.contains(&path.as_str()) {
            let field = format!("update_mask.paths[{index}]");
            faults.push(Fault::new(field, path, limit.as_str(), "leave this path out"));
        }
    }
    let asked = |field: &str| paths.iter().any(|path| path == field);
    let mut change = VisitChange::default();
    for (field, time, into) in [
        ("promise_time", &request.promise_time, &mut change.promise_at),
        ("expected_arrival_time", &request.expected_arrival_time, &mut change.expected_arrival_at),
    ] {
        if asked(field) {
            *into = optional_instant(&mut faults, field, time.as_ref());
            if time.is_none() {
                faults.push(Fault::new(field, "absent", "be given", "state the instant"));
            }
        }
    }
    if asked("arrival") {
        change.arrival = faults.take("arrival", stated_kind(request.arrival)).flatten();
        if request.arrival == 0 {
            let limit = "be waiting, drop-off or tow-in";
            faults.push(Fault::new("arrival", "not stated", limit, "say how it comes"));
        }
    }
    if asked("weight") {
        change.weight = Some(request.weight);
    }
    if asked("vin") {
        change.vin = faults.take("", Vin::parse(&request.vin));
    }
    Ok(faults.finish(change)?)
}
