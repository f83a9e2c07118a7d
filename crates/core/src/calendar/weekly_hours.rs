//! The hours of a week that repeats: one [`DayHours`] for each weekday.

use super::{DayHours, LocalSpan, MINUTES_PER_DAY};
use crate::fault::{Fault, FaultList, Faults};
use chrono::Weekday;

/// The fields of a week, from Monday, as faults name them.
const DAY_FIELDS: [&str; 7] =
    ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];

/// The hours of a week that repeats; no two spans overlap, nor over midnight or the week's end.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WeeklyHours([DayHours; 7]);

impl WeeklyHours {
    /// A week without hours.
    pub const CLOSED: Self = Self([const { DayHours::CLOSED }; 7]);

    /// Takes the hours of the days from Monday to Sunday.
    ///
    /// # Errors
    /// A fault for each day whose first span begins before the day before it has ended, Sunday
    /// and the following Monday included.
    pub fn new(days_from_monday: [DayHours; 7]) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        let reaches = days_from_monday.iter().cycle().skip(6);
        for ((day, before), field) in days_from_monday.iter().zip(reaches).zip(DAY_FIELDS) {
            let end = before.spans().last().map_or(0, |last| last.to_minute());
            for (index, span) in day.spans().iter().enumerate() {
                if span.from_minute() + MINUTES_PER_DAY < end {
                    faults.push(over_midnight(&format!("{field}[{index}]"), *span, before));
                }
            }
        }
        faults.finish(Self(days_from_monday))
    }

    /// Reads the hours of the days from Monday to Sunday, each as [`DayHours::parse`] does.
    ///
    /// # Errors
    /// The faults of every day under its name, `monday[1]`, and those of [`WeeklyHours::new`].
    pub fn parse(texts_from_monday: [&str; 7]) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        let mut days = [const { DayHours::CLOSED }; 7];
        for ((day, text), field) in days.iter_mut().zip(texts_from_monday).zip(DAY_FIELDS) {
            if let Some(hours) = faults.take(field, DayHours::parse(text)) {
                *day = hours;
            }
        }
        faults.finish(days).and_then(Self::new)
    }

    /// The hours of a weekday.
    pub fn day(&self, weekday: Weekday) -> &DayHours {
        let [monday, tuesday, wednesday, thursday, friday, saturday, sunday] = &self.0;
        match weekday {
            Weekday::Mon => monday,
            Weekday::Tue => tuesday,
            Weekday::Wed => wednesday,
            Weekday::Thu => thursday,
            Weekday::Fri => friday,
            Weekday::Sat => saturday,
            Weekday::Sun => sunday,
        }
    }
}

fn over_midnight(field: &str, span: LocalSpan, before: &DayHours) -> Fault {
    let limit = format!("begin when the day before has ended, which is open {before}");
    Fault::new(field, span, limit, "shorten the span that runs over midnight or begin later")
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[test]
    fn a_week_keeps_each_days_hours() {
        let week = WeeklyHours::parse(["07:30-17:00", "", "", "", "", "08:00-12:00", ""]).unwrap();
        assert_eq!(week.day(Weekday::Mon).to_string(), "07:30-17:00");
        assert_eq!(week.day(Weekday::Sat).to_string(), "08:00-12:00");
        assert!(week.day(Weekday::Sun).is_closed());
        assert_ne!(week, WeeklyHours::CLOSED);
    }

    #[test]
    fn night_shifts_on_every_day_are_taken_when_they_only_touch() {
        assert!(WeeklyHours::parse(["22:00-06:00, 06:00-22:00"; 7]).is_ok());
    }

    #[rstest]
    #[case::over_midnight(["22:00-06:00", "05:00-12:00", "", "", "", "", ""], &["tuesday[0]"])]
    #[case::over_the_weeks_end(["05:30-07:00", "", "", "", "", "", "22:00-06:00"], &["monday[0]"])]
    #[case::two_spans(
        ["22:00-12:00", "05:00-06:00, 11:00-13:00, 14:00-15:00", "", "", "", "", ""],
        &["tuesday[0]", "tuesday[1]"]
    )]
    #[case::unreadable(["7 to 5", "", "", "", "", "07:00-08:00, 07:30-09:00", ""], &["monday[0]", "saturday[1]"])]
    fn each_fault_names_day_and_span(#[case] texts: [&str; 7], #[case] fields: &[&str]) {
        let faults = WeeklyHours::parse(texts).unwrap_err();
        let named: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
        assert_eq!(named, fields, "{faults}");
    }
}
