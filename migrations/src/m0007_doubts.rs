//! Doubts have names, tell whose failure raised them, and who cleared them and why. Offers tell whether
//! it was noted that they lapsed.

/// The statements in order.
pub(crate) const UP: &[&[&str]] = &[&[
    // The number stands in the name. Doubts that were there before get theirs by age.
    "ALTER TABLE doubts ADD COLUMN number INTEGER NOT NULL DEFAULT 0",
    "ALTER TABLE doubts ADD COLUMN job_id TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE doubts ADD COLUMN task_id TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE doubts ADD COLUMN cleared_by TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE doubts ADD COLUMN cleared_reason TEXT NOT NULL DEFAULT ''",
    "UPDATE doubts SET number = (SELECT count(*) FROM doubts AS older
        WHERE older.shop_id = doubts.shop_id AND (older.since_at, older.rowid) <= (doubts.since_at, doubts.rowid))",
    "CREATE UNIQUE INDEX doubts_by_number ON doubts (shop_id, number)",
    // A lapse needs no write to count: the row stays 'held', and only that it was noted is kept.
    "ALTER TABLE offers ADD COLUMN lapse_noted INTEGER NOT NULL DEFAULT 0 CHECK (lapse_noted IN (0, 1))",
    "DROP INDEX offers_held",
    "CREATE INDEX offers_held ON offers (shop_id, lapses_at) WHERE state = 'held' AND lapse_noted = 0",
]];
