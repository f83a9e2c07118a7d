//! What is kept for good: conditions records, answered requests and the audit trail. The database
//! itself refuses to change a record or an audit row.

/// The statements in order.
pub(crate) const UP: &[&[&str]] = &[&[
    "CREATE TABLE conditions_records (
        shop_id TEXT NOT NULL,
        number INTEGER NOT NULL CHECK (number >= 1),
        job_id TEXT NOT NULL,
        task_id TEXT NOT NULL,
        attempt INTEGER NOT NULL CHECK (attempt >= 1),
        recorded_at INTEGER NOT NULL,
        body BLOB NOT NULL,
        PRIMARY KEY (shop_id, number),
        UNIQUE (shop_id, job_id, task_id, attempt)
    ) STRICT",
    "CREATE TRIGGER conditions_records_never_change BEFORE UPDATE ON conditions_records
        BEGIN SELECT RAISE(ABORT, 'a conditions record never changes'); END",
    "CREATE TRIGGER conditions_records_never_deleted BEFORE DELETE ON conditions_records
        BEGIN SELECT RAISE(ABORT, 'a conditions record is never deleted'); END",
    // Answers of writes, so that a repeated request gets the answer of the first.
    "CREATE TABLE requests (
        shop_id TEXT NOT NULL,
        method TEXT NOT NULL,
        request_id TEXT NOT NULL,
        body_hash BLOB NOT NULL CHECK (length(body_hash) = 32),
        reply BLOB NOT NULL,
        stored_at INTEGER NOT NULL,
        PRIMARY KEY (shop_id, method, request_id)
    ) STRICT",
    "CREATE TABLE audit (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        shop_id TEXT NOT NULL,
        at INTEGER NOT NULL,
        actor TEXT NOT NULL,
        method TEXT NOT NULL,
        kind TEXT NOT NULL,
        thing_id TEXT NOT NULL,
        before BLOB,
        after BLOB,
        request_id TEXT NOT NULL
    ) STRICT",
    "CREATE INDEX audit_by_thing ON audit (shop_id, kind, thing_id, id)",
    "CREATE TRIGGER audit_never_changes BEFORE UPDATE ON audit
        BEGIN SELECT RAISE(ABORT, 'an audit row never changes'); END",
    "CREATE TRIGGER audit_never_deleted BEFORE DELETE ON audit
        BEGIN SELECT RAISE(ABORT, 'an audit row is never deleted'); END",
]];
