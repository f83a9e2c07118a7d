//! The limits on a planning problem, so that no file can exhaust memory, time or a number.
//!
//! Times are bounded so that sums of a few of them fit easily; the worst cost of any plan is
//! added up with wide numbers when a problem is checked and must stay below [`COST_MAX`].

/// The longest problem or plan text, bytes.
pub const TEXT_BYTES_MAX: usize = 64 << 20;
/// The earliest and latest minute that may be named, before or after the plan's zero.
pub const MINUTE_MAX: i64 = 10_000_000;
/// The longest horizon, minutes (about 1.9 years).
pub const HORIZON_MAX: i64 = 1_000_000;
/// The largest weight of a job.
pub const WEIGHT_MAX: i64 = 1_000_000_000;
/// The largest cost per unit.
pub const UNIT_COST_MAX: i64 = 1_000_000_000_000;
/// The largest cost of leaving a job out.
pub const LEAVE_OUT_COST_MAX: i64 = 1_000_000_000_000_000;
/// The largest amount that the worst plan of a problem may cost.
pub const COST_MAX: i64 = 4_000_000_000_000_000_000;
/// The longest id, bytes.
pub const ID_BYTES_MAX: usize = 256;
/// The most places.
pub const PLACES_MAX: usize = 4_096;
/// The most resources.
pub const RESOURCES_MAX: usize = 4_096;
/// The most pairs of places that clash.
pub const CLASHES_MAX: usize = 100_000;
/// The most jobs.
pub const JOBS_MAX: usize = 5_000;
/// The most steps of one job.
pub const STEPS_MAX: usize = 64;
/// The most options of one step.
pub const OPTIONS_MAX: usize = 256;
/// The most resources that one option uses at once.
pub const NEEDS_MAX: usize = 16;
/// The most windows of one place, resource or option.
pub const WINDOWS_MAX: usize = 10_000;
/// The most worker threads.
pub const THREADS_MAX: u32 = 64;
