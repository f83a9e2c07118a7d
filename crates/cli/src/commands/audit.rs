//! `audit`: shows who changed what.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::audit_service_client::AuditServiceClient;
use baywright_api::v1::{ListAuditEntriesRequest, ListAuditEntriesResponse};
use clap::Args;

/// Entries asked for at once.
const PAGE: u32 = 200;

/// Show the audit trail: who changed what, when, by which call.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo audit job J-1001 --since '2026-05-05 07:00' --limit 20"
)]
pub(crate) struct Audit {
    /// Only things of this kind: job, holding, record, plan, survey, bay, procedure and so on.
    kind: Option<String>,
    /// Only the thing of this name.
    #[arg(requires = "kind")]
    id: Option<String>,
    /// Only what this person or system did.
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
    /// Only what this method did, such as `PullTask`.
    #[arg(long, value_name = "METHOD")]
    method: Option<String>,
    /// First instant, in the shop's time or with its offset.
    #[arg(long, value_name = "TIME")]
    since: Option<String>,
    /// First instant that is not wanted any more.
    #[arg(long, value_name = "TIME")]
    until: Option<String>,
    /// The oldest entries first, instead of the newest.
    #[arg(long)]
    oldest_first: bool,
    /// At most so many entries.
    #[arg(long, value_name = "COUNT", default_value_t = 50, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    limit: u32,
}

impl Audit {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let clock = session.clock().await?;
        let instant = |option: &str, text: Option<&String>| {
            text.map(|text| clock.read(option, text)).transpose()
        };
        let mut request = ListAuditEntriesRequest {
            shop_id: session.shop()?,
            from_time: instant("--since", self.since.as_ref())?,
            until_time: instant("--until", self.until.as_ref())?,
            kind: self.kind.unwrap_or_default(),
            thing_id: self.id.unwrap_or_default(),
            actor: self.by.unwrap_or_default(),
            method: self.method.unwrap_or_default(),
            newest_first: !self.oldest_first,
            page_size: 0,
            page_token: String::new(),
        };
        let mut all = ListAuditEntriesResponse::default();
        let mut left = self.limit;
        // Each page has an entry at least, so there are no more rounds than entries.
        while left > 0 {
            request.page_size = i32::try_from(left.min(PAGE)).unwrap_or_default();
            let page = session
                .call(request.clone(), async |channel, request| {
                    AuditServiceClient::new(channel).list_audit_entries(request).await
                })
                .await?;
            let count = u32::try_from(page.entries.len()).unwrap_or(u32::MAX);
            left = left.saturating_sub(count);
            all.entries.extend(page.entries);
            request.page_token = page.next_page_token;
            if request.page_token.is_empty() || count == 0 {
                break;
            }
        }
        all.next_page_token = request.page_token;
        if session.json {
            return answer::write(&json::text("ListAuditEntriesResponse", &all)?);
        }
        answer::write(&views::audit::list(&all.entries, clock))
    }
}
