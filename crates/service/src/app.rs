//! What every handler shares.

use crate::{clock::Clock, limits::WATCHERS_MAX, snapshot::Snapshots, storage::Database};
use std::sync::Arc;
use tokio::sync::{Mutex, Semaphore};
use tokio_util::sync::CancellationToken;

/// The database, the clock and what was computed about each shop; cheap to clone.
#[derive(Debug, Clone)]
pub struct App {
    /// The open database.
    pub database: Database,
    /// What time it is.
    pub clock: Clock,
    /// Shops as they were last read, with their fits.
    pub snapshots: Snapshots,
    /// Cancelled when the service stops: streams end then.
    pub stopping: CancellationToken,
    /// One permit for each watch that may still be opened.
    pub watchers: Arc<Semaphore>,
    /// Held while an offer is made or accepted, so that no two promise the same hours.
    pub offering: Arc<Mutex<()>>,
}

impl App {
    /// What handlers share, before anything was computed.
    pub fn new(database: Database, clock: Clock) -> Self {
        Self {
            database,
            clock,
            snapshots: Snapshots::default(),
            stopping: CancellationToken::new(),
            watchers: Arc::new(Semaphore::new(WATCHERS_MAX)),
            offering: Arc::new(Mutex::new(())),
        }
    }
}
