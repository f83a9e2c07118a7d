//! Calendar: when a place is open, as instants, from what a shop writes on its door.
//!
//! A shop states its hours on the wall clock: a week of [`DayHours`] and, for single dates, an
//! [`HoursException`]. [`OpenHours`] turns these into [`Window`]s of UTC, which is all that the
//! rest of the core knows. Wall times that a clock change skips or repeats are read as RFC 5545,
//! section 3.3.5, reads them; see [`instant_of_wall_time`].

mod day_hours;
mod local_span;
mod open_hours;
mod time_zone;
mod wall_time;
mod weekly_hours;
mod window;
mod window_set;

pub use day_hours::{DayHours, SPANS_PER_DAY_MAX};
pub use local_span::{LocalSpan, MINUTES_PER_DAY};
pub use open_hours::{EXCEPTIONS_MAX, HoursException, OPEN_DAYS_MAX, OpenHours};
pub use time_zone::TimeZone;
pub use wall_time::{instant_of_wall_time, instants_of_wall_time};
pub use weekly_hours::WeeklyHours;
pub use window::Window;
pub use window_set::WindowSet;
