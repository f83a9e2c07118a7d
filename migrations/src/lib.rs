//! The database schema, one step per file.
//!
//! Steps are handwritten SQL, because the rules that matter most (one active holding per task,
//! technician and unit; records that never change) live in partial indexes and triggers, which no
//! schema builder knows. A step that was released never changes; a later step changes the schema.
//! Every table is keyed by the shop. Instants are integers, UTC microseconds, named `*_at`; local
//! dates are text `YYYY-MM-DD`; bodies are encoded messages of the contract.

mod m0001_definitions;
mod m0002_jobs;
mod m0003_evidence;

use sea_orm_migration::{
    MigrationName, MigrationTrait, MigratorTrait, SchemaManager,
    async_trait::async_trait,
    sea_orm::{ConnectionTrait as _, DatabaseConnection, DbErr},
};

/// All steps in order.
#[derive(Debug, Clone, Copy)]
pub struct Migrator;

impl MigratorTrait for Migrator {
    fn migrations() -> Vec<Box<dyn MigrationTrait>> {
        vec![
            Box::new(Step { name: "m0001_definitions", up: m0001_definitions::UP }),
            Box::new(Step { name: "m0002_jobs", up: m0002_jobs::UP }),
            Box::new(Step { name: "m0003_evidence", up: m0003_evidence::UP }),
        ]
    }
}

/// One step of the schema: done whole, in a transaction, or not at all.
struct Step {
    name: &'static str,
    up: &'static [&'static [&'static str]],
}

impl MigrationName for Step {
    fn name(&self) -> &str {
        self.name
    }
}

#[async_trait]
impl MigrationTrait for Step {
    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }

    #[expect(elided_lifetimes_in_paths, reason = "the trait's own signature elides it")]
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for group in self.up {
            for statement in *group {
                manager.get_connection().execute_unprepared(statement).await?;
            }
        }
        Ok(())
    }
}

/// Brings the schema up to date; nothing happens where it is already. One process at a time: the
/// caller keeps others out.
///
/// # Errors
/// The database's own, when a step fails; a failed step leaves nothing behind.
pub async fn migrate(database: &DatabaseConnection) -> Result<(), DbErr> {
    Migrator::up(database, None).await
}
