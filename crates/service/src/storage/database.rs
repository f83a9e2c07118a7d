//! Opens the database file.
//!
//! SQLite has one writer: one connection writes, so that writers wait in a fair queue instead of
//! running into each other; a few connections only read. The write-ahead log with full
//! synchronisation means that what was answered survives a power cut (as far as the disk keeps its
//! word). A connection that reads refuses to write.

#[cfg(test)]
mod tests;

use super::lock_file::DatabaseLock;
use crate::limits::{BUSY_WAIT, CONNECTION_WAIT, READERS_MAX};
use baywright_migrations::migrate;
use sea_orm::{
    ConnectOptions, DatabaseConnection, DbErr,
    sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqliteSynchronous},
};
use std::{
    path::{Path, PathBuf},
    sync::Arc,
    time::Duration,
};
use tokio::sync::watch;
use tokio_util::task::TaskTracker;

/// An open database, migrated and locked for this process; cheap to clone.
#[derive(Debug, Clone)]
pub struct Database {
    pub(super) writer: DatabaseConnection,
    reader: DatabaseConnection,
    /// Every transaction runs as a task of its own, counted here.
    pub(super) transactions: TaskTracker,
    /// Told of every commit.
    pub(super) committed: watch::Sender<()>,
    _lock: Arc<DatabaseLock>,
}

/// How a database is opened.
#[derive(Debug, Clone, Copy)]
pub struct Settings {
    /// How long SQLite waits by itself for another writer.
    pub busy_wait: Duration,
}

impl Default for Settings {
    fn default() -> Self {
        Self { busy_wait: BUSY_WAIT }
    }
}

/// Why a database cannot be opened.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// Another process has it open.
    #[error(
        "another process serves the database {}; stop it first, or choose another file",
        database.display()
    )]
    InUse {
        /// The database file.
        database: PathBuf,
    },
    /// The lock file cannot be made.
    #[error("the lock file {} cannot be used; its folder must exist and be writable", path.display())]
    LockFile {
        /// The lock file.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// The file cannot be opened as a database.
    #[error("the database {} cannot be opened", path.display())]
    Open {
        /// The database file.
        path: PathBuf,
        /// Why.
        #[source]
        source: DbErr,
    },
    /// The schema cannot be brought up to date.
    #[error("the database {} cannot be migrated", path.display())]
    Migrate {
        /// The database file.
        path: PathBuf,
        /// Why.
        #[source]
        source: DbErr,
    },
}

impl Database {
    /// Opens a database file, makes it where there is none, and brings its schema up to date.
    ///
    /// # Errors
    /// [`OpenError`] when another process has it open, or it cannot be opened or migrated.
    pub async fn open(path: &Path) -> Result<Self, OpenError> {
        Self::open_with(path, Settings::default()).await
    }

    /// Opens a database file with other settings than the usual ones.
    ///
    /// # Errors
    /// As [`Database::open`].
    pub async fn open_with(path: &Path, settings: Settings) -> Result<Self, OpenError> {
        let lock = DatabaseLock::take(path)?;
        let unopened = |source| OpenError::Open { path: path.into(), source };
        let writer = connect(path, settings, Access::Write).await.map_err(unopened)?;
        migrate(&writer)
            .await
            .map_err(|source| OpenError::Migrate { path: path.into(), source })?;
        let reader = connect(path, settings, Access::Read).await.map_err(unopened)?;
        let transactions = TaskTracker::new();
        let (committed, _) = watch::channel(());
        Ok(Self { writer, reader, transactions, committed, _lock: Arc::new(lock) })
    }

    /// Connections for single reads. They refuse to write. Inside a transaction read through the
    /// transaction instead: these do not see what it has written.
    pub const fn reader(&self) -> &DatabaseConnection {
        &self.reader
    }

    /// Wakes whoever waits for changes: it is told after each commit of this process. A hint only;
    /// what is committed is told by the tables.
    pub fn commits(&self) -> watch::Receiver<()> {
        self.committed.subscribe()
    }

    /// The connection that writes, for tests that need no transaction.
    #[cfg(test)]
    pub(crate) const fn writer(&self) -> &DatabaseConnection {
        &self.writer
    }

    /// Waits until every transaction that was begun has ended.
    pub async fn drain(&self) {
        self.transactions.close();
        self.transactions.wait().await;
    }

    /// Closes all connections.
    ///
    /// # Errors
    /// The database's own, when a connection does not close.
    pub async fn close(self) -> Result<(), DbErr> {
        self.reader.close().await?;
        self.writer.close().await
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Access {
    Write,
    Read,
}

async fn connect(
    path: &Path,
    settings: Settings,
    access: Access,
) -> Result<DatabaseConnection, DbErr> {
    let path = path.to_owned();
    let mut options = ConnectOptions::new("sqlite:baywright");
    options
        .max_connections(if access == Access::Write { 1 } else { READERS_MAX })
        .min_connections(1)
        .idle_timeout(None)
        .max_lifetime(None)
        .acquire_timeout(CONNECTION_WAIT)
        .test_before_acquire(false)
        .sqlx_logging(false)
        .map_sqlx_sqlite_opts(move |sqlite| pragmas(sqlite.filename(&path), settings, access));
    sea_orm::Database::connect(options).await
}

fn pragmas(
    sqlite: SqliteConnectOptions,
    settings: Settings,
    access: Access,
) -> SqliteConnectOptions {
    let sqlite = sqlite
        .create_if_missing(access == Access::Write)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(true)
        .busy_timeout(settings.busy_wait)
        .pragma("trusted_schema", "OFF");
    match access {
        Access::Write => sqlite,
        Access::Read => sqlite.pragma("query_only", "ON"),
    }
}
