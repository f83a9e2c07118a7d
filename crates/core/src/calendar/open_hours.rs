//! Open hours: zone, week and exceptions together, and the windows they mean.
//!
//! Each date's spans are read on the wall clock and turned into instants one by one, so that a
//! night shift over a clock change has the length that people really work.

use super::{DayHours, LocalSpan, TimeZone, WeeklyHours, Window, WindowSet};
use super::{instant_of_wall_time, instants_of_wall_time};
use crate::fault::{Fault, FaultList, Faults};
use chrono::{DateTime, Datelike as _, Days, Duration, NaiveDate, NaiveTime, Utc};
use std::collections::BTreeMap;

/// The most exceptions that one set of hours takes.
pub const EXCEPTIONS_MAX: usize = 1000;

/// The longest time for which windows are made at once, days: ten years.
pub const OPEN_DAYS_MAX: i64 = 3660;

/// The hours of one date, in place of its weekday's: a holiday, a Saturday opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HoursException {
    date: NaiveDate,
    hours: DayHours,
}

impl HoursException {
    /// States the hours of a date; [`DayHours::CLOSED`] closes it.
    pub fn new(date: NaiveDate, hours: DayHours) -> Self {
        Self { date, hours }
    }

    /// The date on the wall calendar.
    pub fn date(&self) -> NaiveDate {
        self.date
    }

    /// The hours that replace the weekday's.
    pub fn hours(&self) -> &DayHours {
        &self.hours
    }
}

/// When a place is open or a person at work: a week that repeats, and exceptions, in a zone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenHours {
    zone: TimeZone,
    weekly: WeeklyHours,
    exceptions: BTreeMap<NaiveDate, DayHours>,
}

impl OpenHours {
    /// Puts hours together.
    ///
    /// An exception replaces the spans that begin on its date; a night shift of the day before
    /// keeps running into it. Where an exception and a night shift overlap, both count as open.
    ///
    /// # Errors
    /// A fault for each exception whose date was given before, `exceptions[2].date`, and one for
    /// more than [`EXCEPTIONS_MAX`] exceptions.
    pub fn new(
        zone: TimeZone,
        weekly: WeeklyHours,
        exceptions: Vec<HoursException>,
    ) -> Result<Self, Faults> {
        if exceptions.len() > EXCEPTIONS_MAX {
            let limit = format!("be at most {EXCEPTIONS_MAX}");
            let count = format!("{} exceptions", exceptions.len());
            return Err(Fault::new("exceptions", count, limit, "drop dates long past").into());
        }
        let mut faults = FaultList::new();
        let mut by_date = BTreeMap::new();
        for (index, exception) in exceptions.into_iter().enumerate() {
            if by_date.insert(exception.date, exception.hours).is_some() {
                faults.push(Fault::new(
                    format!("exceptions[{index}].date"),
                    exception.date,
                    "be given once",
                    "put all hours of the date into one exception",
                ));
            }
        }
        faults.finish(Self { zone, weekly, exceptions: by_date })
    }

    /// The zone in which the hours are meant.
    pub fn zone(&self) -> TimeZone {
        self.zone
    }

    /// The week that repeats.
    pub fn weekly(&self) -> &WeeklyHours {
        &self.weekly
    }

    /// The exceptions by date.
    pub fn exceptions(&self) -> impl ExactSizeIterator<Item = (NaiveDate, &DayHours)> {
        self.exceptions.iter().map(|(date, hours)| (*date, hours))
    }

    /// The hours that hold for a date.
    pub fn day(&self, date: NaiveDate) -> &DayHours {
        self.exceptions.get(&date).unwrap_or_else(|| self.weekly.day(date.weekday()))
    }

    /// The windows that are open within `[from, until)`: in order, apart, clipped. None when
    /// `until` does not lie after `from`.
    ///
    /// # Errors
    /// A fault of the field `until` when it lies more than [`OPEN_DAYS_MAX`] days after `from`.
    ///
    /// # Edge cases
    /// - The ends of a span are read by [`instant_of_wall_time`]. A span that a clock change skips
    ///   as a whole vanishes; "22:00-06:00" may last 420 to 540 minutes.
    /// - A date that the zone skips (Samoa had no 30 December 2011) has no hours, as RFC 5545,
    ///   section 3.3.10, leaves out what recurs at a time that does not exist.
    pub fn windows(&self, from: DateTime<Utc>, until: DateTime<Utc>) -> Result<WindowSet, Faults> {
        let Some(asked) = Window::of(from, until) else {
            return Ok(WindowSet::EMPTY);
        };
        if asked.duration() > Duration::days(OPEN_DAYS_MAX) {
            let limit = format!("lie at most {OPEN_DAYS_MAX} days after {from}");
            return Err(Fault::new("until", until, limit, "ask for a shorter time").into());
        }
        // A span reaches into the next day, a zone's date is within one of the UTC date, and a
        // clock change may move an end by up to one more.
        let first = from.date_naive().checked_sub_days(Days::new(3)).unwrap_or(NaiveDate::MIN);
        let last = until.date_naive().checked_add_days(Days::new(1)).unwrap_or(NaiveDate::MAX);
        let opened: WindowSet = first
            .iter_days()
            .take_while(|date| *date <= last)
            .filter(|date| !self.skips(*date))
            .flat_map(|date| self.day(date).spans().iter().map(move |span| (date, *span)))
            .filter_map(|(date, span)| self.window(date, span))
            .collect();
        Ok(opened.clipped(asked))
    }

    /// Whether the zone has no such date: its noon does not occur.
    fn skips(&self, date: NaiveDate) -> bool {
        let noon = NaiveTime::MIN + Duration::hours(12);
        instants_of_wall_time(self.zone, date.and_time(noon)).is_empty()
    }

    fn window(&self, date: NaiveDate, span: LocalSpan) -> Option<Window> {
        let instant = |minute: u32| {
            let wall = date.and_time(NaiveTime::MIN);
            let wall = wall.checked_add_signed(Duration::minutes(minute.into()))?;
            Some(instant_of_wall_time(self.zone, wall))
        };
        Window::of(instant(span.from_minute())?, instant(span.to_minute())?)
    }
}

#[cfg(test)]
mod tests;
