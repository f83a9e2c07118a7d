//! What is written down about a shop: the shop itself, its definitions in immutable revisions, and
//! the surveys of its bays.

/// The statements in order.
pub(crate) const UP: &[&[&str]] = &[&[
    "CREATE TABLE shops (
        shop_id TEXT NOT NULL PRIMARY KEY,
        revision INTEGER NOT NULL CHECK (revision >= 1),
        body BLOB NOT NULL,
        changed_at INTEGER NOT NULL
    ) STRICT",
    // A revision never changes but for `retired_at`: it is set when the revision is replaced by the
    // next one, or when the thing is no longer in use.
    "CREATE TABLE definitions (
        shop_id TEXT NOT NULL,
        kind TEXT NOT NULL CHECK (kind IN
            ('bay', 'vehicle-class', 'procedure', 'call-rule', 'technician', 'unit', 'account')),
        id TEXT NOT NULL,
        revision INTEGER NOT NULL CHECK (revision >= 1),
        body BLOB NOT NULL,
        since_at INTEGER NOT NULL,
        retired_at INTEGER,
        PRIMARY KEY (shop_id, kind, id, revision),
        FOREIGN KEY (shop_id) REFERENCES shops (shop_id)
    ) STRICT",
    "CREATE UNIQUE INDEX definitions_one_current ON definitions (shop_id, kind, id)
        WHERE retired_at IS NULL",
    "CREATE TRIGGER definitions_never_change
        BEFORE UPDATE OF shop_id, kind, id, revision, body, since_at ON definitions
        BEGIN SELECT RAISE(ABORT, 'a revision of a definition never changes'); END",
    "CREATE TRIGGER definitions_never_deleted BEFORE DELETE ON definitions
        BEGIN SELECT RAISE(ABORT, 'a revision of a definition is never deleted'); END",
    "CREATE TABLE surveys (
        shop_id TEXT NOT NULL,
        bay_id TEXT NOT NULL,
        survey_id TEXT NOT NULL,
        taken_on TEXT NOT NULL,
        valid_until TEXT NOT NULL,
        recorded_at INTEGER NOT NULL,
        body BLOB NOT NULL,
        PRIMARY KEY (shop_id, bay_id, survey_id),
        FOREIGN KEY (shop_id) REFERENCES shops (shop_id)
    ) STRICT",
    "CREATE TRIGGER surveys_never_change BEFORE UPDATE ON surveys
        BEGIN SELECT RAISE(ABORT, 'a survey never changes'); END",
    "CREATE TRIGGER surveys_never_deleted BEFORE DELETE ON surveys
        BEGIN SELECT RAISE(ABORT, 'a survey is never deleted'); END",
]];
