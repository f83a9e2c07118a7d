//! `record`: shows the conditions records of a job.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::work_service_client::WorkServiceClient;
use baywright_api::v1::{ListConditionsRecordsRequest, ListConditionsRecordsResponse};
use clap::Args;

/// Pages read at most; a service that never ends its list is cut off.
const PAGES_MAX: usize = 1_000;

/// Show the conditions records of a job: the evidence of each attempt.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo record J-1001 --task front-camera")]
pub(crate) struct Record {
    /// The job.
    job: String,
    /// Only this task's.
    #[arg(long, value_name = "ID")]
    task: Option<String>,
}

impl Record {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let mut request = ListConditionsRecordsRequest {
            shop_id: session.shop()?,
            job_id: self.job,
            task_id: self.task.unwrap_or_default(),
            page_size: 0,
            page_token: String::new(),
        };
        let mut all = ListConditionsRecordsResponse::default();
        for _ in 0..PAGES_MAX {
            let page = session
                .call(request.clone(), async |channel, request| {
                    WorkServiceClient::new(channel).list_conditions_records(request).await
                })
                .await?;
            all.records.extend(page.records);
            request.page_token = page.next_page_token;
            if request.page_token.is_empty() {
                break;
            }
        }
        all.next_page_token = request.page_token;
        if session.json {
            return answer::write(&json::text("ListConditionsRecordsResponse", &all)?);
        }
        answer::write(&views::record::list(&all.records, session.clock().await?))
    }
}
