//! Offers, and the log of what was turned away. The database itself refuses to change the log.

/// The statements in order.
pub(crate) const UP: &[&[&str]] = &[&[
    "CREATE TABLE offers (
        shop_id TEXT NOT NULL,
        number INTEGER NOT NULL CHECK (number >= 1),
        job_id TEXT NOT NULL,
        state TEXT NOT NULL CHECK (state IN ('held', 'accepted', 'declined', 'refused')),
        made_at INTEGER NOT NULL,
        lapses_at INTEGER NOT NULL CHECK (lapses_at >= made_at),
        body BLOB NOT NULL,
        PRIMARY KEY (shop_id, number),
        FOREIGN KEY (shop_id) REFERENCES shops (shop_id)
    ) STRICT",
    "CREATE INDEX offers_held ON offers (shop_id, lapses_at) WHERE state = 'held'",
    "CREATE TABLE turned_away (
        shop_id TEXT NOT NULL,
        number INTEGER NOT NULL CHECK (number >= 1),
        offer_number INTEGER NOT NULL,
        turned_away_at INTEGER NOT NULL,
        body BLOB NOT NULL,
        PRIMARY KEY (shop_id, number),
        UNIQUE (shop_id, offer_number),
        FOREIGN KEY (shop_id, offer_number) REFERENCES offers (shop_id, number)
    ) STRICT",
    "CREATE TRIGGER turned_away_never_changes BEFORE UPDATE ON turned_away
        BEGIN SELECT RAISE(ABORT, 'what was turned away never changes'); END",
    "CREATE TRIGGER turned_away_never_deleted BEFORE DELETE ON turned_away
        BEGIN SELECT RAISE(ABORT, 'what was turned away is never deleted'); END",
]];
