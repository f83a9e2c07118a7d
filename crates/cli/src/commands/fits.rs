//! `fits`: which bay can host which work.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::fit_service_client::FitServiceClient;
use baywright_api::v1::{ListFitsRequest, ListFitsResponse};
use clap::Args;

/// Pages read at most; a service that never ends its list is cut off.
const PAGES_MAX: usize = 1_000;

/// Show which bay can host which work, and why not.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo fits --procedure front-camera-static"
)]
pub(crate) struct Fits {
    /// Only this procedure.
    #[arg(long, value_name = "ID")]
    procedure: Option<String>,
    /// Only this vehicle class.
    #[arg(long, value_name = "ID")]
    class: Option<String>,
    /// Only this bay.
    #[arg(long, value_name = "ID")]
    bay: Option<String>,
    /// Also tell margins, tape distances and the room away from the stations.
    #[arg(long)]
    room: bool,
    /// Also tell the smallest single changes that would make a bay fit, or which blind to close against
    /// the sun.
    #[arg(long)]
    nearest: bool,
    /// Sun-free hours of this local date, YYYY-MM-DD; by default of today.
    #[arg(long, value_name = "DATE")]
    sun_date: Option<String>,
}

impl Fits {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let mut request = ListFitsRequest {
            shop_id: session.shop()?,
            procedure_id: self.procedure.unwrap_or_default(),
            vehicle_class_id: self.class.unwrap_or_default(),
            bay_id: self.bay.unwrap_or_default(),
            with_room: self.room,
            with_nearest_misses: self.nearest,
            sun_date: self.sun_date.unwrap_or_default(),
            ..ListFitsRequest::default()
        };
        let mut all = ListFitsResponse::default();
        for _ in 0..PAGES_MAX {
            let page = session
                .call(request.clone(), async |channel, request| {
                    FitServiceClient::new(channel).list_fits(request).await
                })
                .await?;
            all.fits.extend(page.fits);
            request.page_token = page.next_page_token;
            if request.page_token.is_empty() {
                break;
            }
        }
        all.next_page_token = request.page_token;
        if session.json {
            return answer::write(&json::text("ListFitsResponse", &all)?);
        }
        answer::write(&views::fit::list(&all.fits))
    }
}
