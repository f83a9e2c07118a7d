//! What every handler shares.

use crate::{clock::Clock, storage::Database};

/// The database and the clock; cheap to clone.
#[derive(Debug, Clone)]
pub struct App {
    /// The open database.
    pub database: Database,
    /// What time it is.
    pub clock: Clock,
}
