//! What time it is.
//!
//! The clock is the only place that asks the machine for the time. It may be told to begin at a
//! given instant and runs on from there at real speed, so that a demonstration or a test has the
//! day it needs; whoever has its hand may move it on, never back. Instants are cut to whole
//! microseconds, the finest that storage keeps: what was stored and read back equals what was answered.

use chrono::{DateTime, SubsecRound as _, TimeDelta, Utc};
use std::{
    sync::{
        Arc,
        atomic::{AtomicI64, Ordering},
    },
    time::{Instant, SystemTime},
};

/// Digits after the second's point that storage keeps.
const SUBSECOND_DIGITS: u16 = 6;

/// A clock: the machine's, or one that began at a given instant.
#[derive(Debug, Clone)]
pub struct Clock(Source);

#[derive(Debug, Clone)]
enum Source {
    System,
    /// Began at an instant, and was moved on by so many microseconds since.
    Began {
        at: DateTime<Utc>,
        when: Instant,
        moved: Arc<AtomicI64>,
    },
}

/// Moves a clock on: what a demonstration tells takes no longer than the telling.
#[derive(Debug)]
pub struct ClockHand {
    clock: Clock,
    moved: Arc<AtomicI64>,
}

impl ClockHand {
    /// Moves the clock on to `at`, where it does not stand later already.
    pub fn move_to(&self, at: DateTime<Utc>) {
        let behind = at - self.clock.now();
        let behind = behind.max(TimeDelta::zero()).num_microseconds().unwrap_or(i64::MAX);
        self.moved.fetch_add(behind, Ordering::SeqCst);
    }

    /// What the clock shows.
    pub fn now(&self) -> DateTime<Utc> {
        self.clock.now()
    }
}

impl Clock {
    /// The machine's clock.
    pub const fn system() -> Self {
        Self(Source::System)
    }

    /// A clock that shows `at` now and runs on at real speed.
    pub fn beginning_at(at: DateTime<Utc>) -> Self {
        Self::with_hand(at).0
    }

    /// A clock that shows `at` now and runs on at real speed, with the hand that moves it on.
    pub fn with_hand(at: DateTime<Utc>) -> (Self, ClockHand) {
        let moved = Arc::new(AtomicI64::new(0));
        let clock = Self(Source::Began { at, when: Instant::now(), moved: Arc::clone(&moved) });
        (clock.clone(), ClockHand { clock, moved })
    }

    /// The instant now, in whole microseconds.
    pub fn now(&self) -> DateTime<Utc> {
        let now = match &self.0 {
            Source::System => DateTime::<Utc>::from(SystemTime::now()),
            Source::Began { at, when, moved } => {
                *at + when.elapsed() + TimeDelta::microseconds(moved.load(Ordering::SeqCst))
            }
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
    fn a_hand_moves_its_clock_on_and_never_back() {
        let began: DateTime<Utc> = "2026-03-02T07:00:00Z".parse().unwrap();
        let noon: DateTime<Utc> = "2026-03-02T12:00:00Z".parse().unwrap();
        let (clock, hand) = Clock::with_hand(began);

        hand.move_to(noon);
        let moved = clock.now();
        hand.move_to(began);

        assert!(moved >= noon && moved < noon + Duration::from_mins(1));
        assert!(clock.now() >= moved && hand.now() >= moved);
    }

    #[test]
    fn instants_are_whole_microseconds() {
        let odd: DateTime<Utc> = "2026-03-02T07:00:00.123456789Z".parse().unwrap();
        for clock in [Clock::system(), Clock::beginning_at(odd)] {
            assert_eq!(clock.now().timestamp_subsec_nanos() % 1_000, 0);
        }
    }
}
