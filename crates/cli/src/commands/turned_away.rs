//! `turned-away`: lists what was asked for and did not come to the shop.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::offer_service_client::OfferServiceClient;
use baywright_api::v1::{ListTurnedAwayRequest, ListTurnedAwayResponse};
use clap::Args;

/// Entries asked for at once.
const PAGE: u32 = 200;

/// List what was turned away, and why.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo turned-away --limit 20")]
pub(crate) struct TurnedAway {
    /// At most so many entries.
    #[arg(long, value_name = "COUNT", default_value_t = 50, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    limit: u32,
}

impl TurnedAway {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let mut request = ListTurnedAwayRequest { shop_id: session.shop()?, ..Default::default() };
        let mut all = ListTurnedAwayResponse::default();
        let mut left = self.limit;
        // Each page has an entry at least, so there are no more rounds than entries.
        while left > 0 {
            request.page_size = i32::try_from(left.min(PAGE)).unwrap_or_default();
            let page = session
                .call(request.clone(), async |channel, request| {
                    OfferServiceClient::new(channel).list_turned_away(request).await
                })
                .await?;
            let count = u32::try_from(page.turned_away.len()).unwrap_or(u32::MAX);
            left = left.saturating_sub(count);
            all.turned_away.extend(page.turned_away);
            request.page_token = page.next_page_token;
            if request.page_token.is_empty() || count == 0 {
                break;
            }
        }
        all.next_page_token = request.page_token;
        if session.json {
            return answer::write(&json::text("ListTurnedAwayResponse", &all)?);
        }
        answer::write(&views::offer::turned_away(&all.turned_away, session.clock().await?))
    }
}
