//! A span of one day's wall clock: "07:30-12:00", or over midnight "22:00-06:00".
//!
//! Minutes are counted from the midnight that begins the day to which the span belongs, so that a
//! night shift stays one span: 22:00 to 06:00 is 1320 to 1800.

use crate::fault::{Fault, Faults};
use std::fmt;
use std::ops::Range;

/// Minutes on the wall clock from one midnight to the next, clock changes apart.
pub const MINUTES_PER_DAY: u32 = 1440;

/// A span of wall time `[from, to)` that begins on the day it belongs to and may end on the next.
///
/// # Units
/// Minutes after the midnight that begins the day: `from` in `0..1440`, `to` in `from + 1..=2880`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LocalSpan {
    from_minute: u32,
    to_minute: u32,
}

impl LocalSpan {
    /// Takes a span in minutes after midnight: `LocalSpan::new(450..720)` is 07:30 to 12:00.
    ///
    /// # Errors
    /// A fault each for a start outside the day, an end beyond the next day, and an end that
    /// does not lie after the start.
    pub fn new(minutes: Range<u32>) -> Result<Self, Faults> {
        let shown = format!("minutes {} to {}", minutes.start, minutes.end);
        let fault = |limit: &str, remedy: &str| Err(Fault::new("", shown, limit, remedy).into());
        if minutes.start >= MINUTES_PER_DAY {
            return fault(
                "begin within its own day, before minute 1440",
                "give the span to the next day",
            );
        }
        if minutes.end > 2 * MINUTES_PER_DAY {
            return fault("end by the end of the next day, minute 2880", "split the span by days");
        }
        if minutes.end <= minutes.start {
            return fault(
                "end after its start",
                "exchange start and end, or add 1440 to an end on the next day",
            );
        }
        Ok(Self { from_minute: minutes.start, to_minute: minutes.end })
    }

    /// Reads `HH:MM-HH:MM`, the hours of the end up to 48: an end that is not later on the clock
    /// than the start is meant on the next day ("22:00-06:00" is "22:00-30:00").
    ///
    /// # Errors
    /// A fault when the text has another form or is no span. "08:00-08:00" is refused because it
    /// could mean nothing or a day; a whole day is "00:00-24:00".
    pub fn parse(text: &str) -> Result<Self, Faults> {
        let text = text.trim();
        let fault = |limit: &str, remedy: &str| {
            Faults::from(Fault::new("", format!("\"{text}\""), limit, remedy))
        };
        let ends = text.split_once('-').and_then(|(from, to)| {
            Some((minute_of_clock(from.trim())?, minute_of_clock(to.trim())?))
        });
        let Some((from, to)) = ends else {
            return Err(fault(
                "be two times of day, from and to",
                "write hours and minutes of 24 hours, such as \"07:30-12:00\"",
            ));
        };
        if from >= MINUTES_PER_DAY {
            return Err(fault("begin before 24:00", "give the span to the next day"));
        }
        if from == to {
            return Err(fault(
                "end at another time than it begins",
                "write \"00:00-24:00\" for a whole day, or leave the span out",
            ));
        }
        let to = if to < from { to + MINUTES_PER_DAY } else { to };
        Self::new(from..to)
            .map_err(|_beyond| fault("end by the end of the next day", "write hours up to 48"))
    }

    /// Start, minutes after the midnight that begins the day; below 1440.
    pub fn from_minute(self) -> u32 {
        self.from_minute
    }

    /// End, minutes after the midnight that begins the day; above 1440 on the next day.
    pub fn to_minute(self) -> u32 {
        self.to_minute
    }

    /// Minutes on the wall clock; a clock change makes the time elapsed shorter or longer.
    pub fn wall_minutes(self) -> u32 {
        self.to_minute - self.from_minute
    }

    /// Whether the two spans of one day share a minute; spans that touch do not.
    pub fn overlaps(self, other: Self) -> bool {
        self.from_minute < other.to_minute && other.from_minute < self.to_minute
    }
}

/// `HH:MM` or `H:MM` up to 48:00 as minutes.
fn minute_of_clock(text: &str) -> Option<u32> {
    let (hours, minutes) = text.split_once(':')?;
    let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    if !(1..=2).contains(&hours.len()) || minutes.len() != 2 || !digits(hours) || !digits(minutes) {
        return None;
    }
    let (hours, minutes): (u32, u32) = (hours.parse().ok()?, minutes.parse().ok()?);
    let minute = hours * 60 + minutes;
    (minutes < 60 && minute <= 2 * MINUTES_PER_DAY).then_some(minute)
}

impl fmt::Display for LocalSpan {
    /// The text that [`LocalSpan::parse`] reads back as the same span.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let over_midnight = self.to_minute > MINUTES_PER_DAY;
        let to = if over_midnight && self.wall_minutes() < MINUTES_PER_DAY {
            self.to_minute - MINUTES_PER_DAY
        } else {
            self.to_minute
        };
        let (from_hour, from_minute) = (self.from_minute / 60, self.from_minute % 60);
        f.pad(&format!("{from_hour:02}:{from_minute:02}-{:02}:{:02}", to / 60, to % 60))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    #[rstest]
    #[case::morning("07:30-12:00", 450, 720)]
    #[case::one_digit_hour("7:30 - 12:00", 450, 720)]
    #[case::to_midnight("18:00-24:00", 1080, 1440)]
    #[case::whole_day("00:00-24:00", 0, 1440)]
    #[case::over_midnight("22:00-06:00", 1320, 1800)]
    #[case::over_midnight_by_hours("22:00-30:00", 1320, 1800)]
    #[case::ends_at_midnight_written_as_zero("18:00-00:00", 1080, 1440)]
    #[case::more_than_a_day("08:00-40:00", 480, 2400)]
    fn a_span_is_read(#[case] text: &str, #[case] from: u32, #[case] to: u32) {
        let span = LocalSpan::parse(text).unwrap();
        assert_eq!((span.from_minute(), span.to_minute()), (from, to));
    }

    #[rstest]
    #[case::no_end("07:30", "two times of day")]
    #[case::words("morning", "two times of day")]
    #[case::minute_sixty("07:60-12:00", "two times of day")]
    #[case::one_minute_digit("07:3-12:00", "two times of day")]
    #[case::signed("+7:30-12:00", "two times of day")]
    #[case::three_times("07:00-08:00-09:00", "two times of day")]
    #[case::other_digits("٠٧:00-12:00", "two times of day")]
    #[case::nothing_or_a_day("08:00-08:00", "another time")]
    #[case::begins_on_the_next_day("24:00-30:00", "before 24:00")]
    #[case::beyond_two_days("20:00-49:00", "two times of day")]
    fn other_texts_are_refused(#[case] text: &str, #[case] limit: &str) {
        let faults = LocalSpan::parse(text).unwrap_err();
        assert!(faults.list()[0].limit.contains(limit), "{faults}");
    }

    #[rstest]
    #[case::reversed(720, 450)]
    #[case::empty(450, 450)]
    #[case::starts_too_late(1440, 1500)]
    #[case::ends_too_late(1000, 2881)]
    fn minutes_that_are_no_span_are_refused(#[case] from: u32, #[case] to: u32) {
        assert_eq!(LocalSpan::new(from..to).unwrap_err().list().len(), 1);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        #[test]
        fn a_span_written_is_read_back_as_the_same(from in 0_u32..1440, minutes in 1_u32..2880) {
            let to = (from + minutes).min(2880);
            let span = LocalSpan::new(from..to).unwrap();
            prop_assert_eq!(LocalSpan::parse(&span.to_string()).unwrap(), span);
        }

        #[test]
        fn no_text_breaks_the_reader(text in "[0-9:\\- ٣é]{0,14}") {
            if let Ok(span) = LocalSpan::parse(&text) {
                prop_assert!(span.wall_minutes() >= 1 && span.to_minute() <= 2880);
            }
        }
    }
}
