//! Everything that is kept, and every query.
//!
//! One file per table, functions named by the question, taking `&impl ConnectionTrait` so that they
//! compose within one transaction. Rows hold encoded messages of the contract; key columns mirror
//! what constraints and queries need. [`Database`] opens the file and begins every transaction:
//! [`Database::exactly_once`] for writes of callers, [`Database::rehearse`] for a trial without
//! effect, [`Database::read`] for reads that must agree with each other.

mod call;
mod database;
mod error;
mod instant;
mod lock_file;
mod numbered;
mod sql;
mod write;

pub mod audit;
pub mod definitions;
pub mod doubts;
pub mod etag;
pub mod holdings;
pub mod jobs;
pub mod offers;
pub mod place_claims;
pub mod plans;
pub mod record_chain;
pub mod records;
pub mod requests;
pub mod road_entries;
pub mod shops;
pub mod stamps;
pub mod surveys;
pub mod turned_away;

#[cfg(test)]
pub(crate) mod testing;

pub use audit::{AuditEntry, AuditRow, append, audit_of};
pub use call::{Call, CallParts, Done};
pub use database::{Database, OpenError, Settings};
pub use error::StorageError;
pub use write::Work;
