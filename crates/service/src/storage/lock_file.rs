//! One process per database file.
//!
//! Migrations that two processes begin at once fail, and two services would each keep their own
//! idea of what is going on. So the service holds a lock on a file next to the database for as long
//! as it runs. The operating system frees it when the process ends, however it ends.

use super::OpenError;
use std::{
    ffi::OsString,
    fs::{File, OpenOptions, TryLockError},
    path::{Path, PathBuf},
};

/// The lock, held until it is dropped.
#[derive(Debug)]
pub(super) struct DatabaseLock {
    _held: File,
}

impl DatabaseLock {
    /// Takes the lock of a database file.
    pub(super) fn take(database: &Path) -> Result<Self, OpenError> {
        let path = lock_path(database);
        let unusable = |source| OpenError::LockFile { path: path.clone(), source };
        let file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&path)
            .map_err(unusable)?;
        match file.try_lock() {
            Ok(()) => Ok(Self { _held: file }),
            Err(TryLockError::WouldBlock) => Err(OpenError::InUse { database: database.into() }),
            Err(TryLockError::Error(source)) => Err(unusable(source)),
        }
    }
}

/// `shop.db` is locked by `shop.db.lock`.
fn lock_path(database: &Path) -> PathBuf {
    let mut path = OsString::from(database);
    path.push(".lock");
    path.into()
}
