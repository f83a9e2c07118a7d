//! The hours of one day: its spans, in order and apart.

use super::LocalSpan;
use crate::fault::{Fault, FaultList, Faults};
use std::fmt;

/// The most spans that one day takes.
pub const SPANS_PER_DAY_MAX: usize = 12;

/// The hours of one day: no span when closed, else spans in order of which no two overlap.
///
/// Spans may touch ("07:00-12:00, 12:00-17:00") and the last may reach into the next day.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DayHours(Vec<LocalSpan>);

impl DayHours {
    /// A day without hours.
    pub const CLOSED: Self = Self(Vec::new());

    /// Takes the spans of a day, in any order.
    ///
    /// # Errors
    /// A fault for each span that overlaps the one before it, named by its place in the list as
    /// given, and one for more than [`SPANS_PER_DAY_MAX`] spans.
    pub fn new(spans: Vec<LocalSpan>) -> Result<Self, Faults> {
        if spans.len() > SPANS_PER_DAY_MAX {
            return Err(too_many(spans.len()).into());
        }
        let mut placed: Vec<(LocalSpan, usize)> =
            spans.into_iter().enumerate().map(|(index, span)| (span, index)).collect();
        placed.sort_unstable();
        let mut faults = FaultList::new();
        let mut longest: Option<LocalSpan> = None;
        for (span, index) in &placed {
            if let Some(before) = longest.filter(|before| before.overlaps(*span)) {
                faults.push(Fault::new(
                    format!("[{index}]"),
                    span,
                    format!("begin when {before} has ended"),
                    "join the two spans or move one",
                ));
            }
            longest = longest.into_iter().chain([*span]).max_by_key(|seen| seen.to_minute());
        }
        faults.finish(Self(placed.into_iter().map(|(span, _)| span).collect()))
    }

    /// Reads spans parted by commas, "07:30-12:00, 12:45-17:00"; an empty text or "closed" is a
    /// day without hours.
    ///
    /// # Errors
    /// The faults of every span, and those of [`DayHours::new`].
    pub fn parse(text: &str) -> Result<Self, Faults> {
        let text = text.trim();
        if text.is_empty() || text.eq_ignore_ascii_case("closed") {
            return Ok(Self::CLOSED);
        }
        Self::parse_spans(text.split(','))
    }

    /// Reads spans given one by one, as a list in a file gives them.
    ///
    /// # Errors
    /// The faults of every span under its place in the list, and those of [`DayHours::new`].
    pub fn parse_spans<'a>(texts: impl IntoIterator<Item = &'a str>) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        let mut spans = Vec::new();
        let mut count = 0;
        for text in texts {
            if count < SPANS_PER_DAY_MAX {
                spans.extend(faults.take(&format!("[{count}]"), LocalSpan::parse(text)));
            }
            count += 1;
        }
        if count > SPANS_PER_DAY_MAX {
            faults.push(too_many(count));
        }
        faults.finish(spans).and_then(Self::new)
    }

    /// The spans in order; none when closed.
    pub fn spans(&self) -> &[LocalSpan] {
        &self.0
    }

    /// Whether the day has no hours.
    pub fn is_closed(&self) -> bool {
        self.0.is_empty()
    }
}

fn too_many(count: usize) -> Fault {
    Fault::new(
        "",
        format!("{count} spans"),
        format!("have at most {SPANS_PER_DAY_MAX} spans"),
        "join spans that touch",
    )
}

impl fmt::Display for DayHours {
    /// The text that [`DayHours::parse`] reads back: "closed", or the spans parted by commas.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.is_closed() {
            return f.write_str("closed");
        }
        for (index, span) in self.0.iter().enumerate() {
            write!(f, "{}{span}", if index == 0 { "" } else { ", " })?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[test]
    fn spans_are_put_in_order_and_written_back() {
        let hours = DayHours::parse("12:45-17:00, 07:30-12:00").unwrap();
        assert_eq!(hours.to_string(), "07:30-12:00, 12:45-17:00");
        assert_eq!(DayHours::parse(&hours.to_string()).unwrap(), hours);
    }

    #[rstest]
    #[case::empty("")]
    #[case::word("Closed")]
    fn a_day_without_hours_is_closed(#[case] text: &str) {
        let hours = DayHours::parse(text).unwrap();
        assert!(hours.is_closed());
        assert_eq!(hours.to_string(), "closed");
    }

    #[test]
    fn spans_that_touch_are_taken() {
        assert_eq!(DayHours::parse("07:00-12:00,12:00-17:00").unwrap().spans().len(), 2);
    }

    #[rstest]
    #[case::two_overlap("07:00-12:00, 11:00-17:00", &["[1]"])]
    #[case::named_by_place_as_given("11:00-17:00, 07:00-12:00", &["[0]"])]
    #[case::inside_a_longer_one("07:00-17:00, 08:00-09:00, 10:00-11:00", &["[1]", "[2]"])]
    #[case::past_midnight("22:00-06:00, 23:00-23:30", &["[1]"])]
    #[case::twice("07:00-12:00, 07:00-12:00", &["[1]"])]
    #[case::all_unreadable("x, 07:00-12:00, y", &["[0]", "[2]"])]
    #[case::a_comma_too_many("07:00-12:00,", &["[1]"])]
    fn each_fault_names_its_span(#[case] text: &str, #[case] fields: &[&str]) {
        let faults = DayHours::parse(text).unwrap_err();
        let named: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
        assert_eq!(named, fields, "{faults}");
    }

    #[test]
    fn more_spans_than_a_day_takes_are_refused() {
        let many: Vec<String> = (0..13).map(|hour| format!("{hour:02}:00-{hour:02}:30")).collect();
        let faults = DayHours::parse(&many.join(",")).unwrap_err();
        assert!(faults.list()[0].limit.contains("12"), "{faults}");
    }
}
