//! Reading conditions records.

use super::{
    change_job::load_job,
    page::{PageSizes, page_key, page_size},
};
use crate::{app::App, error::ServiceError, storage::records as table};
use baywright_api::v1;

const PAGES: PageSizes = PageSizes { usual: 50, most: 200 };

/// Lists the conditions records of a job, or of one of its tasks.
///
/// # Errors
/// A page size or token that is none; trouble of storage.
pub async fn list_records(
    app: &App,
    request: v1::ListConditionsRecordsRequest,
) -> Result<v1::ListConditionsRecordsResponse, ServiceError> {
    let size = page_size(request.page_size, PAGES)?;
    let after = page_key(&request.page_token, |token| token.parse::<u64>().ok())?.unwrap_or(0);
    let mut records = app
        .database
        .read((request, after, size), |tx, (request, after, size)| {
            Box::pin(async move {
                let job = load_job(tx, &request.shop_id, &request.job_id).await?.job;
                let task = Some(request.task_id.as_str()).filter(|id| !id.is_empty());
                if let Some(id) = task
                    && !job.tasks.iter().any(|task| task.id.as_str() == id)
                {
                    return Err(ServiceError::not_found("task", id));
                }
                let of = (request.job_id.as_str(), task);
                Ok(table::list_records(tx, &request.shop_id, of, *after, size + 1).await?)
            })
        })
        .await?;
    let size = usize::try_from(size).unwrap_or(usize::MAX);
    let more = records.len() > size;
    records.truncate(size);
    let last = records.last().filter(|_| more);
    let next_page_token = last.map(|record| record.number.to_string()).unwrap_or_default();
    Ok(v1::ListConditionsRecordsResponse { records, next_page_token })
}
