//! `offers`: lists offers, or shows one.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::offer_service_client::OfferServiceClient;
use baywright_api::v1::{GetOfferRequest, ListOffersRequest, ListOffersResponse, OfferState};
use clap::{Args, ValueEnum};

/// Offers asked for at once.
const PAGE: i32 = 200;

/// A state that can be asked for.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum State {
    Held,
    Accepted,
    Declined,
    Lapsed,
    Refused,
}

impl From<State> for OfferState {
    fn from(state: State) -> Self {
        match state {
            State::Held => Self::Held,
            State::Accepted => Self::Accepted,
            State::Declined => Self::Declined,
            State::Lapsed => Self::Lapsed,
            State::Refused => Self::Refused,
        }
    }
}

/// List offers, the newest first, or show one in full.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo offers --state held --state lapsed")]
pub(crate) struct Offers {
    /// Show this offer.
    offer: Option<String>,
    /// Only in this state; may be repeated. Without it those that are held.
    #[arg(long, value_name = "STATE", conflicts_with = "offer")]
    state: Vec<State>,
}

impl Offers {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        match self.offer {
            Some(offer) => show(session, offer).await,
            None => list(session, self.state).await,
        }
    }
}

async fn show(session: &Session, offer_id: String) -> Result<(), Failure> {
    let request = GetOfferRequest { shop_id: session.shop()?, offer_id };
    let reply = session
        .call(request, async |channel, request| {
            OfferServiceClient::new(channel).get_offer(request).await
        })
        .await?;
    if session.json {
        return answer::write(&json::text("GetOfferResponse", &reply)?);
    }
    answer::write(&views::offer::text(reply.offer.as_ref(), session.clock().await?))
}

async fn list(session: &Session, states: Vec<State>) -> Result<(), Failure> {
    let states = states.into_iter().map(|state| OfferState::from(state).into()).collect();
    let mut request = ListOffersRequest {
        shop_id: session.shop()?,
        states,
        page_size: PAGE,
        page_token: String::new(),
    };
    let mut all = ListOffersResponse::default();
    loop {
        let page = session
            .call(request.clone(), async |channel, request| {
                OfferServiceClient::new(channel).list_offers(request).await
            })
            .await?;
        all.offers.extend(page.offers);
        if page.next_page_token.is_empty() {
            break;
        }
        request.page_token = page.next_page_token;
    }
    if session.json {
        return answer::write(&json::text("ListOffersResponse", &all)?);
    }
    answer::write(&views::offer::list(&all.offers, session.clock().await?))
}
