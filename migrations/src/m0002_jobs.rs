//! Work in hand: jobs with their tasks, holdings with what they claim, places, doubts and plans.

/// The statements in order.
pub(crate) const UP: &[&[&str]] = &[JOBS, HOLDINGS, PLANS];

const JOBS: &[&str] = &[
    // The body is the ground state; the other columns mirror it.
    "CREATE TABLE jobs (
        shop_id TEXT NOT NULL,
        job_id TEXT NOT NULL,
        state TEXT NOT NULL CHECK (state IN ('expected', 'on-site', 'handed-back', 'cancelled')),
        promise_at INTEGER NOT NULL,
        version INTEGER NOT NULL CHECK (version >= 1),
        body BLOB NOT NULL,
        PRIMARY KEY (shop_id, job_id),
        FOREIGN KEY (shop_id) REFERENCES shops (shop_id)
    ) STRICT",
    "CREATE INDEX jobs_by_promise ON jobs (shop_id, state, promise_at, job_id)",
    "CREATE TABLE tasks (
        shop_id TEXT NOT NULL,
        job_id TEXT NOT NULL,
        task_id TEXT NOT NULL,
        kind TEXT NOT NULL,
        state TEXT NOT NULL CHECK (state IN
            ('proposed', 'open', 'held', 'running', 'paused', 'sublet', 'passed', 'failed',
             'declined', 'cancelled')),
        PRIMARY KEY (shop_id, job_id, task_id),
        FOREIGN KEY (shop_id, job_id) REFERENCES jobs (shop_id, job_id)
    ) STRICT",
];

const HOLDINGS: &[&str] = &[
    // AUTOINCREMENT, so that a fencing number never comes twice, not even after a deletion.
    "CREATE TABLE holdings (
        fence INTEGER PRIMARY KEY AUTOINCREMENT,
        shop_id TEXT NOT NULL,
        job_id TEXT NOT NULL,
        task_id TEXT NOT NULL,
        attempt INTEGER NOT NULL CHECK (attempt >= 1),
        technician_id TEXT NOT NULL,
        active INTEGER NOT NULL CHECK (active IN (0, 1)),
        pulled_at INTEGER NOT NULL,
        ended_at INTEGER,
        body BLOB NOT NULL,
        CHECK ((active = 1) = (ended_at IS NULL)),
        FOREIGN KEY (shop_id, job_id, task_id) REFERENCES tasks (shop_id, job_id, task_id)
    ) STRICT",
    "CREATE INDEX holdings_active ON holdings (shop_id, technician_id) WHERE active = 1",
    "CREATE INDEX holdings_by_task ON holdings (shop_id, job_id, task_id, attempt)",
    // What a holding holds alone: `task:JOB/TASK`, `vehicle:JOB`, `technician:ID`, `unit:ID`.
    "CREATE TABLE holding_claims (
        fence INTEGER NOT NULL,
        shop_id TEXT NOT NULL,
        claim TEXT NOT NULL,
        active INTEGER NOT NULL CHECK (active IN (0, 1)),
        PRIMARY KEY (fence, claim),
        FOREIGN KEY (fence) REFERENCES holdings (fence)
    ) STRICT",
    "CREATE UNIQUE INDEX holding_claims_once ON holding_claims (shop_id, claim) WHERE active = 1",
    // Where vehicles stand: their place, and a token for each place that clashes with it.
    "CREATE TABLE place_claims (
        shop_id TEXT NOT NULL,
        claim TEXT NOT NULL,
        job_id TEXT NOT NULL,
        PRIMARY KEY (shop_id, claim),
        FOREIGN KEY (shop_id, job_id) REFERENCES jobs (shop_id, job_id)
    ) STRICT",
    "CREATE INDEX place_claims_by_job ON place_claims (shop_id, job_id)",
    "CREATE TABLE doubts (
        shop_id TEXT NOT NULL,
        bay_id TEXT NOT NULL,
        procedure_id TEXT NOT NULL,
        method_id TEXT NOT NULL,
        since_at INTEGER NOT NULL,
        note TEXT NOT NULL,
        cleared_at INTEGER,
        PRIMARY KEY (shop_id, bay_id, procedure_id, method_id, since_at)
    ) STRICT",
];

const PLANS: &[&str] = &[
    // `problem` and `plan` are the referee's texts; `body` is what callers read.
    "CREATE TABLE plans (
        shop_id TEXT NOT NULL,
        revision INTEGER NOT NULL CHECK (revision >= 1),
        made_at INTEGER NOT NULL,
        problem TEXT NOT NULL,
        plan TEXT NOT NULL,
        body BLOB NOT NULL,
        PRIMARY KEY (shop_id, revision),
        FOREIGN KEY (shop_id) REFERENCES shops (shop_id)
    ) STRICT",
];
