//! `plan`: makes a plan, or shows one.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::plan_service_client::PlanServiceClient;
use baywright_api::v1::{self, GetPlanRequest, MakePlanRequest};
use clap::Args;

/// Plan the shop from now on, or show a plan.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo plan --days 2")]
pub(crate) struct Plan {
    /// Show the newest plan instead of making one.
    #[arg(long)]
    show: bool,
    /// Show this revision.
    #[arg(
        long,
        value_name = "N",
        requires = "show",
        default_value_t = 0,
        hide_default_value = true
    )]
    revision: u32,
    /// Days ahead, 1 to 14.
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=14))]
    days: u32,
    /// Seed of the search; the same state and seed give the same plan.
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Epochs of the search, 1 to 1000.
    #[arg(long, value_name = "N", default_value_t = 8, value_parser = clap::value_parser!(u64).range(1..=1000))]
    epochs: u64,
}

impl Plan {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        if self.show { self.show_plan(session).await } else { self.make_plan(session).await }
    }

    async fn show_plan(&self, session: &Session) -> Result<(), Failure> {
        let request = GetPlanRequest { shop_id: session.shop()?, revision: self.revision };
        let reply = session
            .call(request, async |channel, request| {
                PlanServiceClient::new(channel).get_plan(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("GetPlanResponse", &reply)?);
        }
        print(session, reply.plan).await
    }

    async fn make_plan(&self, session: &Session) -> Result<(), Failure> {
        let request = MakePlanRequest {
            shop_id: session.shop()?,
            days: self.days,
            seed: self.seed,
            epochs: self.epochs,
            request_id: session.request_id(),
            actor: session.actor.clone(),
        };
        let reply = session
            .call(request, async |channel, request| {
                PlanServiceClient::new(channel).make_plan(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("MakePlanResponse", &reply)?);
        }
        print(session, reply.plan).await
    }
}

async fn print(session: &Session, plan: Option<v1::Plan>) -> Result<(), Failure> {
    let clock = session.clock().await?;
    answer::write(&views::plan::text(&plan.unwrap_or_default(), clock))
}
