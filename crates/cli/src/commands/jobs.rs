//! `jobs`: lists jobs by promise.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::job_service_client::JobServiceClient;
use baywright_api::v1::{JobState, ListJobsRequest, ListJobsResponse};
use baywright_files::words::Word as _;
use clap::Args;

/// Pages read at most; a service that never ends its list is cut off.
const PAGES_MAX: usize = 1_000;

/// List jobs by promise.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo jobs --state on-site")]
pub(crate) struct Jobs {
    /// Only jobs in this state; may be repeated; by default expected and on-site.
    #[arg(long, value_parser = ["expected", "on-site", "handed-back", "cancelled"])]
    state: Vec<String>,
}

impl Jobs {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let states = self.state.iter().filter_map(|word| JobState::from_word(word)).map(Into::into);
        let mut request = ListJobsRequest {
            shop_id: session.shop()?,
            states: states.collect(),
            page_size: 0,
            page_token: String::new(),
        };
        let mut all = ListJobsResponse::default();
        for _ in 0..PAGES_MAX {
            let page = session
                .call(request.clone(), async |channel, request| {
                    JobServiceClient::new(channel).list_jobs(request).await
                })
                .await?;
            all.jobs.extend(page.jobs);
            request.page_token = page.next_page_token;
            if request.page_token.is_empty() {
                break;
            }
        }
        all.next_page_token = request.page_token;
        if session.json {
            return answer::write(&json::text("ListJobsResponse", &all)?);
        }
        answer::write(&views::job::list(&all.jobs, session.clock().await?))
    }
}
