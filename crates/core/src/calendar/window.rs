//! A window of time: from one instant up to, not including, another.

use crate::fault::{Fault, Faults};
use chrono::{DateTime, Duration, Utc};
use std::fmt;
use std::ops::Range;

/// A window of time `[start, end)` with `start` before `end`, UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Window {
    start: DateTime<Utc>,
    end: DateTime<Utc>,
}

impl Window {
    /// Takes a window: `Window::new(start..end)`.
    ///
    /// # Errors
    /// A fault of the field `end` when it does not lie after the start.
    pub fn new(instants: Range<DateTime<Utc>>) -> Result<Self, Faults> {
        Self::of(instants.start, instants.end).ok_or_else(|| {
            let limit = format!("lie after the start, {}", instants.start);
            Fault::new("end", instants.end, limit, "exchange start and end, or move the end").into()
        })
    }

    /// The window, unless it would be empty.
    pub(super) fn of(start: DateTime<Utc>, end: DateTime<Utc>) -> Option<Self> {
        (start < end).then_some(Self { start, end })
    }

    /// The first instant inside.
    pub fn start(self) -> DateTime<Utc> {
        self.start
    }

    /// The first instant after the start that is no longer inside.
    pub fn end(self) -> DateTime<Utc> {
        self.end
    }

    /// Time elapsed from start to end.
    pub fn duration(self) -> Duration {
        self.end - self.start
    }

    /// Whether the instant lies inside.
    pub fn contains(self, instant: DateTime<Utc>) -> bool {
        self.start <= instant && instant < self.end
    }

    /// Whether all of `other` lies inside.
    pub fn covers(self, other: Self) -> bool {
        self.start <= other.start && other.end <= self.end
    }

    /// What both windows share.
    pub fn intersection(self, other: Self) -> Option<Self> {
        Self::of(self.start.max(other.start), self.end.min(other.end))
    }
}

impl fmt::Display for Window {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} to {}", self.start, self.end)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(second: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(second, 0).unwrap()
    }

    #[test]
    fn a_window_holds_its_start_and_not_its_end() {
        let window = Window::new(at(10)..at(20)).unwrap();
        assert!(window.contains(at(10)) && window.contains(at(19)));
        assert!(!window.contains(at(9)) && !window.contains(at(20)));
        assert_eq!(window.duration(), Duration::seconds(10));
    }

    #[test]
    fn an_empty_or_reversed_window_is_refused() {
        for end in [10, 9] {
            let faults = Window::new(at(10)..at(end)).unwrap_err();
            assert_eq!(faults.list()[0].field, "end");
        }
    }

    #[test]
    fn windows_that_touch_share_nothing() {
        let (early, late) = (at(10)..at(20), at(20)..at(30));
        let early = Window::new(early).unwrap();
        assert_eq!(early.intersection(Window::new(late).unwrap()), None);
        assert!(early.covers(Window::new(at(12)..at(20)).unwrap()));
        assert!(!early.covers(Window::new(at(12)..at(21)).unwrap()));
    }
}
