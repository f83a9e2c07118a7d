//! `plan`: makes a plan, or shows one.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::progress::{End, Progress, Standing};
use crate::session::Session;
use crate::views;
use baywright_api::v1::make_plan_with_progress_response::Item;
use baywright_api::v1::plan_service_client::PlanServiceClient;
use baywright_api::v1::{self, GetPlanRequest, MakePlanResponse, MakePlanWithProgressRequest};
use clap::Args;

/// Plan the shop from now on, or show a plan.
///
/// How a long search stands is told on standard error: a bar in a terminal, else (and with `NO_COLOR`)
/// a line now and then. Interrupted, nothing is kept.
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
    /// Epochs of the search, 1 to 1000; by default 8, or 1000 with --seconds.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=1000))]
    epochs: Option<u64>,
    /// End the search with the epoch in which so many seconds have passed, 1 to 600.
    #[arg(long, value_name = "S", value_parser = clap::value_parser!(u32).range(1..=600))]
    seconds: Option<u32>,
}

/// The longest reply that the service gives, bytes.
const REPLY_BYTES_MAX: usize = 16 << 20;
/// Epochs of a search when nobody says.
const EPOCHS_USUAL: u64 = 8;

impl Plan {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        if self.show { self.show_plan(session).await } else { self.make_plan(session).await }
    }

    async fn show_plan(&self, session: &Session) -> Result<(), Failure> {
        let request =
            GetPlanRequest { shop_id: session.shop()?, revision: self.revision, with_files: false };
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
        let request = MakePlanWithProgressRequest {
            shop_id: session.shop()?,
            days: self.days,
            seed: self.seed,
            epochs: self.epochs.unwrap_or_default(),
            seconds: self.seconds.unwrap_or_default(),
            request_id: session.request_id(),
            actor: session.actor.clone(),
        };
        let by_epochs = End::Epochs(self.epochs.unwrap_or(EPOCHS_USUAL));
        let end = self.seconds.map_or(by_epochs, |seconds| End::Seconds(seconds.into()));
        let mut progress = Progress::new(end);
        let mut plan = None;
        session
            .hear(
                request,
                async |channel, request| {
                    let client = PlanServiceClient::new(channel);
                    client
                        .max_decoding_message_size(REPLY_BYTES_MAX)
                        .make_plan_with_progress(request)
                        .await
                },
                |reply: v1::MakePlanWithProgressResponse| match reply.item {
                    Some(Item::Progress(said)) => progress.tell(Standing {
                        epochs: said.epochs,
                        missing: said.missing_jobs.into(),
                        cost: said.cost,
                        bound: said.bound,
                    }),
                    Some(Item::Plan(made)) => plan = Some(made),
                    None => {}
                },
            )
            .await?;
        drop(progress);
        let reply = MakePlanResponse { plan };
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
