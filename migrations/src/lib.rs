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
mod m0004_record_chain;
mod m0005_offers;
mod m0006_road_entries;
mod m0007_doubts;

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
            Box::new(m0004_record_chain::RecordChain),
            Box::new(Step { name: "m0005_offers", up: m0005_offers::UP }),
            Box::new(Step { name: "m0006_road_entries", up: m0006_road_entries::UP }),
            Box::new(Step { name: "m0007_doubts", up: m0007_doubts::UP }),
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

#[cfg(test)]
mod tests {
    use super::*;
    use sea_orm_migration::sea_orm::{Database, Statement};

    async fn schema(database: &DatabaseConnection) -> Vec<String> {
        let sql =
            "SELECT name || ' ' || coalesce(sql, '') AS line FROM sqlite_schema ORDER BY name";
        let backend = database.get_database_backend();
        let rows = database.query_all_raw(Statement::from_string(backend, sql)).await.unwrap();
        rows.iter().map(|row| row.try_get("", "line").unwrap()).collect()
    }

    #[tokio::test]
    async fn the_schema_can_be_brought_up_to_date_twice() {
        let folder = tempfile::tempdir().unwrap();
        let url = format!("sqlite:{}?mode=rwc", folder.path().join("shop.db").display());
        let database = Database::connect(url).await.unwrap();

        migrate(&database).await.unwrap();
        let once = schema(&database).await;
        migrate(&database).await.unwrap();

        assert!(once.iter().any(|line| line.starts_with("conditions_records ")));
        assert_eq!(schema(&database).await, once);
    }

    #[tokio::test]
    async fn a_step_that_fails_leaves_nothing_behind() {
        let folder = tempfile::tempdir().unwrap();
        let url = format!("sqlite:{}?mode=rwc", folder.path().join("shop.db").display());
        let database = Database::connect(url).await.unwrap();
        database.execute_unprepared("CREATE TABLE doubts (other TEXT)").await.unwrap();

        migrate(&database).await.unwrap_err();
        let names = schema(&database).await;
        assert!(names.iter().any(|line| line.starts_with("surveys ")), "the step before holds");
        assert!(!names.iter().any(|line| line.starts_with("jobs ")), "the failed one does not");

        database.execute_unprepared("DROP TABLE doubts").await.unwrap();
        migrate(&database).await.unwrap();
    }
}
