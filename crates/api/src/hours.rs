//! Hours of a usual week and of single dates. The time zone is the shop's.

use crate::reading::Reading as _;
use crate::time::{date_from, date_text};
use crate::v1;
use baywright_core::calendar::{
    DayHours, HoursException, LocalSpan, OpenHours, TimeZone, WeeklyHours,
};
use baywright_core::fault::FaultList;
use chrono::Weekday;

/// Reads open hours; `week_field` is what the outer message calls the week: `hours` or `shift`.
///
/// The faults of exceptions stand under `exceptions`, as every outer message calls them.
pub(crate) fn open_hours(
    faults: &mut FaultList,
    zone: TimeZone,
    week_field: &str,
    week: Option<&v1::WeeklyHours>,
    exceptions: &[v1::HoursException],
) -> Option<OpenHours> {
    let week = faults.required(week_field, week, |faults, week| Some(weekly_hours(faults, week)));
    let mut dated = Vec::new();
    for (at, message) in exceptions.iter().enumerate() {
        // What is left out here was noted, so that the hours are refused in any case; a date given
        // twice is noted below only when every exception could be read.
        dated.extend(faults.inside(&format!("exceptions[{at}]"), |faults| {
            let date = faults.leaf("date", date_from(&message.date));
            let hours = day_hours(faults, "spans", &message.spans);
            date.map(|date| HoursException::new(date, hours))
        }));
    }
    let whole = dated.len() == exceptions.len();
    faults
        .own(OpenHours::new(zone, week?, if whole { dated } else { Vec::new() }))
        .or_else(|| OpenHours::new(zone, WeeklyHours::CLOSED, Vec::new()).ok())
}

fn weekly_hours(faults: &mut FaultList, message: &v1::WeeklyHours) -> WeeklyHours {
    let mut days = |field, spans: &[_]| day_hours(faults, field, spans);
    let days = [
        days("monday", &message.monday),
        days("tuesday", &message.tuesday),
        days("wednesday", &message.wednesday),
        days("thursday", &message.thursday),
        days("friday", &message.friday),
        days("saturday", &message.saturday),
        days("sunday", &message.sunday),
    ];
    faults.own(WeeklyHours::new(days)).unwrap_or(WeeklyHours::CLOSED)
}

/// Reads the spans of a day; closed when one of them was refused.
fn day_hours(faults: &mut FaultList, field: &str, spans: &[v1::LocalSpan]) -> DayHours {
    let mut read = Vec::new();
    for (at, span) in spans.iter().enumerate() {
        let span = LocalSpan::new(span.from_minute..span.to_minute);
        read.extend(faults.take(&format!("{field}[{at}]"), span));
    }
    if read.len() < spans.len() {
        return DayHours::CLOSED;
    }
    faults.take(field, DayHours::new(read)).unwrap_or(DayHours::CLOSED)
}

impl From<&WeeklyHours> for v1::WeeklyHours {
    fn from(week: &WeeklyHours) -> Self {
        let day = |weekday| span_messages(week.day(weekday));
        Self {
            monday: day(Weekday::Mon),
            tuesday: day(Weekday::Tue),
            wednesday: day(Weekday::Wed),
            thursday: day(Weekday::Thu),
            friday: day(Weekday::Fri),
            saturday: day(Weekday::Sat),
            sunday: day(Weekday::Sun),
        }
    }
}

/// Writes the exceptions of open hours, by date.
pub(crate) fn exception_messages(hours: &OpenHours) -> Vec<v1::HoursException> {
    hours
        .exceptions()
        .map(|(date, day)| v1::HoursException { date: date_text(date), spans: span_messages(day) })
        .collect()
}

fn span_messages(day: &DayHours) -> Vec<v1::LocalSpan> {
    day.spans()
        .iter()
        .map(|span| v1::LocalSpan { from_minute: span.from_minute(), to_minute: span.to_minute() })
        .collect()
}
