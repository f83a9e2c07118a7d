//! `watch`: prints what changes in the shop, a line each, and goes on by itself after a lost
//! connection.

use crate::answer::{self, Reader};
use crate::clock::ShopClock;
use crate::failure::Failure;
use crate::json;
use crate::session::{Fault, Session};
use crate::views;
use baywright_api::v1::watch_service_client::WatchServiceClient;
use baywright_api::v1::{Change, WatchChangesRequest};
use clap::Args;
use std::time::Duration;
use tokio::time::{Instant, sleep};

/// The pause after a lost connection; it doubles up to the longest one.
const FIRST_PAUSE: Duration = Duration::from_millis(150);
/// The longest pause between two tries.
const LONGEST_PAUSE: Duration = Duration::from_secs(5);
/// How long a service that was reached once may stay away.
const AWAY_LIMIT: Duration = Duration::from_mins(10);

/// Print what changes in the shop, a line each, until interrupted.
///
/// Each line begins with the number of the change: `--after NUMBER` goes on behind it, without a gap and
/// without a line that came before. A connection that is lost is taken up again for ten minutes. With
/// --json each line is a change in JSON.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo watch --after 0 --limit 20")]
pub(crate) struct Watch {
    /// Number of the last change that is known; 0 means from the beginning. By default from now on.
    #[arg(long, value_name = "NUMBER")]
    after: Option<u64>,
    /// End after so many changes.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u64).range(1..))]
    limit: Option<u64>,
}

/// What a stretch of watching came to.
enum Stretch {
    /// Enough was printed, or nobody reads any more.
    Done,
    /// The stream ended.
    Lost(Fault),
}

impl Watch {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let clock = session.clock().await?;
        let mut printing = Printing {
            session,
            clock,
            token: self.after.map(|number| number.to_string()).unwrap_or_default(),
            left: self.limit,
            heard: Instant::now(),
        };
        let mut pause = FIRST_PAUSE;
        loop {
            let begun = printing.heard;
            match printing.stretch().await? {
                Stretch::Done => return Ok(()),
                Stretch::Lost(fault) if !fault.passes => return Err(fault.failure),
                Stretch::Lost(fault) if printing.heard.elapsed() > AWAY_LIMIT => {
                    return Err(fault.failure);
                }
                Stretch::Lost(_) => {}
            }
            pause = if printing.heard > begun { FIRST_PAUSE } else { LONGEST_PAUSE.min(pause * 2) };
            sleep(pause).await;
        }
    }
}

/// Changes on their way to standard output.
struct Printing<'a> {
    session: &'a Session,
    clock: ShopClock,
    /// Resume token of the last item that was read.
    token: String,
    left: Option<u64>,
    /// When the service last said something.
    heard: Instant,
}

impl Printing<'_> {
    /// Watches until the stream ends.
    async fn stretch(&mut self) -> Result<Stretch, Failure> {
        let request =
            WatchChangesRequest { shop_id: self.session.shop()?, resume_token: self.token.clone() };
        let opened = self
            .session
            .open(request, async |channel, request| {
                WatchServiceClient::new(channel).watch_changes(request).await
            })
            .await;
        let mut items = match opened {
            Ok(items) => items,
            Err(fault) => return Ok(Stretch::Lost(fault)),
        };
        loop {
            let item = match items.message().await {
                Ok(Some(item)) => item,
                Ok(None) => {
                    let ended = tonic::Status::unavailable("the stream ended");
                    return Ok(Stretch::Lost(self.session.fault(ended)));
                }
                Err(status) => return Ok(Stretch::Lost(self.session.fault(status))),
            };
            self.heard = Instant::now();
            self.token = item.resume_token;
            if let Some(change) = item.change
                && self.print(&change)? == Reader::Gone
            {
                return Ok(Stretch::Done);
            }
            if self.left == Some(0) {
                return Ok(Stretch::Done);
            }
        }
    }

    fn print(&mut self, change: &Change) -> Result<Reader, Failure> {
        self.left = self.left.map(|left| left.saturating_sub(1));
        if self.session.json {
            return answer::write_on(&json::line("Change", change)?);
        }
        answer::write_on(&views::change::line(change, self.clock))
    }
}
