//! Chains the conditions records: each carries the hash of the one before, and a record may correct
//! an earlier one. Records that are there already get their hashes in the order of their numbers.
//!
//! The table is built anew, because an attempt has one record only as long as it is no correction.
//! Also: indexes for reading the audit trail of a shop and for pruning answered requests by age.

use sea_orm_migration::{
    MigrationName, MigrationTrait, SchemaManager,
    async_trait::async_trait,
    sea_orm::{ConnectionTrait as _, DbErr, Statement},
};
use sha2::{Digest as _, Sha256};

/// The step.
pub(crate) struct RecordChain;

/// Records read at once.
const PAGE: u64 = 200;

const BEFORE: &[&str] = &["CREATE TABLE chained_records (
        shop_id TEXT NOT NULL,
        number INTEGER NOT NULL CHECK (number >= 1),
        job_id TEXT NOT NULL,
        task_id TEXT NOT NULL,
        attempt INTEGER NOT NULL CHECK (attempt >= 1),
        recorded_at INTEGER NOT NULL,
        corrects_number INTEGER CHECK (corrects_number < number),
        body BLOB NOT NULL,
        previous_hash BLOB NOT NULL CHECK (length(previous_hash) = 32),
        hash BLOB NOT NULL CHECK (length(hash) = 32),
        PRIMARY KEY (shop_id, number)
    ) STRICT"];

const AFTER: &[&str] = &[
    // Dropping a table deletes no rows one by one: the triggers that refuse it go with the table.
    "DROP TABLE conditions_records",
    "ALTER TABLE chained_records RENAME TO conditions_records",
    "CREATE UNIQUE INDEX conditions_records_one_per_attempt
        ON conditions_records (shop_id, job_id, task_id, attempt) WHERE corrects_number IS NULL",
    "CREATE INDEX conditions_records_by_job ON conditions_records (shop_id, job_id, number)",
    "CREATE TRIGGER conditions_records_never_change BEFORE UPDATE ON conditions_records
        BEGIN SELECT RAISE(ABORT, 'a conditions record never changes'); END",
    "CREATE TRIGGER conditions_records_never_deleted BEFORE DELETE ON conditions_records
        BEGIN SELECT RAISE(ABORT, 'a conditions record is never deleted'); END",
    "CREATE INDEX audit_by_shop ON audit (shop_id, id)",
    "CREATE INDEX requests_by_age ON requests (stored_at)",
];

impl MigrationName for RecordChain {
    fn name(&self) -> &'static str {
        "m0004_record_chain"
    }
}

#[async_trait]
impl MigrationTrait for RecordChain {
    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }

    #[expect(elided_lifetimes_in_paths, reason = "the trait's own signature elides it")]
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let conn = manager.get_connection();
        for statement in BEFORE {
            conn.execute_unprepared(statement).await?;
        }
        copy(manager).await?;
        for statement in AFTER {
            conn.execute_unprepared(statement).await?;
        }
        Ok(())
    }
}

async fn copy(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let conn = manager.get_connection();
    let backend = conn.get_database_backend();
    let page = "SELECT shop_id, number, body FROM conditions_records
        WHERE (shop_id, number) > ($1, $2) ORDER BY shop_id, number LIMIT $3";
    let insert = "INSERT INTO chained_records
        (shop_id, number, job_id, task_id, attempt, recorded_at, body, previous_hash, hash)
        SELECT shop_id, number, job_id, task_id, attempt, recorded_at, body, $3, $4
        FROM conditions_records WHERE shop_id = $1 AND number = $2";
    let (mut shop, mut number, mut previous) = (String::new(), 0_i64, [0; 32]);
    loop {
        let key = vec![shop.as_str().into(), number.into(), PAGE.into()];
        let rows = conn.query_all_raw(Statement::from_sql_and_values(backend, page, key)).await?;
        if rows.is_empty() {
            return Ok(());
        }
        for row in rows {
            let of: String = row.try_get("", "shop_id")?;
            if of != shop {
                (shop, previous) = (of, [0; 32]);
            }
            number = row.try_get("", "number")?;
            let body: Vec<u8> = row.try_get("", "body")?;
            let hash = hash(previous, number, &body);
            let values = vec![
                shop.as_str().into(),
                number.into(),
                previous.to_vec().into(),
                hash.to_vec().into(),
            ];
            conn.execute_raw(Statement::from_sql_and_values(backend, insert, values)).await?;
            previous = hash;
        }
    }
}

/// The hash of a record as this step defines it, for good: of the hash before, the number with its
/// highest byte first, and the body.
fn hash(previous: [u8; 32], number: i64, body: &[u8]) -> [u8; 32] {
    let mut hasher = Sha256::new();
    hasher.update(previous);
    hasher.update(number.to_be_bytes());
    hasher.update(body);
    hasher.finalize().into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Migrator;
    use sea_orm_migration::{
        MigratorTrait as _,
        sea_orm::{Database, DatabaseConnection},
    };
    use std::fmt::Write as _;

    fn hex(bytes: &[u8]) -> String {
        bytes.iter().fold(String::new(), |mut text, byte| {
            write!(text, "{byte:02x}").unwrap();
            text
        })
    }

    async fn hashes(database: &DatabaseConnection, shop: &str) -> Vec<(String, String)> {
        let sql = "SELECT previous_hash, hash FROM conditions_records
            WHERE shop_id = $1 ORDER BY number";
        let backend = database.get_database_backend();
        let asked = Statement::from_sql_and_values(backend, sql, vec![shop.into()]);
        let rows = database.query_all_raw(asked).await.unwrap();
        let read = |row: &sea_orm_migration::sea_orm::QueryResult, name: &str| {
            hex(&row.try_get::<Vec<u8>>("", name).unwrap())
        };
        rows.iter().map(|row| (read(row, "previous_hash"), read(row, "hash"))).collect()
    }

    #[tokio::test]
    async fn records_of_an_older_database_are_chained_shop_by_shop() {
        let folder = tempfile::tempdir().unwrap();
        let url = format!("sqlite:{}?mode=rwc", folder.path().join("shop.db").display());
        let database = Database::connect(url).await.unwrap();
        Migrator::up(&database, Some(3)).await.unwrap();
        for (shop, number) in [("a", 1), ("a", 2), ("b", 1)] {
            let sql = format!(
                "INSERT INTO conditions_records VALUES ('{shop}', {number}, 'J-{number}', 't', 1, 0, 'abc')"
            );
            let text_as_bytes = sql.replace("'abc'", "x'616263'");
            database.execute_unprepared(&text_as_bytes).await.unwrap();
        }

        Migrator::up(&database, None).await.unwrap();

        // Computed outside of this program, with coreutils:
        // { head -c 32 /dev/zero; printf '\0\0\0\0\0\0\0\1abc'; } | sha256sum
        let zeros = "0".repeat(64);
        let a = hashes(&database, "a").await;
        assert_eq!(a[0], (zeros.clone(), FIRST.to_owned()));
        assert_eq!(a[1], (FIRST.to_owned(), SECOND.to_owned()));
        assert_eq!(hashes(&database, "b").await, [(zeros, FIRST.to_owned())]);
    }

    const FIRST: &str = "328976acf07e9b1c4a8967f2d63902c9a724235b6363ac83087246ad84cd222a";
    const SECOND: &str = "83af1d58fb499c37c0ff994db4de9380d3ecbe93d83ccf78e93b463fd59c9bfd";
}
