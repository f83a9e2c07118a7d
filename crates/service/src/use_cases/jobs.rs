//! Reading jobs, with the readiness of their tasks.

use super::{
    change_job::load_job,
    known_shop::known_shop,
    page::{PageSizes, page_key, page_size},
};
use crate::{
    app::App,
    error::ServiceError,
    storage::jobs::{self as table, JobKey},
};
use baywright_api::{readiness::readiness_message, v1};
use baywright_core::{
    fault::{Fault, FaultList},
    readiness::readiness,
};
use chrono::DateTime;

const PAGES: PageSizes = PageSizes { usual: 50, most: 200 };

/// Reads a job with the readiness of its tasks.
///
/// # Errors
/// No such job; trouble of storage.
pub async fn get_job(
    app: &App,
    request: v1::GetJobRequest,
) -> Result<v1::GetJobResponse, ServiceError> {
    let loaded = app
        .database
        .read(request, |tx, request| Box::pin(load_job(tx, &request.shop_id, &request.job_id)))
        .await?;
    let now = app.clock.now();
    let readiness = loaded
        .job
        .tasks
        .iter()
        .map(|task| readiness_message(&task.id, &readiness(&loaded.job, task, now)))
        .collect();
    Ok(v1::GetJobResponse { job: Some(loaded.message), readiness })
}

/// Lists jobs by promise, then by name.
///
/// # Errors
/// A page size or token that is none; trouble of storage.
pub async fn list_jobs(
    app: &App,
    request: v1::ListJobsRequest,
) -> Result<v1::ListJobsResponse, ServiceError> {
    let size = page_size(request.page_size, PAGES)?;
    let after = page_key(&request.page_token, read_key)?;
    let states = states(&request.states)?;
    let input = (request.shop_id, states, after, size);
    let mut jobs = app
        .database
        .read(input, |tx, (shop_id, states, after, size)| {
            Box::pin(async move {
                known_shop(tx, shop_id).await?;
                // One more than the page shows whether there is a next one.
                Ok(table::list_jobs(tx, shop_id, states, after.as_ref(), size + 1).await?)
            })
        })
        .await?;
    let size = usize::try_from(size).unwrap_or(usize::MAX);
    let more = jobs.len() > size;
    jobs.truncate(size);
    let next_page_token =
        if more { jobs.last().map(token_after).unwrap_or_default() } else { String::new() };
    Ok(v1::ListJobsResponse { jobs, next_page_token })
}

/// The states asked for; none means expected and on site.
fn states(asked: &[i32]) -> Result<Vec<v1::JobState>, ServiceError> {
    let mut faults = FaultList::new();
    let mut states = Vec::new();
    for (index, number) in asked.iter().enumerate() {
        match v1::JobState::try_from(*number) {
            Ok(v1::JobState::Unspecified) => {}
            Ok(state) => states.push(state),
            Err(_unknown) => {
                let limit = "be expected, on site, handed back or cancelled";
                let remedy = "leave the list empty for those that are expected or on site";
                faults.push(Fault::new(format!("states[{index}]"), number, limit, remedy));
            }
        }
    }
    if states.is_empty() {
        states = vec![v1::JobState::Expected, v1::JobState::OnSite];
    }
    Ok(faults.finish(states)?)
}

fn token_after(job: &v1::Job) -> String {
    let promise = job.promise_time.unwrap_or_default();
    let micros = promise.seconds * 1_000_000 + i64::from(promise.nanos) / 1_000;
    format!("{micros}.{}", job.job_id)
}

fn read_key(token: &str) -> Option<JobKey> {
    let (micros, job_id) = token.split_once('.')?;
    let promise = DateTime::from_timestamp_micros(micros.parse().ok()?)?;
    Some(JobKey { promise, job_id: job_id.to_owned() })
}
