//! `free`: list the fitting bays that are free now, and until when.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::ListFreeBaysRequest;
use baywright_api::v1::day_service_client::DayServiceClient;
use clap::Args;

/// List the fitting bays that are free now, and until when.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo free front-radar-static --class mid-saloon"
)]
pub(crate) struct Free {
    /// The procedure.
    procedure: String,
    /// The vehicle class.
    #[arg(long, value_name = "ID")]
    class: String,
}

impl Free {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = ListFreeBaysRequest {
            shop_id: session.shop()?,
            procedure_id: self.procedure,
            vehicle_class_id: self.class,
        };
        let reply = session
            .call(request, async |channel, request| {
                DayServiceClient::new(channel).list_free_bays(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("ListFreeBaysResponse", &reply)?);
        }
        answer::write(&views::day::free_bays(&reply, session.clock().await?))
    }
}
