//! The service's limits, in one place.

use std::time::Duration;

/// The longest message that a call may send, bytes. A shop definition with every list full or a
/// survey of 20000 heights and as many light readings stays below it.
pub const MESSAGE_BYTES_IN_MAX: usize = 4 << 20;

/// The longest message that an answer may be, bytes: a page of 200 jobs stays below it.
pub const MESSAGE_BYTES_OUT_MAX: usize = 16 << 20;

/// Calls in flight on one connection; a caller that wants more waits.
pub const STREAMS_PER_CONNECTION_MAX: u32 = 256;

/// Bytes of headers that a call may send.
pub const HEADER_BYTES_MAX: u32 = 16 << 10;

/// Bytes of sentences, names and values in the details of one refusal. They travel in a header, and
/// common clients take no more than 8 KiB of headers; the base64 writing adds a third.
pub const DETAIL_BYTES_MAX: usize = 4 << 10;

/// The longest that a call may take, whatever the caller asks for.
pub const DEADLINE_MAX: Duration = Duration::from_mins(1);

/// How long the service waits for accepted calls and writes when it is told to stop.
pub const DRAIN_MAX: Duration = Duration::from_secs(10);

/// How long SQLite waits by itself for another writer.
pub const BUSY_WAIT: Duration = Duration::from_secs(5);

/// How long a call waits for a database connection before it is told that the service is busy.
pub const CONNECTION_WAIT: Duration = Duration::from_secs(10);

/// Connections that read at the same time.
pub const READERS_MAX: u32 = 4;

/// How often a write that found the database busy is tried again.
pub const WRITE_RETRIES_MAX: u32 = 8;

/// After this time a write that found the database busy is not tried again, whatever the count.
pub const WRITE_WAIT_MAX: Duration = Duration::from_secs(20);

/// When a caller that was told "busy" may come again.
pub const BUSY_RETRY: Duration = Duration::from_millis(500);

/// Characters of the name of who acts.
pub const ACTOR_CHARS_MAX: usize = 100;

/// Jobs that are expected or on site and looked at by a plan or a pull.
pub const JOBS_PLANNED_MAX: u32 = 2_000;

/// Days ahead that a plan covers when the caller does not say.
pub const PLAN_DAYS_USUAL: u32 = 3;

/// Epochs of the search for a plan when the caller does not say.
pub const PLAN_EPOCHS_USUAL: u64 = 8;

/// Epochs of the search for a plan that a caller may ask for.
pub const PLAN_EPOCHS_MAX: u64 = 1_000;
