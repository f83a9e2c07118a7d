//! What every handler shares.

use crate::{clock::Clock, snapshot::Snapshots, storage::Database};

/// The database, the clock and what was computed about each shop; cheap to clone.
#[derive(Debug, Clone)]
pub struct App {
    /// The open database.
    pub database: Database,
    /// What time it is.
    pub clock: Clock,
    /// Shops as they were last read, with their fits.
    pub snapshots: Snapshots,
}

impl App {
    /// What handlers share, before anything was computed.
    pub fn new(database: Database, clock: Clock) -> Self {
        Self { database, clock, snapshots: Snapshots::default() }
    }
}
