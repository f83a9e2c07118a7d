//! What can go wrong in storage.

use sea_orm::{DbErr, RuntimeErr, sqlx::error::DatabaseError};

/// Trouble with something kept.
#[derive(Debug, thiserror::Error)]
pub enum StorageError {
    /// The database refused or failed.
    #[error("the database failed")]
    Database(#[from] DbErr),
    /// A stored message cannot be read.
    #[error("a body in table {table} cannot be decoded")]
    Decode {
        /// The table.
        table: &'static str,
        /// Why.
        #[source]
        source: prost::DecodeError,
    },
    /// A message lacks what its columns mirror, or holds a number that no column takes.
    #[error("{field} is absent or out of range, so it cannot be stored or read")]
    Unstorable {
        /// The field or column.
        field: &'static str,
    },
    /// Somebody else holds it.
    #[error("{claim} is held already")]
    Claimed {
        /// What is held: `technician:ID`, for example.
        claim: String,
    },
    /// The thing changed since it was read.
    #[error("{kind} {id} has changed since it was read")]
    Stale {
        /// What it is.
        kind: &'static str,
        /// Its name.
        id: String,
        /// Its etag now; empty where it does not exist.
        etag: String,
    },
    /// No active holding has this fencing number.
    #[error("no active holding has the fencing number {fence}")]
    FenceLost {
        /// The number.
        fence: u64,
    },
}

impl StorageError {
    /// Whether another writer was in the way, so that trying again may help.
    pub fn is_busy(&self) -> bool {
        match self {
            Self::Database(error) => is_busy(error),
            Self::Decode { .. }
            | Self::Unstorable { .. }
            | Self::Claimed { .. }
            | Self::Stale { .. }
            | Self::FenceLost { .. } => false,
        }
    }
}

/// Whether an error says that another connection holds the lock: SQLite's primary codes BUSY (5)
/// and LOCKED (6), which stand in the low byte of every extended code, or an empty pool.
///
/// # Source
/// SQLite documentation, "Result and Error Codes".
fn is_busy(error: &DbErr) -> bool {
    let runtime = match error {
        DbErr::ConnectionAcquire(_) => return true,
        DbErr::Conn(runtime) | DbErr::Exec(runtime) | DbErr::Query(runtime) => runtime,
        _ => return false,
    };
    let RuntimeErr::SqlxError(error) = runtime else { return false };
    let code = error.as_database_error().and_then(DatabaseError::code);
    code.and_then(|code| code.parse::<u32>().ok()).is_some_and(|code| matches!(code & 0xff, 5 | 6))
}
