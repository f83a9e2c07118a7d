//! Starts the service, serves, and stops without losing what was accepted.
//!
//! To stop: health turns to `NOT_SERVING`, no new connection is taken, watches end with their resume
//! token, accepted calls are answered and begun transactions end, all within [`ServeOptions::drain_max`]. What takes longer ends with the
//! process; a transaction that is cut has no effect.

mod address;
mod housekeeping;
mod infrastructure;
mod replanner;
mod signals;

#[cfg(test)]
mod tests;

pub use address::{ListenAddress, NotLoopback};
pub use replanner::ReplanOptions;
pub(crate) use signals::told_to_stop;

use crate::{
    app::App,
    clock::Clock,
    layers::{DeadlineLayer, panic_layer},
    limits::{DEADLINE_MAX, DRAIN_MAX, HEADER_BYTES_MAX, STREAMS_PER_CONNECTION_MAX},
    storage::{Database, OpenError},
};
use infrastructure::Health;
use replanner::keep_planned;
use std::{
    io::{self, Write as _},
    net::SocketAddr,
    path::PathBuf,
    time::Duration,
};
use tokio::{
    net::TcpListener,
    time::{Instant, timeout, timeout_at},
};
use tonic::{
    service::Routes,
    transport::{Server, server::TcpIncoming},
};
use tower::ServiceBuilder;

/// How often a silent connection is asked whether it still lives.
const KEEPALIVE_INTERVAL: Duration = Duration::from_secs(30);
/// How long the answer to that may take.
const KEEPALIVE_WAIT: Duration = Duration::from_secs(10);

/// How long closing the database may take.
const CLOSE_WAIT: Duration = Duration::from_secs(1);

/// What to serve, and where.
#[derive(Debug, Clone)]
pub struct ServeOptions {
    /// The database file.
    pub database: PathBuf,
    /// Where to listen.
    pub listen: ListenAddress,
    /// What time it is.
    pub clock: Clock,
    /// The longest that a call may take.
    pub deadline_max: Duration,
    /// How long to wait for accepted work when stopping.
    pub drain_max: Duration,
    /// When shops are planned anew by the service itself; none means never.
    pub replan: Option<ReplanOptions>,
}

impl ServeOptions {
    /// The usual options for a database file and an address; nothing is planned anew by itself.
    pub fn new(database: PathBuf, listen: ListenAddress) -> Self {
        let (deadline_max, drain_max) = (DEADLINE_MAX, DRAIN_MAX);
        let (clock, replan) = (Clock::system(), None);
        Self { database, listen, clock, deadline_max, drain_max, replan }
    }
}

/// Why the service does not run.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The database cannot be opened.
    #[error(transparent)]
    Database(#[from] OpenError),
    /// The address cannot be listened on.
    #[error("{address} cannot be listened on; is it taken by another process?")]
    Listen {
        /// The address.
        address: SocketAddr,
        /// Why.
        #[source]
        source: io::Error,
    },
    /// Signals to stop cannot be received, or the address cannot be announced.
    #[error("the process cannot talk to its surroundings")]
    Surroundings(#[source] io::Error),
    /// Reflection cannot be set up: the contract's descriptors are damaged.
    #[error("the contract's descriptors are damaged")]
    Reflection(#[from] tonic_reflection::server::Error),
    /// Serving failed.
    #[error("serving failed")]
    Transport(#[from] tonic::transport::Error),
}

/// Serves until the process is told to stop. Prints one line on stdout when it listens:
/// `listening on 127.0.0.1:7420`.
///
/// # Errors
/// [`ServeError`] when the service cannot start or fails while serving.
pub async fn serve(
    options: ServeOptions,
    routes: impl FnOnce(App) -> Routes,
) -> Result<(), ServeError> {
    let stop = told_to_stop().map_err(ServeError::Surroundings)?;
    let service = Service::start(options, routes).await?;
    let mut stdout = io::stdout();
    writeln!(stdout, "listening on {}", service.address())
        .and_then(|()| stdout.flush())
        .map_err(ServeError::Surroundings)?;
    service.run_until(stop).await
}

/// A service that listens: connections queue until [`Service::run_until`] takes them.
#[derive(Debug)]
pub struct Service {
    app: App,
    address: SocketAddr,
    listener: TcpListener,
    routes: Routes,
    health: Health,
    deadline_max: Duration,
    drain_max: Duration,
    replan: Option<ReplanOptions>,
}

impl Service {
    /// Opens the database, brings it up to date and begins to listen.
    ///
    /// # Errors
    /// [`ServeError`] when the database or the address cannot be used.
    pub async fn start(
        options: ServeOptions,
        routes: impl FnOnce(App) -> Routes,
    ) -> Result<Self, ServeError> {
        let ServeOptions { database, listen, clock, deadline_max, drain_max, replan } = options;
        let database = Database::open(&database).await?;
        let app = App::new(database, clock);
        let wanted = listen.get();
        let unheard = |source| ServeError::Listen { address: wanted, source };
        let listener = TcpListener::bind(wanted).await.map_err(unheard)?;
        let address = listener.local_addr().map_err(unheard)?;
        let (health, routes) = infrastructure::add_to(routes(app.clone()))?;
        Ok(Self { app, address, listener, routes, health, deadline_max, drain_max, replan })
    }

    /// The address with the port that was given.
    pub const fn address(&self) -> SocketAddr {
        self.address
    }

    /// What the handlers share.
    pub const fn app(&self) -> &App {
        &self.app
    }

    /// Serves until `stop` is ready, then finishes what was accepted.
    ///
    /// # Errors
    /// [`ServeError::Transport`] when serving fails.
    pub async fn run_until(self, stop: impl Future<Output = ()>) -> Result<(), ServeError> {
        let Self { app, address, listener, routes, health, deadline_max, drain_max, replan } = self;
        let layers =
            ServiceBuilder::new().layer(panic_layer()).layer(DeadlineLayer::new(deadline_max));
        let stopping = app.stopping.clone();
        let housekeeping = tokio::spawn(housekeeping::keep_house(app.clone()));
        let replanner = replan.map(|options| tokio::spawn(keep_planned(app.clone(), options)));
        let serving = Server::builder()
            .max_concurrent_streams(STREAMS_PER_CONNECTION_MAX)
            .http2_max_header_list_size(HEADER_BYTES_MAX)
            .http2_keepalive_interval(Some(KEEPALIVE_INTERVAL))
            .http2_keepalive_timeout(Some(KEEPALIVE_WAIT))
            .layer(layers)
            .add_routes(routes)
            .serve_with_incoming_shutdown(
                TcpIncoming::from(listener).with_nodelay(Some(true)),
                stopping.clone().cancelled_owned(),
            );
        tokio::pin!(serving);
        tracing::info!(%address, "serving");
        tokio::select! {
            ended = &mut serving => return Ok(ended?),
            () = stop => {}
        }

        tracing::info!("stopping: finishing what was accepted");
        let latest = Instant::now() + drain_max;
        health.stop_serving().await;
        stopping.cancel();
        health.dismiss_watchers().await;
        if let Ok(ended) = timeout_at(latest, serving).await {
            ended?;
        } else {
            tracing::warn!("some calls take longer than the time to stop: they are cut");
        }
        let quiet = async {
            // What it was doing has ended with a whole transaction; a panic was logged.
            drop(housekeeping.await);
            if let Some(replanner) = replanner {
                drop(replanner.await);
            }
            app.database.drain().await;
        };
        if timeout_at(latest, quiet).await.is_err() {
            tracing::warn!("some transactions were cut: they have no effect");
        } else {
            close(app).await;
        }
        tracing::info!("stopped");
        Ok(())
    }
}

/// Closes the database. Where a connection does not come back the file is left as it is: everything
/// committed is in it.
async fn close(app: App) {
    match timeout(CLOSE_WAIT, app.database.close()).await {
        Ok(Ok(())) => {}
        Ok(Err(trouble)) => tracing::warn!(%trouble, "the database did not close cleanly"),
        Err(_) => tracing::warn!("the database did not close in time"),
    }
}
