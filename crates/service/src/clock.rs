//! What time it is.
//!
//! The clock is the only place that asks the machine for the time. It may be told to begin at a
//! given instant and runs on from there at real speed, so that a demonstration or a test has the
//! day it needs. Instants are cut to whole microseconds, the finest that storage keeps: what was
//! stored and read back equals what was answered.

use chrono::{DateTime, SubsecRound as _, Utc};
use std::time::{Instant, SystemTime};

/// Digits after the second's point that storage keeps.
const SUBSECOND_DIGITS: u16 = 6;

/// A clock: the machine's, or one that began at a given instant.
#[derive(Debug, Clone, Copy)]
pub struct Clock(Source);

#[derive(Debug, Clone, Copy)]
enum Source {
    System,
    Began { at: DateTime<Utc>, when: Instant },
}

impl Clock {
    /// The machine's clock.
    pub const fn system() -> Self {
        Self(Source::System)
    }

    /// A clock that shows `at` now and runs on at real speed.
    pub fn beginning_at(at: DateTime<Utc>) -> Self {
        Self(Source::Began { at, when: Instant::now() })
    }

    /// The instant now, in whole microseconds.
    pub fn now(&self) -> DateTime<Utc> {
        let now = match self.0 {
            Source::System => DateTime::<Utc>::from(SystemTime::now()),
            Source::Began { at, when } => at + when.elapsed(),
        };
        now.trunc_subsecs(SUBSECOND_DIGITS)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::{thread, time::Duration};

    #[test]
    fn a_clock_begins_where_it_is_told_and_runs_on() {
        let began: DateTime<Utc> = "2026-03-02T07:00:00Z".parse().unwrap();
        let clock = Clock::beginning_at(began);
        let first = clock.now();
        thread::sleep(Duration::from_millis(20));
        let second = clock.now();

        assert!(first >= began && first < began + Duration::from_mins(1));
        assert!(second >= first + Duration::from_millis(20));
    }

    #[test]
    fn instants_are_whole_microseconds() {
        let odd: DateTime<Utc> = "2026-03-02T07:00:00.123456789Z".parse().unwrap();
        for clock in [Clock::system(), Clock::beginning_at(odd)] {
            assert_eq!(clock.now().timestamp_subsec_nanos() % 1_000, 0);
        }
    }
}
