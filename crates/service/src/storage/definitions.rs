//! Table `definitions`: bays, vehicle classes, procedures, call rules, technicians and units, each
//! in immutable revisions, so that evidence which names a revision stays true.
//!
//! At most one revision of a thing is current. Putting a changed thing retires the current revision
//! and adds the next one; retiring a thing leaves every revision readable.

#[cfg(test)]
mod tests;

use super::{
    StorageError, instant,
    sql::{all, body, column, count, execute, integer, one},
};
use baywright_api::v1::{Account, Bay, CallRule, Procedure, Technician, Unit, VehicleClass};
use chrono::{DateTime, Utc};
use prost::Message;
use sea_orm::{ConnectionTrait, QueryResult};

/// A message that is kept in revisions.
pub trait Definition: Message + Default {
    /// What it is, as in `DefinitionChange.kind` of the contract.
    const KIND: &'static str;

    /// Its name within the shop.
    fn id(&self) -> &str;
}

macro_rules! definitions {
    ($($message:ident = $kind:literal by $id:ident;)+) => {$(
        impl Definition for $message {
            const KIND: &'static str = $kind;

            fn id(&self) -> &str {
                &self.$id
            }
        }
    )+};
}

definitions! {
    Bay = "bay" by bay_id;
    VehicleClass = "vehicle-class" by vehicle_class_id;
    Procedure = "procedure" by procedure_id;
    CallRule = "call-rule" by call_rule_id;
    Technician = "technician" by technician_id;
    Unit = "unit" by unit_id;
    Account = "account" by account_id;
}

/// One revision of a thing.
#[derive(Debug, Clone, PartialEq)]
pub struct Revision<T> {
    /// Number of the revision, from 1.
    pub revision: u32,
    /// Since when it holds.
    pub since: DateTime<Utc>,
    /// The thing.
    pub body: T,
}

/// What keeping a thing did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Put {
    /// Nothing differs from the current revision.
    Unchanged {
        /// The current revision.
        revision: u32,
    },
    /// It was not in use before.
    Added {
        /// Its revision from now on.
        revision: u32,
    },
    /// It has a new revision.
    Replaced {
        /// Its revision from now on.
        revision: u32,
    },
}

impl Put {
    /// The revision from now on.
    pub const fn revision(self) -> u32 {
        match self {
            Self::Unchanged { revision }
            | Self::Added { revision }
            | Self::Replaced { revision } => revision,
        }
    }
}

/// Everything of one kind that is in use, by name.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn current_definitions<T: Definition>(
    conn: &impl ConnectionTrait,
    shop_id: &str,
) -> Result<Vec<Revision<T>>, StorageError> {
    let sql = "SELECT revision, since_at, body FROM definitions
        WHERE shop_id = $1 AND kind = $2 AND retired_at IS NULL ORDER BY id";
    let rows = all(conn, sql, vec![shop_id.into(), T::KIND.into()]).await?;
    rows.iter().map(revision_in).collect()
}

/// The current revision of a thing, if it is in use.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn current_definition<T: Definition>(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    id: &str,
) -> Result<Option<Revision<T>>, StorageError> {
    let sql = "SELECT revision, since_at, body FROM definitions
        WHERE shop_id = $1 AND kind = $2 AND id = $3 AND retired_at IS NULL";
    let row = one(conn, sql, vec![shop_id.into(), T::KIND.into(), id.into()]).await?;
    row.as_ref().map(revision_in).transpose()
}

/// One revision of a thing, in use or not.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn definition_at<T: Definition>(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    id: &str,
    revision: u32,
) -> Result<Option<Revision<T>>, StorageError> {
    let sql = "SELECT revision, since_at, body FROM definitions
        WHERE shop_id = $1 AND kind = $2 AND id = $3 AND revision = $4";
    let revision = integer(revision, "revision")?;
    let row = one(conn, sql, vec![shop_id.into(), T::KIND.into(), id.into(), revision]).await?;
    row.as_ref().map(revision_in).transpose()
}

/// The revision of a thing that was the newest at an instant, in use or not.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn definition_as_of<T: Definition>(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    id: &str,
    at: DateTime<Utc>,
) -> Result<Option<Revision<T>>, StorageError> {
    let sql = "SELECT revision, since_at, body FROM definitions
        WHERE shop_id = $1 AND kind = $2 AND id = $3 AND since_at <= $4
        ORDER BY revision DESC LIMIT 1";
    let values = vec![shop_id.into(), T::KIND.into(), id.into(), instant::at(at)];
    let row = one(conn, sql, values).await?;
    row.as_ref().map(revision_in).transpose()
}

/// Keeps a thing: as new, as its next revision, or not at all where nothing differs.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn put_definition<T: Definition>(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    thing: &T,
    now: DateTime<Utc>,
) -> Result<Put, StorageError> {
    let new_body = thing.encode_to_vec();
    let sql = "SELECT revision, body, retired_at IS NULL AS current FROM definitions
        WHERE shop_id = $1 AND kind = $2 AND id = $3 ORDER BY revision DESC LIMIT 1";
    let values = vec![shop_id.into(), T::KIND.into(), thing.id().into()];
    let put = match one(conn, sql, values).await? {
        None => Put::Added { revision: 1 },
        Some(row) => {
            let newest: u32 = count(&row, "revision")?;
            let is_current = column::<bool>(&row, "current")?;
            if is_current && column::<Vec<u8>>(&row, "body")? == new_body {
                return Ok(Put::Unchanged { revision: newest });
            }
            if is_current {
                retire_definition::<T>(conn, shop_id, thing.id(), now).await?;
                Put::Replaced { revision: newest + 1 }
            } else {
                Put::Added { revision: newest + 1 }
            }
        }
    };
    let sql = "INSERT INTO definitions (shop_id, kind, id, revision, body, since_at)
        VALUES ($1, $2, $3, $4, $5, $6)";
    let values = vec![
        shop_id.into(),
        T::KIND.into(),
        thing.id().into(),
        integer(put.revision(), "revision")?,
        new_body.into(),
        instant::at(now),
    ];
    execute(conn, sql, values).await?;
    Ok(put)
}

/// Takes a thing out of use; whether it was in use.
///
/// # Errors
/// [`StorageError`] of the database.
pub async fn retire_definition<T: Definition>(
    conn: &impl ConnectionTrait,
    shop_id: &str,
    id: &str,
    now: DateTime<Utc>,
) -> Result<bool, StorageError> {
    let sql = "UPDATE definitions SET retired_at = $1
        WHERE shop_id = $2 AND kind = $3 AND id = $4 AND retired_at IS NULL";
    let values = vec![instant::at(now), shop_id.into(), T::KIND.into(), id.into()];
    Ok(execute(conn, sql, values).await? > 0)
}

fn revision_in<T: Definition>(row: &QueryResult) -> Result<Revision<T>, StorageError> {
    Ok(Revision {
        revision: count(row, "revision")?,
        since: instant::read_at(row, "since_at")?,
        body: body(row, "definitions")?,
    })
}
