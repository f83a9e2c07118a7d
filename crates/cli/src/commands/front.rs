//! `front`: what steadiness costs.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::ReportFrontRequest;
use baywright_api::v1::plan_service_client::PlanServiceClient;
use clap::Args;

/// Show what fewer changes to the standing plan would cost; nothing is kept.
///
/// The shop is planned three times: with changes to the standing plan free, at the shop's price and at four times
/// that. No search is proved to be the best, so a small difference may be the search's.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo front --seconds 6")]
pub(crate) struct Front {
    /// Days ahead, 1 to 14.
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=14))]
    days: u32,
    /// Seed of the searches.
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Epochs of each search, 1 to 1000 [default: 8, or 1000 with --seconds].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=1000))]
    epochs: Option<u64>,
    /// Seconds of the three searches together, 1 to 45; without it only epochs count.
    #[arg(long, value_name = "S", value_parser = clap::value_parser!(u32).range(1..=45))]
    seconds: Option<u32>,
}

impl Front {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request = ReportFrontRequest {
            shop_id: session.shop()?,
            days: self.days,
            seed: self.seed,
            epochs: self.epochs.unwrap_or_default(),
            seconds: self.seconds.unwrap_or_default(),
        };
        let reply = session
            .call(request, async |channel, request| {
                PlanServiceClient::new(channel).report_front(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("ReportFrontResponse", &reply)?);
        }
        answer::write(&views::front::report(&reply.report.unwrap_or_default()))
    }
}
