//! What managers say of the roads. An entry is withdrawn, never deleted.

/// The statements in order.
pub(crate) const UP: &[&[&str]] = &[&[
    "CREATE TABLE road_entries (
        shop_id TEXT NOT NULL,
        number INTEGER NOT NULL CHECK (number >= 1),
        from_at INTEGER NOT NULL,
        until_at INTEGER NOT NULL CHECK (until_at > from_at),
        withdrawn_at INTEGER,
        body BLOB NOT NULL,
        PRIMARY KEY (shop_id, number),
        FOREIGN KEY (shop_id) REFERENCES shops (shop_id)
    ) STRICT",
    "CREATE INDEX road_entries_standing ON road_entries (shop_id, until_at)
        WHERE withdrawn_at IS NULL",
    "CREATE TRIGGER road_entries_never_deleted BEFORE DELETE ON road_entries
        BEGIN SELECT RAISE(ABORT, 'an entry about the roads is never deleted'); END",
]];
