//! Where the demonstration keeps its database: a file that was named, or a folder of its own that
//! goes when the demonstration ends.

use super::DemoError;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// The database file of a demonstration.
#[derive(Debug)]
pub(super) struct Home {
    database: PathBuf,
    folder: Option<TempDir>,
}

impl Home {
    /// The named file, or one in a fresh temporary folder.
    pub(super) fn new(database: Option<PathBuf>) -> Result<Self, DemoError> {
        if let Some(database) = database {
            return Ok(Self { database, folder: None });
        }
        let folder = tempfile::Builder::new().prefix("baywright-demo-").tempdir();
        let folder = folder.map_err(DemoError::Folder)?;
        Ok(Self { database: folder.path().join("shop.db"), folder: Some(folder) })
    }

    /// The database file.
    pub(super) fn database(&self) -> &Path {
        &self.database
    }

    /// What becomes of the database, for a person.
    pub(super) fn sentence(&self) -> String {
        let database = self.database.display();
        if self.folder.is_some() {
            format!("The database {database} is removed at the end; --database PATH keeps one.")
        } else {
            format!("The database {database} is kept.")
        }
    }

    /// Removes what is temporary.
    pub(super) fn leave(self) -> Result<(), DemoError> {
        self.folder.map_or(Ok(()), |folder| folder.close().map_err(DemoError::NotRemoved))
    }
}
