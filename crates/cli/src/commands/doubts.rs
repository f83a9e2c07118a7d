//! `doubts`: lists the doubts about bays.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::doubt_service_client::DoubtServiceClient;
use baywright_api::v1::{ListDoubtsRequest, ListDoubtsResponse};
use clap::Args;

/// Doubts asked for at once.
const PAGE: i32 = 200;

/// List the doubts that keep bays from being used.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo doubts --all")]
pub(crate) struct Doubts {
    /// Also those that were cleared, with who cleared them and why.
    #[arg(long)]
    all: bool,
}

impl Doubts {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let mut request = ListDoubtsRequest {
            shop_id: session.shop()?,
            include_cleared: self.all,
            page_size: PAGE,
            page_token: String::new(),
        };
        let mut all = ListDoubtsResponse::default();
        loop {
            let page = session
                .call(request.clone(), async |channel, request| {
                    DoubtServiceClient::new(channel).list_doubts(request).await
                })
                .await?;
            all.doubts.extend(page.doubts);
            if page.next_page_token.is_empty() {
                break;
            }
            request.page_token = page.next_page_token;
        }
        if session.json {
            return answer::write(&json::text("ListDoubtsResponse", &all)?);
        }
        answer::write(&views::doubt::list(&all.doubts, session.clock().await?))
    }
}
