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

/// Jobs of a plan that are explained in one call.
pub const EXPLAINED_JOBS_MAX: usize = 20;

/// How long one call may look for changes that bring jobs in time.
pub const EXPLAIN_TIME_MAX: Duration = Duration::from_secs(20);

/// Epochs of search for each change that is tried for a late job.
pub const EXPLAIN_EPOCHS: u64 = 2;

/// Epochs of search for the plan that an offer is fitted into.
pub const OFFER_PLAN_EPOCHS: u64 = 2;

/// Epochs of search for each promise that is tried for an offer.
pub const OFFER_QUESTION_EPOCHS: u64 = 1;

/// Seconds of the search for a plan that a caller may ask for.
pub const PLAN_SECONDS_MAX: u32 = 600;

/// Seconds of the three searches for a front that a caller may ask for, so that its answer comes within those of any call.
pub const FRONT_SECONDS_MAX: u32 = 45;

/// Epochs of a search by which the service plans anew by itself.
pub const REPLAN_EPOCHS: u64 = 24;

/// Threads of such a search at most; one core is always left to the callers.
pub const REPLAN_THREADS_MAX: usize = 4;

/// Seconds without a further change after which the service plans anew, when nobody says.
pub const REPLAN_AFTER_USUAL: Duration = Duration::from_secs(2);

/// The longest that changes which follow each other put off a new plan.
pub const REPLAN_PUT_OFF_MAX: Duration = Duration::from_secs(30);

/// How often it is looked whether a change has come while a search is under way.
pub const REPLAN_LOOK: Duration = Duration::from_millis(50);

/// Weeks ahead of a forecast when the caller does not say.
pub const FORECAST_WEEKS: u32 = 4;

/// Runs of a forecast when the caller does not say.
pub const FORECAST_RUNS: u32 = 20;

/// Hours from arrival to promise in a forecast when the caller does not say.
pub const FORECAST_PROMISE_HOURS: u32 = 48;

/// Newest attempts that a forecast takes minutes from.
pub const FORECAST_ATTEMPTS_MAX: u32 = 2_000;

/// Minutes for which an offer is held when the caller does not say.
pub const HOLD_MINUTES_USUAL: u32 = 30;

/// Minutes for which an offer can be held: a week.
pub const HOLD_MINUTES_MAX: u32 = 7 * 24 * 60;

/// Offers of a shop that are held at the same time.
pub const OFFERS_HELD_MAX: u32 = 200;

/// Watches open at the same time, in the whole service.
pub const WATCHERS_MAX: usize = 64;

/// The longest life of one stream of a watch; its caller goes on with the resume token.
pub const WATCH_LIFE_MAX: Duration = Duration::from_hours(1);

/// Changes that a watch reads ahead of its caller.
pub const WATCH_AHEAD_MAX: u32 = 100;

/// How often a watch looks for changes by itself, should a wake-up be lost.
pub const WATCH_POLL: Duration = Duration::from_secs(5);

/// How long a watch that was woken waits for further changes, so that a burst is read at once.
pub const WATCH_PAUSE: Duration = Duration::from_millis(20);

/// Changed fields that one entry of the audit trail lists.
pub const AUDIT_FIELDS_MAX: usize = 200;

/// Characters of one value in the audit trail as it is listed.
pub const AUDIT_VALUE_CHARS_MAX: usize = 2_000;

/// Bytes after which a page of the audit trail ends early.
pub const AUDIT_PAGE_BYTES_MAX: usize = 4 << 20;

/// Conditions records that one call verifies.
pub const RECORDS_VERIFIED_MAX: u64 = 50_000;

/// Conditions records that a verification holds in memory.
pub const RECORDS_VERIFIED_AT_ONCE: u32 = 200;

/// Characters of a reason or statement of a correction.
pub const CORRECTION_CHARS_MAX: usize = 1_000;

/// Statements of a correction.
pub const CORRECTION_STATEMENTS_MAX: usize = 50;

/// Entries about the roads that stand at the same time in a shop.
pub const ROAD_ENTRIES_MAX: u32 = 500;

/// How far from today a date may be that sun or daylight are asked for, days.
pub const SUN_DAYS_MAX: i64 = 400;

/// Changed things that the day's answer lists.
pub const CHANGED_THINGS_MAX: usize = 200;

/// Rows of the audit trail that the day's answer looks at.
pub const CHANGES_READ_MAX: u32 = 5_000;

/// How many days back the day's answer looks for changes.
pub const CHANGES_DAYS_MAX: i64 = 31;

/// How long the answer of a write is kept for a repeat with the same request id.
pub const REPLIES_KEPT: Duration = Duration::from_hours(30 * 24);

/// How often answers that are older are removed, from the start of the service on.
pub const PRUNE_INTERVAL: Duration = Duration::from_hours(24);

/// Answers removed in one transaction, so that no caller waits long.
pub const PRUNED_AT_ONCE: u32 = 1_000;

/// How often the service notes offers that have lapsed.
pub const LAPSE_INTERVAL: Duration = Duration::from_mins(1);

/// How many lapses are read at once to be noted.
pub const LAPSES_NOTED_AT_ONCE: u32 = 100;

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    /// The row of a limit in the guide, as its constants say it.
    #[rstest]
    #[case("message to the service", format!("{} MiB", MESSAGE_BYTES_IN_MAX >> 20))]
    #[case("message from the service", format!("{} MiB", MESSAGE_BYTES_OUT_MAX >> 20))]
    #[case("headers of a call", format!("{} KiB", HEADER_BYTES_MAX >> 10))]
    #[case("details of one refusal", format!("{} KiB;", DETAIL_BYTES_MAX >> 10))]
    #[case("calls in flight on one connection", format!("{STREAMS_PER_CONNECTION_MAX};"))]
    #[case("watches open at the same time, in the whole service", WATCHERS_MAX.to_string())]
    #[case("longest life of one stream of a watch", format!("{} hour", hours(WATCH_LIFE_MAX)))]
    #[case("changes that a watch reads ahead of its caller", WATCH_AHEAD_MAX.to_string())]
    #[case("a call, whatever deadline it asks for", format!("{} seconds", DEADLINE_MAX.as_secs()))]
    #[case("waiting for accepted calls when the service stops", format!("{} seconds", DRAIN_MAX.as_secs()))]
    #[case(
        "repeats of a write inside the service while the database is busy",
        format!("{WRITE_RETRIES_MAX}, within {} seconds", WRITE_WAIT_MAX.as_secs())
    )]
    #[case("jobs that are expected or on site", JOBS_PLANNED_MAX.to_string())]
    #[case("days of a plan", format!("14; usual {PLAN_DAYS_USUAL}"))]
    #[case("epochs of a plan's search", format!("{PLAN_EPOCHS_MAX}; usual {PLAN_EPOCHS_USUAL}"))]
    #[case(
        "late or left-out jobs explained by one call",
        format!("{EXPLAINED_JOBS_MAX}, within {} seconds", EXPLAIN_TIME_MAX.as_secs())
    )]
    #[case("seconds of a plan's search", PLAN_SECONDS_MAX.to_string())]
    #[case("seconds of the searches for a front of cost against changes", FRONT_SECONDS_MAX.to_string())]
    #[case(
        "epochs by which the service plans anew by itself",
        format!("{REPLAN_EPOCHS}, on at most {REPLAN_THREADS_MAX} threads")
    )]
    #[case(
        "changes that follow each other put off a new plan",
        format!("{} seconds", REPLAN_PUT_OFF_MAX.as_secs())
    )]
    #[case(
        "weeks of a forecast",
        format!("{}; usual {FORECAST_WEEKS}", baywright_core::forecast::WEEKS_MAX)
    )]
    #[case(
        "runs of a forecast",
        format!(
            "{}; usual {FORECAST_RUNS}; at most {} weeks in all",
            baywright_core::forecast::RUNS_MAX,
            baywright_core::forecast::RUN_WEEKS_MAX
        )
    )]
    #[case("newest attempts that a forecast takes minutes from", FORECAST_ATTEMPTS_MAX.to_string())]
    #[case("offers that are held", OFFERS_HELD_MAX.to_string())]
    #[case("minutes that an offer is held", format!("{HOLD_MINUTES_MAX}; usual {HOLD_MINUTES_USUAL}"))]
    #[case("changed fields listed in one entry of the audit trail", AUDIT_FIELDS_MAX.to_string())]
    #[case("characters of one value in the audit trail", AUDIT_VALUE_CHARS_MAX.to_string())]
    #[case("one page of the audit trail", format!("{} MiB", AUDIT_PAGE_BYTES_MAX >> 20))]
    #[case("conditions records verified by one call", RECORDS_VERIFIED_MAX.to_string())]
    #[case(
        "statements of a correction",
        format!("{CORRECTION_STATEMENTS_MAX}, of {CORRECTION_CHARS_MAX} characters each")
    )]
    #[case("entries about the roads that stand", ROAD_ENTRIES_MAX.to_string())]
    #[case("days from today that sun or daylight are asked for", SUN_DAYS_MAX.to_string())]
    #[case("changed things listed in the day", CHANGED_THINGS_MAX.to_string())]
    #[case("rows of the audit trail that the day looks at", CHANGES_READ_MAX.to_string())]
    #[case("days back that the day looks for changes", CHANGES_DAYS_MAX.to_string())]
    #[case("stored answers of writes", format!("{} days", hours(REPLIES_KEPT) / 24))]
    fn the_guide_states_the_limit(#[case] what: &str, #[case] limit: String) {
        let guide = include_str!("../../../docs/api.md");
        let row = format!("| {what} | {limit}");
        assert!(guide.lines().any(|line| line.starts_with(&row)), "{row}");
    }

    const fn hours(time: Duration) -> u64 {
        time.as_secs() / 3_600
    }
}
