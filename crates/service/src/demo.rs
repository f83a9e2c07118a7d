//! The demonstration: one invented shop on one invented Tuesday, behind the real service.
//!
//! The shop's files are part of the program. The service starts on a fresh database with its clock
//! on Monday morning; then everything that a shop's people would send until Tuesday 07:30 is sent
//! through the contract, over the socket, with the clock moved along. What a manager asks that
//! morning is printed, or the story of the morning is told. Nothing takes a way that a caller from
//! outside could not take.

mod caller;
mod day;
mod files;
mod home;
mod report;
mod show;
mod story;

pub use files::FileError;

use crate::{
    clock::{Clock, ClockHand},
    handlers,
    limits::REPLAN_AFTER_USUAL,
    serve::{ListenAddress, ReplanOptions, ServeError, ServeOptions, Service, told_to_stop},
};
use chrono::{DateTime, Utc};
use home::Home;
use std::{
    io::{self, Write as _},
    net::SocketAddr,
    path::{Path, PathBuf},
};
use tokio::task::JoinError;
use tokio_util::sync::CancellationToken;

/// The morning of the demonstration: a Tuesday, 07:30 in the shop's own time.
pub const MORNING: &str = "2026-05-05T07:30:00+01:00";

/// The shop's name in every call.
const SHOP_ID: &str = "demo";

/// How the demonstration runs.
#[derive(Debug, Clone)]
pub struct DemoOptions {
    /// Where to listen.
    pub listen: ListenAddress,
    /// The database file to keep; a temporary one, removed at the end, where none is named.
    pub database: Option<PathBuf>,
    /// Whether to end as soon as everything is printed.
    pub once: bool,
    /// Whether to tell the story of the morning instead of printing the day.
    pub story: bool,
    /// What the service's clock shows when the day is printed; not before [`MORNING`].
    pub clock_start: DateTime<Utc>,
}

/// Why the demonstration does not run.
#[derive(Debug, thiserror::Error)]
pub enum DemoError {
    /// There is nowhere to put the database.
    #[error("no temporary folder can be used; name a database file with --database PATH")]
    Folder(#[source] io::Error),
    /// The temporary folder stays.
    #[error("the demo's temporary folder cannot be removed; remove it by hand")]
    NotRemoved(#[source] io::Error),
    /// Another process has the address.
    #[error(
        "{address} is taken by another process; end that one, or let the demo take any free port \
         with --listen 127.0.0.1:0"
    )]
    Taken {
        /// The address.
        address: SocketAddr,
    },
    /// The database holds the demo shop already.
    #[error(
        "the database {} holds the demo shop already; name a new file, or leave --database out",
        database.display()
    )]
    HeldAlready {
        /// The database file.
        database: PathBuf,
    },
    /// The service cannot run.
    #[error(transparent)]
    Serve(#[from] ServeError),
    /// The service was started but does not answer.
    #[error("the service that was just started cannot be reached")]
    Unreached(#[from] tonic::transport::Error),
    /// A call was refused.
    #[error("{what} was refused: {sentence}")]
    Refused {
        /// The call in words.
        what: String,
        /// The service's sentence.
        sentence: String,
    },
    /// A call was answered with something else than the demonstration needs.
    #[error("the demonstration needs {wanted}, and the service answered {got}")]
    Unexpected {
        /// What it needs.
        wanted: String,
        /// What came.
        got: String,
    },
    /// The clock would have to begin before what has happened by then.
    #[error("the demo's day begins at {MORNING}; --clock-start must not be earlier")]
    TooEarly,
    /// A file of the demonstration has faults.
    #[error(transparent)]
    File(#[from] FileError),
    /// A file cannot be written.
    #[error("{} cannot be written; name a new folder with --files", path.display())]
    NotWritten {
        /// The file, or the folder.
        path: PathBuf,
        /// Why.
        #[source]
        source: io::Error,
    },
    /// The day cannot be printed, or signals to stop cannot be received.
    #[error("the process cannot talk to its surroundings")]
    Surroundings(#[source] io::Error),
    /// The service's own task came to a bad end.
    #[error("the service ended by itself")]
    Ended(#[from] JoinError),
}

/// Writes the demonstration's files into a folder, and prints what to do with them.
///
/// # Errors
/// [`DemoError::NotWritten`] when one of them cannot be written, as where it is there already.
pub fn write_files(folder: &Path) -> Result<(), DemoError> {
    let count = files::write_all(folder)?;
    let text = format!("{count} files of the invented shop written into {}\n", folder.display());
    print(&text)
}

/// Runs the demonstration until the process is told to stop, or only until everything is printed.
///
/// # Errors
/// [`DemoError`] when something of it does not run.
pub async fn demo(options: DemoOptions) -> Result<(), DemoError> {
    if options.clock_start < day::tuesday(7, 30) {
        return Err(DemoError::TooEarly);
    }
    let stop = told_to_stop().map_err(DemoError::Surroundings)?;
    tokio::pin!(stop);
    let home = Home::new(options.database.clone())?;
    let (clock, hand) = Clock::with_hand(day::monday(8, 0));
    let printed = CancellationToken::new();
    let service = start(&options, &home, clock, printed.clone()).await?;
    let address = service.address();
    let ending = CancellationToken::new();
    let mut serving = tokio::spawn(service.run_until(ending.clone().cancelled_owned()));
    let shown = tokio::select! {
        shown = show(address, &home, &hand, &options) => shown.map(|()| options.once),
        () = &mut stop => Ok(true),
    };
    if matches!(shown, Ok(false)) {
        printed.cancel();
        tokio::select! {
            ended = &mut serving => return Ok(ended??),
            () = &mut stop => {}
        }
    }
    ending.cancel();
    let served = serving.await?;
    home.leave()?;
    shown?;
    Ok(served?)
}

/// Starts the service; it plans anew by itself once everything is `printed`, so that what is told is
/// always the same.
async fn start(
    options: &DemoOptions,
    home: &Home,
    clock: Clock,
    printed: CancellationToken,
) -> Result<Service, DemoError> {
    let replan = Some(ReplanOptions { after: REPLAN_AFTER_USUAL, from: printed });
    let database = home.database().to_owned();
    let serve = ServeOptions { clock, replan, ..ServeOptions::new(database, options.listen) };
    Service::start(serve, handlers::routes).await.map_err(|error| match error {
        ServeError::Listen { address, source } if source.kind() == io::ErrorKind::AddrInUse => {
            DemoError::Taken { address }
        }
        other => other.into(),
    })
}

async fn show(
    address: SocketAddr,
    home: &Home,
    hand: &ClockHand,
    options: &DemoOptions,
) -> Result<(), DemoError> {
    let caller = caller::Caller::connect(address).await?;
    if caller.knows_shop(SHOP_ID).await? {
        return Err(DemoError::HeldAlready { database: home.database().to_owned() });
    }
    let floor = day::Floor { caller: &caller, hand };
    day::set_up(floor).await?;
    hand.move_to(options.clock_start);
    if options.story {
        story::tell(floor, address, &mut print).await?;
    } else {
        let seen = show::look(&caller).await?;
        print(&report::text(&seen, address))?;
    }
    print(&report::ending(&home.sentence(), options.once))
}

fn print(text: &str) -> Result<(), DemoError> {
    let mut stdout = io::stdout();
    stdout.write_all(text.as_bytes()).and_then(|()| stdout.flush()).map_err(DemoError::Surroundings)
}
